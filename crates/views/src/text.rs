//! A sheet as plain text for a terminal or a pipe.

use crate::sheet::{Block, Card, Sheet, Table};
use crate::words::Words;

/// The narrowest text that is laid out as asked; a narrower terminal wraps by itself.
const NARROWEST: usize = 30;

/// Shows a sheet as text no wider than `width` characters (tables may be wider if a word is).
pub fn sheet(sheet: &Sheet, width: usize) -> String {
    let width = width.max(NARROWEST);
    let mut out = format!("{}\n{}\n", sheet.title, "=".repeat(count(&sheet.title)));
    for block in &sheet.blocks {
        out.push('\n');
        out.push_str(&one_block(block, width));
    }
    out
}

fn one_block(block: &Block, width: usize) -> String {
    match block {
        Block::Heading { words, .. } => format!("{words}\n{}\n", "-".repeat(count(words))),
        Block::Say(words) | Block::Lead(words) => wrapped(&words.text(), "", width),
        Block::List(lines) => lines.iter().map(|line| wrapped(&line.text(), "- ", width)).collect(),
        Block::Facts(facts) => facts_as_text(facts, width),
        Block::Table(shown) => table(shown, width),
        Block::Folded(summary, inner) => format!("{summary}\n{}", one_block(inner, width)),
        Block::Cards(cards) => cards.iter().map(|one| card(one, width)).collect::<Vec<_>>().join("\n"),
        Block::Picture(shown) => format!("{}\n{}", shown.title, table(&shown.twin, width)),
        Block::Cautions(all) => {
            all.iter().map(|one| wrapped(&format!("Caution: {one}"), "", width)).collect()
        }
        Block::Caveats(all) => {
            all.iter().map(|one| wrapped(&format!("Bear in mind: {one}"), "", width)).collect()
        }
        Block::Because(grounds) => {
            let lines: String = grounds.iter().map(|one| wrapped(&one.text(), "- ", width)).collect();
            format!("Why:\n{lines}")
        }
    }
}

fn facts_as_text(facts: &[(String, Words)], width: usize) -> String {
    let widest = facts.iter().map(|(name, _)| count(name)).max().unwrap_or(0);
    facts
        .iter()
        .map(|(name, value)| {
            let lead = format!("{name}{}  ", " ".repeat(widest - count(name)));
            wrapped(&value.text(), &lead, width)
        })
        .collect()
}

fn card(card: &Card, width: usize) -> String {
    let state = card.mark.map(|mark| format!("  {} {}", mark.sign(), mark.word())).unwrap_or_default();
    let mut out = format!("{}{state}\n", card.title.text());
    for line in &card.lines {
        out.push_str(&wrapped(&line.text(), "  ", width));
    }
    out
}

/// Shows a table in columns as wide as their widest cell; the last column takes what is left and wraps.
pub fn table(table: &Table, width: usize) -> String {
    if table.rows.is_empty() {
        return wrapped(&table.empty, "", width);
    }
    let rows: Vec<Vec<String>> =
        table.rows.iter().map(|row| row.cells.iter().map(Words::text).collect()).collect();
    let widths: Vec<usize> = (0..table.columns.len())
        .map(|at| {
            let widest = rows.iter().map(|row| row.get(at).map_or(0, |cell| count(cell))).max();
            widest.unwrap_or(0).max(count(&table.columns[at].head))
        })
        .collect();
    let heads: Vec<String> = table.columns.iter().map(|column| column.head.clone()).collect();
    if !fits(&widths, width) {
        return rows.iter().map(|row| row_as_block(&heads, row, width)).collect::<Vec<_>>().join("\n");
    }
    let mut out = one_row(table, &heads, &widths, width);
    let rule: Vec<String> = widths.iter().map(|cell| "-".repeat(*cell)).collect();
    out.push_str(rule.join("  ").trim_end());
    out.push('\n');
    for row in &rows {
        out.push_str(&one_row(table, row, &widths, width));
    }
    out
}

/// The last column wraps, but not into a ribbon.
const LEAST_LAST: usize = 16;

/// True where a table of columns so wide can be read at this width.
fn fits(widths: &[usize], width: usize) -> bool {
    let Some((last, lead)) = widths.split_last() else { return true };
    lead.iter().map(|column| column + 2).sum::<usize>() + last.min(&LEAST_LAST) <= width
}

/// A row that is too wide for a line: its first cell, and the others under it with their heads.
fn row_as_block(heads: &[String], cells: &[String], width: usize) -> String {
    let said = || heads.iter().zip(cells).skip(1).filter(|(_, cell)| !cell.is_empty());
    let widest = said().map(|(head, _)| count(head)).max().unwrap_or(0);
    let mut out = wrapped(cells.first().map_or("", String::as_str), "", width);
    for (head, cell) in said() {
        let lead = format!("  {head}{}  ", " ".repeat(widest - count(head)));
        out.push_str(&wrapped(cell, &lead, width));
    }
    out
}

fn one_row(table: &Table, cells: &[String], widths: &[usize], width: usize) -> String {
    let last = widths.len().saturating_sub(1);
    let mut lead = String::new();
    for ((cell, size), column) in cells.iter().zip(widths).zip(&table.columns).take(last) {
        let gap = " ".repeat(size.saturating_sub(count(cell)));
        if column.numbers {
            lead.push_str(&format!("{gap}{cell}  "));
        } else {
            lead.push_str(&format!("{cell}{gap}  "));
        }
    }
    let end = cells.get(last).map_or("", String::as_str);
    if table.columns.get(last).is_some_and(|column| column.numbers) {
        let gap = " ".repeat(widths[last].saturating_sub(count(end)));
        return format!("{lead}{gap}{end}\n");
    }
    wrapped(end, &lead, width)
}

/// Breaks a text at blanks into lines; the first begins with `lead`, the others with as many blanks.
fn wrapped(text: &str, lead: &str, width: usize) -> String {
    let indent = count(lead);
    let room = width.saturating_sub(indent).max(NARROWEST / 2);
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().expect("there is always a line");
        if line.is_empty() {
            line.push_str(word);
        } else if count(line) + 1 + count(word) <= room {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    let blanks = " ".repeat(indent);
    lines
        .iter()
        .enumerate()
        .map(|(at, line)| {
            format!("{}{line}", if at == 0 { lead } else { &blanks }).trim_end().to_owned() + "\n"
        })
        .collect()
}

fn count(text: &str) -> usize {
    text.chars().count()
}
