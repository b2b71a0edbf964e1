//! Due dates on a time line: one row for each thing, time runs to the right, today and the showings are upright lines.

use super::{PLOT_WIDTH, Scale, coordinate as c, shortened};
use crate::sheet::{Picture, Table};
use crate::wording;
use crate::words::{Mark, Words};
use jiff::{ToSpan, civil::Date};
use maud::{Markup, html};
use units::civil::days_between;

/// One thing that falls due.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// What it is.
    pub label: String,
    /// When it falls due; before today it is past its limit.
    pub date: Date,
    /// How it stands.
    pub mark: Mark,
    /// Where more is said of it.
    pub href: String,
}

const ROW: f64 = 34.0;
const TOP: f64 = 26.0;
const LEFT: f64 = 14.0;
const RIGHT: f64 = 346.0;
const LONGEST_LABEL: usize = 50;

/// Draws rows in the order given, from `today` to `until`; what is past stands at the left edge, what lies beyond at
/// the right.
pub fn due_dates(title: &str, today: Date, until: Date, rows: &[Row], showings: &[Date]) -> Picture {
    let span = days_between(today, until).max(1);
    let along = Scale { low: 0.0, high: span as f64, from: LEFT, to: RIGHT };
    let bottom = TOP + ROW * rows.len() as f64;
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (PLOT_WIDTH) " " (c(bottom + 26.0)) }
            class="plot timeline" role="img" aria-label=(title) font-family="sans-serif" font-size="12" {
            (axis(today, span, &along, bottom))
            text.axis x=(LEFT) y=(c(bottom + 22.0)) fill="#444" { "bars: showings" }
            @for showing in showings { (showing_line(*showing, today, span, &along, bottom)) }
            @for (at, row) in rows.iter().enumerate() {
                (one_row(row, TOP + ROW * at as f64, today, span, &along))
            }
        }
    };
    Picture { title: title.to_owned(), svg, twin: twin(title, today, rows), wide: false }
}

/// Draws today's line and a light one for each first Monday, week or month, whichever does not crowd.
fn axis(today: Date, span: i64, along: &Scale, bottom: f64) -> Markup {
    let step = [7, 14, 28, 56, 112, 224].into_iter().find(|step| span / step <= 5).unwrap_or(365);
    let days: Vec<i64> = (1..=span / step).map(|times| times * step).collect();
    html! {
        line.today x1=(LEFT) x2=(LEFT) y1="16" y2=(c(bottom)) stroke="#000" stroke-width="1.5" {}
        text.axis x=(LEFT - 10.0) y="12" fill="#444" { "today" }
        @for day in days {
            @let x = along.at(day as f64);
            line.grid x1=(c(x)) x2=(c(x)) y1="16" y2=(c(bottom)) stroke="#bbb" stroke-width="0.5" {}
            text.axis x=(c(x)) y="12" fill="#444" text-anchor=(if x > RIGHT - 24.0 { "end" } else { "middle" }) {
                (today.checked_add(day.days()).unwrap_or(today).strftime("%-d %b").to_string())
            }
        }
    }
}

fn showing_line(showing: Date, today: Date, span: i64, along: &Scale, bottom: f64) -> Markup {
    let day = days_between(today, showing);
    if !(0..=span).contains(&day) {
        return html! {};
    }
    let x = along.at(day as f64);
    html! { line.showing x1=(c(x)) x2=(c(x)) y1=(c(bottom)) y2=(c(bottom + 9.0)) stroke="#777" stroke-width="3" {} }
}

fn one_row(row: &Row, top: f64, today: Date, span: i64, along: &Scale) -> Markup {
    let day = days_between(today, row.date);
    let x = along.at(day.clamp(0, span) as f64);
    let y = top + 23.0;
    html! {
        a class={ "row mark-" (row.mark.name()) } href=(row.href) {
            title { (row.label) ": " (row.mark.word()) ", " (wording::date_and_distance(row.date, today)) }
            rect.hit x="0" y=(c(top)) width=(PLOT_WIDTH) height=(ROW) fill="none" pointer-events="all" {}
            text.label x=(LEFT + 6.0) y=(c(top + 13.0)) fill="#000" { (shortened(&row.label, LONGEST_LABEL)) }
            line.reach x1=(LEFT) x2=(c(x)) y1=(c(y)) y2=(c(y)) stroke="#777" stroke-width="2" {}
            @if row.mark.is_calm() {
                circle.end cx=(c(x)) cy=(c(y)) r="4" fill="#fff" stroke="#777" stroke-width="2" {}
            } @else {
                text.sign x=(c(x)) y=(c(y + 5.0)) text-anchor="middle" font-size="15" fill="#000" { (row.mark.sign()) }
            }
            @if day > span {
                text.axis x=(RIGHT - 8.0) y=(c(y + 4.0)) text-anchor="end" fill="#444" { "later →" }
            }
        }
    }
}

fn twin(title: &str, today: Date, rows: &[Row]) -> Table {
    let mut table = Table::new(title, &["Due", "What", "State"], "Nothing falls due in this time.");
    for row in rows {
        let cells = vec![
            wording::date_and_distance(row.date, today).into(),
            row.label.clone().into(),
            Words::new().mark(row.mark),
        ];
        table.push(cells, Vec::new());
    }
    table
}
