//! A dry run as words for a person and as JSON for a script.

use super::{
    doubt::{Doubt, Severity},
    dry_run::DryRun,
};
use logbook::wire::encode_fact;
use serde_json::{Value, json};
use std::fmt::Write;

/// How many rows are listed with one and the same doubt.
const MOST_ROWS_LISTED: usize = 12;

/// Writes a dry run for a person: what the sheet is, what would be added, every doubt, and what happens next.
pub fn dry_run_as_text(run: &DryRun) -> String {
    let mut out = String::new();
    write_all(run, &mut out).expect("writing to a string cannot fail");
    out
}

fn write_all(run: &DryRun, out: &mut String) -> std::fmt::Result {
    sheet(run, out)?;
    entries(run, out)?;
    for addition in &run.additions {
        let (what, id, name) = (addition.what, &addition.id, &addition.name);
        writeln!(out, "Adds the {what} {id} (“{name}”, first in row {}).", addition.first_row)?;
    }
    doubts(run, out)?;
    verdict(run, out)
}

fn sheet(run: &DryRun, out: &mut String) -> std::fmt::Result {
    let summary = &run.summary;
    let cells = match summary.delimiter {
        ',' => "commas",
        ';' => "semicolons",
        '\t' => "tabs",
        _ => "bars",
    };
    let days = match (summary.first_day, summary.last_day) {
        (Some(first), Some(last)) => format!(", {first} to {last}"),
        _ => String::new(),
    };
    write!(out, "{} rows{days}; {}, cells parted by {cells}", summary.rows, summary.encoding)?;
    if let Some(order) = summary.date_order {
        write!(out, "; dates {order}")?;
    }
    writeln!(out, "; decimals “{}”; {}.", summary.decimal, summary.zone)?;
    if summary.empty_rows > 0 {
        writeln!(out, "{} passed over.", counted(summary.empty_rows, "empty row", "empty rows"))?;
    }
    if summary.left_out > 0 {
        writeln!(out, "{} left out as told.", counted(summary.left_out, "row", "rows"))?;
    }
    if !summary.columns_not_read.is_empty() {
        writeln!(out, "Not read: {}.", summary.columns_not_read.join(", "))?;
    }
    Ok(())
}

fn entries(run: &DryRun, out: &mut String) -> std::fmt::Result {
    let kinds: Vec<String> =
        run.summary.new_entries.iter().map(|(kind, count)| format!("{count} {kind}")).collect();
    if run.summary.already_there > 0 {
        let already = counted(run.summary.already_there, "entry", "entries");
        writeln!(out, "In the logbook already: {already}.")?;
    }
    if kinds.is_empty() {
        writeln!(out, "No new entries.")
    } else {
        writeln!(out, "{}: {}.", counted(run.drafts.len(), "new entry", "new entries"), kinds.join(", "))
    }
}

/// Lists doubts, each once with all rows that have it.
fn doubts(run: &DryRun, out: &mut String) -> std::fmt::Result {
    let mut groups: Vec<(&Doubt, Vec<usize>)> = Vec::new();
    let mut places = std::collections::HashMap::new();
    for doubt in &run.doubts {
        let same = (&doubt.column, &doubt.text, &doubt.why, &doubt.would_be_right, doubt.severity);
        let place = *places.entry(same).or_insert(groups.len());
        if place == groups.len() {
            groups.push((doubt, Vec::new()));
        }
        if let Some((_, rows)) = groups.get_mut(place) {
            rows.extend(doubt.row.filter(|row| rows.last() != Some(row)));
        }
    }
    if !groups.is_empty() {
        writeln!(out)?;
    }
    for (doubt, rows) in groups {
        let cell = match &doubt.column {
            Some(column) => format!("{column} “{}”: ", doubt.text),
            None => String::new(),
        };
        let place = place(&rows);
        writeln!(out, "{:<5} {place}: {cell}{}", doubt.severity.word(), doubt.why)?;
        if doubt.severity != Severity::Note {
            writeln!(out, "      right would be: {}", doubt.would_be_right)?;
        }
    }
    Ok(())
}

fn place(rows: &[usize]) -> String {
    match rows {
        [] => "whole sheet".to_owned(),
        [row] => format!("row {row}"),
        rows => {
            let listed: Vec<String> = rows.iter().take(MOST_ROWS_LISTED).map(usize::to_string).collect();
            let more = match rows.len().checked_sub(MOST_ROWS_LISTED) {
                Some(more @ 1..) => format!(" and {more} more"),
                _ => String::new(),
            };
            format!("rows {}{more}", listed.join(", "))
        }
    }
}

fn verdict(run: &DryRun, out: &mut String) -> std::fmt::Result {
    writeln!(out)?;
    match run.blocked() {
        None if run.drafts.is_empty() => writeln!(out, "Nothing to import."),
        None => writeln!(out, "Nothing is written yet. All of it can be imported."),
        Some(blocked) => {
            write!(out, "Nothing can be imported before {} settled", counted_are(blocked.errors))?;
            if blocked.whole_sheet || blocked.rows.is_empty() {
                writeln!(out, ".")
            } else {
                let rows: Vec<String> = blocked.rows.iter().map(usize::to_string).collect();
                writeln!(out, ", or their rows left out: {}.", rows.join(","))
            }
        }
    }
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn counted_are(errors: usize) -> String {
    if errors == 1 { "1 error is".to_owned() } else { format!("{errors} errors are") }
}

/// Writes a dry run as JSON: `summary`, `additions`, `doubts`, `drafts`, `can_be_imported`.
pub fn dry_run_as_json(run: &DryRun) -> Value {
    let drafts: Vec<Value> = run
        .drafts
        .iter()
        .map(|draft| {
            let (kind, version, body) = encode_fact(&draft.draft.fact);
            let body: Value = serde_json::from_str(&body).unwrap_or(Value::String(body));
            json!({
                "row": draft.row,
                "id": draft.draft.id.to_string(),
                "happened": draft.draft.happened.local().to_string(),
                "by": draft.draft.by.as_str(),
                "kind": kind,
                "version": version,
                "body": body,
            })
        })
        .collect();
    json!({
        "summary": run.summary,
        "additions": run.additions,
        "doubts": run.doubts,
        "drafts": drafts,
        "can_be_imported": run.blocked().is_none(),
    })
}
