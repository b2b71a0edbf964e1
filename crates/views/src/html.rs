//! A sheet as a fragment of a page: semantic, without a word of script or style in it.

use crate::sheet::{Block, Card, Picture, Row, Sheet, Table};
use crate::words::{Mark, Span, Words};
use maud::{Markup, PreEscaped, html};

/// Shows a sheet under its heading.
pub fn sheet(sheet: &Sheet) -> Markup {
    html! {
        h1 { (sheet.title) }
        (blocks(&sheet.blocks))
    }
}

/// Shows the blocks of a sheet without its heading.
pub fn blocks(blocks: &[Block]) -> Markup {
    html! { @for one in blocks { (block(one)) } }
}

/// Shows one block.
pub fn block(block: &Block) -> Markup {
    match block {
        Block::Heading { words, id } => html! { h2 id=(id) { (words) } },
        Block::Say(line) => html! { p { (words(line)) } },
        Block::Lead(line) => html! { p.lead { (words(line)) } },
        Block::List(lines) => html! { ul.plain { @for line in lines { li { (words(line)) } } } },
        Block::Facts(facts) => html! {
            dl.facts { @for (name, value) in facts { div { dt { (name) } dd { (words(value)) } } } }
        },
        Block::Table(shown) => table(shown),
        Block::Folded(summary, inner) => html! {
            details.folded { summary { (summary) } (self::block(inner)) }
        },
        Block::Cards(cards) => html! { div.cards { @for one in cards { (card(one)) } } },
        Block::Picture(shown) => picture(shown),
        Block::Cautions(all) => cautions(all),
        Block::Caveats(all) => html! {
            aside.caveats aria-label="Bear in mind" { ul { @for one in all { li { (one) } } } }
        },
        Block::Because(grounds) => html! {
            details.because {
                summary { "Why" }
                ul { @for ground in grounds { li { (words(ground)) } } }
            }
        },
    }
}

/// Shows a line.
pub fn words(line: &Words) -> Markup {
    html! { @for span in &line.0 { (one_span(span)) } }
}

fn one_span(span: &Span) -> Markup {
    match span {
        Span::Plain(text) if turns_round(text) => html! { bdi { (text) } },
        Span::Plain(text) => html! { (text) },
        Span::Strong(text) => html! { strong { (text) } },
        Span::Quiet(text) => html! { span.quiet { (text) } },
        Span::Link(to, text) => html! { a href=(to.href()) { (text) } },
        Span::Mark(mark, text) => mark_with(*mark, text),
    }
}

/// Returns whether a text may run from right to left, or holds marks that turn the direction (Unicode Standard Annex
/// #9): it is then shown by itself, so that it cannot turn round what stands beside it.
fn turns_round(text: &str) -> bool {
    text.chars().any(|letter| {
        matches!(letter,
            '\u{0590}'..='\u{08ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}'
            | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
            || logbook::unseen::turns(letter)
    })
}

/// Shows a state: sign and word.
pub fn mark_with(mark: Mark, text: &str) -> Markup {
    html! {
        span class={ "mark mark-" (mark.name()) } data-mark=(mark.name()) {
            span.sign aria-hidden="true" { (mark.sign()) } " " (text)
        }
    }
}

/// Shows what can hurt, where the hand is.
pub fn cautions(all: &[String]) -> Markup {
    html! {
        @if !all.is_empty() {
            ul.cautions aria-label="Caution" {
                @for one in all { li { strong { "Caution: " } (one) } }
            }
        }
    }
}

/// Writes `data-…` attributes, for maud has no way to name an attribute at run time.
fn open_tag(name: &str, class: &str, data: &[(&'static str, String)]) -> PreEscaped<String> {
    let mut tag = format!("<{name}");
    if !class.is_empty() {
        tag.push_str(&format!(" class=\"{class}\""));
    }
    for (key, value) in data {
        let value = html! { (value) }.into_string();
        tag.push_str(&format!(" data-{key}=\"{value}\""));
    }
    tag.push('>');
    PreEscaped(tag)
}

/// Shows a table; on a narrow screen each row becomes a block whose cells carry their column's head.
pub fn table(shown: &Table) -> Markup {
    if shown.rows.is_empty() {
        return html! { p.empty { (shown.empty) } };
    }
    html! {
        table class=[shown.tight.then_some("tight")] {
            caption { (shown.caption) }
            thead { tr { @for column in &shown.columns {
                th scope="col" class=[column.numbers.then_some("number")] { (column.head) }
            } } }
            tbody { @for one in &shown.rows { (row(shown, one)) } }
        }
    }
}

fn row(table: &Table, row: &Row) -> Markup {
    html! {
        (open_tag("tr", "", &row.data))
        @for (column, cell) in table.columns.iter().zip(&row.cells) {
            td data-head=(column.head) class=[column.numbers.then_some("number")] { (words(cell)) }
        }
        (PreEscaped("</tr>"))
    }
}

/// Shows a card.
pub fn card(card: &Card) -> Markup {
    let class = card.mark.map_or_else(|| "card".to_owned(), |mark| format!("card card-{}", mark.name()));
    html! {
        (open_tag("section", &class, &card.data))
        h3 {
            (words(&card.title))
            @if let Some(mark) = card.mark { " " (mark_with(mark, mark.word())) }
        }
        @for line in &card.lines { p { (words(line)) } }
        @if !card.ways.is_empty() {
            p.ways { @for way in &card.ways { (words(way)) " " } }
        }
        (PreEscaped("</section>"))
    }
}

/// Shows a drawing, with its twin in words folded away beneath it.
pub fn picture(shown: &Picture) -> Markup {
    html! {
        figure class=(if shown.wide { "picture wide" } else { "picture" }) {
            @if shown.wide {
                label.tick.larger { input type="checkbox" autocomplete="off"; span { "Larger, to move about in" } }
            }
            div.frame tabindex=[shown.wide.then_some("0")] role=[shown.wide.then_some("group")]
                aria-label=[shown.wide.then_some(&shown.title)] { (shown.svg) }
            figcaption { (shown.title) }
            @if !shown.twin.rows.is_empty() {
                details { summary { "The same as a table" } (table(&shown.twin)) }
            }
        }
    }
}
