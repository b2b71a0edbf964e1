//! What weighs on a showing, as bars: dark seconds to expect from each cause, before and after what is chosen.

use super::{PLOT_WIDTH, Scale, coordinate as c, shortened, ticks};
use crate::sheet::{Picture, Table};
use maud::{Markup, html};
use units::Seconds;

/// One cause.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it is.
    pub name: String,
    /// The chance in words.
    pub chance: String,
    /// Dark seconds to expect as it stands.
    pub before: Seconds,
    /// The same once the chosen deeds are done.
    pub after: Seconds,
}

const LEFT: f64 = 8.0;
const RIGHT: f64 = 330.0;
const TOP: f64 = 34.0;
/// A name, and its bars under it.
const ROW: f64 = 42.0;
/// About as many letters as fit beside the chance.
const NAME_LETTERS: usize = 36;

/// Draws the causes in the order in which they come.
pub fn weights(title: &str, rows: &[Row]) -> Picture {
    let highest = rows.iter().map(|row| row.before.seconds()).fold(0.0, f64::max);
    let marks = ticks(highest, 4);
    let across = Scale { low: 0.0, high: *marks.last().unwrap_or(&1.0), from: LEFT, to: RIGHT };
    let bottom = TOP + ROW * rows.len() as f64;
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (PLOT_WIDTH) " " (bottom + 46.0) }
            class="plot bars" role="img" aria-label=(title) font-family="sans-serif" font-size="12" {
            text.axis x=(LEFT) y="12" fill="#444" { "dark seconds to expect" }
            @for mark in &marks {
                line.grid x1=(c(across.at(*mark))) x2=(c(across.at(*mark))) y1=(TOP - 4.0) y2=(c(bottom)) stroke="#999" stroke-width="0.5" {}
                text.axis x=(c(across.at(*mark))) y=(TOP - 8.0) text-anchor=(anchor(*mark)) fill="#444" { (crate::wording::tenths(*mark)) }
            }
            @for (at, row) in rows.iter().enumerate() { (bars(row, TOP + ROW * at as f64, &across)) }
            (legend(bottom + 16.0))
        }
    };
    Picture { title: title.to_owned(), svg, twin: twin(title, rows), wide: false }
}

/// The figure at the left edge stands beside its line, so that nothing of it is cut off.
fn anchor(mark: f64) -> &'static str {
    if mark == 0.0 { "start" } else { "middle" }
}

fn bars(row: &Row, top: f64, across: &Scale) -> Markup {
    let width = |seconds: Seconds| c((across.at(seconds.seconds()) - LEFT).max(1.0));
    html! {
        g {
            title { (row.name) ": " (row.chance) }
            text.label x=(LEFT) y=(c(top + 14.0)) fill="#222" { (shortened(&row.name, NAME_LETTERS)) }
            text.axis x=(PLOT_WIDTH - 4.0) y=(c(top + 14.0)) text-anchor="end" fill="#444" { (row.chance) }
            rect.bar-other x=(LEFT) width=(width(row.before)) y=(c(top + 20.0)) height="14" fill="none" stroke="#333" stroke-width="1" {}
            rect.bar x=(LEFT) width=(width(row.after)) y=(c(top + 20.0)) height="14" fill="#333" {}
        }
    }
}

fn legend(y: f64) -> Markup {
    html! {
        rect.bar-other x=(LEFT) y=(c(y + 0.5)) width="12" height="9" fill="none" stroke="#333" {}
        text.axis x=(LEFT + 18.0) y=(c(y + 10.0)) fill="#444" { "as it stands" }
        rect.bar x=(LEFT + 120.0) y=(c(y)) width="12" height="10" fill="#333" {}
        text.axis x=(LEFT + 138.0) y=(c(y + 10.0)) fill="#444" { "once that is done" }
    }
}

fn twin(title: &str, rows: &[Row]) -> Table {
    let heads = ["What may stop it", "Chance", "#Dark seconds", "#Once that is done"];
    let mut table = Table::new(title, &heads, "Nothing is known that may stop it.");
    for row in rows {
        let seconds = |seconds: Seconds| crate::wording::tenths(seconds.seconds()).into();
        table.push(
            vec![
                row.name.as_str().into(),
                row.chance.as_str().into(),
                seconds(row.before),
                seconds(row.after),
            ],
            Vec::new(),
        );
    }
    table
}
