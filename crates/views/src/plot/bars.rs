//! Hours by week as bars: showings filled, other running hatched by an outline.

use super::{PLOT_WIDTH, Scale, coordinate as c, ticks};
use crate::sheet::{Picture, Table};
use crate::wording;
use jiff::civil::Date;
use maud::{Markup, html};
use units::Hours;

/// One week of running.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Week {
    /// The Monday on which it begins.
    pub monday: Date,
    /// Hours in showings.
    pub showing: Hours,
    /// Hours in rehearsals and tests.
    pub other: Hours,
}

impl Week {
    fn all(&self) -> Hours {
        self.showing + self.other
    }
}

const HEIGHT: f64 = 190.0;
const LEFT: f64 = 34.0;
const RIGHT: f64 = 352.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 152.0;

/// Draws hours by week, oldest first.
pub fn hours_by_week(title: &str, weeks: &[Week]) -> Picture {
    let highest = weeks.iter().map(|week| week.all().hours()).fold(0.0, f64::max);
    let marks = ticks(highest, 4);
    let up = Scale { low: 0.0, high: *marks.last().unwrap_or(&1.0), from: BOTTOM, to: TOP };
    let slot = (RIGHT - LEFT) / weeks.len().max(1) as f64;
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (PLOT_WIDTH) " " (HEIGHT) }
            class="plot bars" role="img" aria-label=(title) font-family="sans-serif" font-size="12" {
            @for mark in &marks { (grid_line(*mark, up.at(*mark))) }
            text.axis x=(LEFT) y=(TOP - 3.0) fill="#444" { "hours" }
            @for (at, week) in weeks.iter().enumerate() {
                (bar(week, LEFT + slot * at as f64, slot, &up))
            }
            (month_labels(weeks, slot))
            (legend())
        }
    };
    Picture { title: title.to_owned(), svg, twin: twin(title, weeks), wide: false }
}

fn grid_line(value: f64, y: f64) -> Markup {
    html! {
        line.grid x1=(LEFT) x2=(RIGHT) y1=(c(y)) y2=(c(y)) stroke="#999" stroke-width="0.5" {}
        text.axis x=(LEFT - 5.0) y=(c(y + 4.0)) text-anchor="end" fill="#444" { (wording::tenths(value)) }
    }
}

fn bar(week: &Week, left: f64, slot: f64, up: &Scale) -> Markup {
    let gap = (slot * 0.18).min(4.0);
    let (x, width) = (c(left + gap / 2.0), c(slot - gap));
    let (show_top, all_top) = (up.at(week.showing.hours()), up.at(week.all().hours()));
    html! {
        g {
            title {
                "Week of " (week.monday.strftime("%-d %b %Y").to_string()) ": "
                (wording::hours(week.showing)) " in showings, " (wording::hours(week.other)) " otherwise"
            }
            @if week.showing > Hours::ZERO {
                rect.bar x=(x) width=(width) y=(c(show_top)) height=(c(BOTTOM - show_top)) fill="#333" {}
            }
            @if week.other > Hours::ZERO {
                rect.bar-other x=(x) width=(width) y=(c(all_top)) height=(c(show_top - all_top))
                    fill="none" stroke="#333" stroke-width="1" {}
            }
        }
    }
}

/// Names a month where its first Monday stands, as long as the names do not run into each other.
fn month_labels(weeks: &[Week], slot: f64) -> Markup {
    let mut last_end = 0.0;
    let mut labels = Vec::new();
    for (at, week) in weeks.iter().enumerate() {
        let x = LEFT + slot * at as f64;
        if (at == 0 || week.monday.day() <= 7) && x >= last_end && x < RIGHT - 20.0 {
            labels.push((x, week.monday.strftime("%b").to_string()));
            last_end = x + 30.0;
        }
    }
    html! { @for (x, name) in labels {
        line.grid x1=(c(x)) x2=(c(x)) y1=(BOTTOM) y2=(BOTTOM + 4.0) stroke="#999" {}
        text.axis x=(c(x)) y=(BOTTOM + 16.0) fill="#444" { (name) }
    } }
}

fn legend() -> Markup {
    html! {
        rect.bar x=(LEFT) y="176" width="12" height="10" fill="#333" {}
        text.axis x=(LEFT + 18.0) y="186" fill="#444" { "showings" }
        rect.bar-other x=(LEFT + 90.0) y="176.5" width="12" height="9" fill="none" stroke="#333" {}
        text.axis x=(LEFT + 108.0) y="186" fill="#444" { "rehearsals and tests" }
    }
}

fn twin(title: &str, weeks: &[Week]) -> Table {
    let heads = ["Week of", "#In showings", "#Otherwise"];
    let mut table = Table::new(title, &heads, "No running has been logged.");
    for week in weeks.iter().filter(|week| week.all() > Hours::ZERO) {
        let cells = vec![
            week.monday.strftime("%-d %b %Y").to_string().into(),
            wording::hours(week.showing).into(),
            wording::hours(week.other).into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}
