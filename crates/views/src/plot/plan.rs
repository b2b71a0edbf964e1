//! The plan over the diary: days across, machines down; filled blocks are showings, rings with a number are pieces of
//! work at the bench on that day.

use super::{coordinate as c, shortened};
use crate::{
    common,
    sheet::{Picture, Table},
    wording,
};
use booth::service_plan::{ServicePlan, Standing};
use jiff::{ToSpan, civil::Date};
use logbook::{Booth, MachineId};
use maud::{Markup, html};
use units::civil::days_between;

const DAY: f64 = 26.0;
const ROW: f64 = 40.0;
const NAMES: f64 = 96.0;
const TOP: f64 = 40.0;
const LONGEST_NAME: usize = 14;

/// Draws the plan.
pub fn chart(plan: &ServicePlan<'_>, booth: &Booth) -> Picture {
    let title = "The plan, day by day and machine by machine".to_owned();
    let machines = machines(plan, booth);
    let days = days_between(plan.from, plan.to) + 1;
    let (width, height) = (NAMES + DAY * days as f64, TOP + ROW * machines.len() as f64 + 8.0);
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (c(width)) " " (c(height)) }
            width=(c(width)) height=(c(height)) class="plan" role="img" aria-label=(title)
            font-family="sans-serif" font-size="12" {
            (axis(plan.from, days, height))
            @for (at, machine) in machines.iter().enumerate() {
                (row(plan, booth, machine, TOP + ROW * at as f64, width))
            }
        }
    };
    Picture { title, svg, twin: twin(plan, booth), wide: true }
}

/// The machines that run or are worked on, in the order of the booth.
fn machines<'a>(plan: &ServicePlan<'a>, booth: &'a Booth) -> Vec<&'a MachineId> {
    let runs =
        |id: &MachineId| plan.showings.iter().any(|it| it.machines.iter().any(|seat| seat.machine == id));
    let worked =
        |id: &MachineId| plan.sessions.iter().any(|it| it.work.iter().any(|work| work.machine == id));
    booth.machines.keys().filter(|id| runs(id) || worked(id)).collect()
}

/// The middle of a day.
fn across(from: Date, day: Date) -> f64 {
    NAMES + DAY * (days_between(from, day) as f64 + 0.5)
}

/// A month's name is as wide as three or four columns; one of which fewer are drawn has no name of its own.
const NAMED_COLUMNS: i64 = 4;

/// How many columns of a month are drawn from a day on, of so many that are left.
fn columns_of_month(day: Date, left: i64) -> i64 {
    left.min(i64::from(day.days_in_month()) - i64::from(day.day()) + 1)
}

fn axis(from: Date, days: i64, height: f64) -> Markup {
    html! {
        @for at in 0..days {
            @let day = from.checked_add(at.days()).unwrap_or(from);
            @let x = NAMES + DAY * at as f64;
            @let month = at == 0 || day.day() == 1;
            @let named = month && columns_of_month(day, days - at) >= NAMED_COLUMNS;
            line.grid x1=(c(x)) x2=(c(x)) y1=(if month { "4" } else { "22" }) y2=(c(height)) stroke="#bbb"
                stroke-width=(if day.weekday() == jiff::civil::Weekday::Monday { "1.5" } else { "0.5" }) {}
            @if named { text.axis x=(c(x + 3.0)) y="14" fill="#444" { (day.strftime("%B").to_string()) } }
            text.axis x=(c(x + DAY / 2.0)) y="33" text-anchor="middle" fill="#444" { (day.day()) }
        }
    }
}

fn row(plan: &ServicePlan<'_>, booth: &Booth, machine: &MachineId, top: f64, width: f64) -> Markup {
    let name = common::machine_name(booth, machine.as_str());
    let showings = plan
        .showings
        .iter()
        .filter_map(|showing| Some((showing, showing.machines.iter().find(|seat| seat.machine == machine)?)));
    html! {
        line.grid x1="0" x2=(c(width)) y1=(c(top)) y2=(c(top)) stroke="#bbb" stroke-width="0.5" {}
        text.label x="4" y=(c(top + 24.0)) fill="#000" { title { (name) } (shortened(&name, LONGEST_NAME)) }
        @for (showing, seat) in showings {
            @let x = across(plan.from, evening(&showing.starts));
            @let pinned = matches!(seat.standing, Standing::Pinned(_));
            a href={ "#showing-" (showing.showing) } {
                title {
                    (showing.title) ", " (showing.starts.strftime("%-d %b %H:%M").to_string()) ", " (name)
                    @if pinned { ", pinned" }
                }
                rect.bar data-showing=(showing.showing) data-machine=(machine) x=(c(x - 9.0)) y=(c(top + 4.0))
                    width="18" height="15" fill="#555" {}
                @if pinned { rect.pin x=(c(x - 2.5)) y=(c(top + 9.0)) width="5" height="5" fill="#fff" {} }
            }
        }
        @for session in &plan.sessions {
            @let pieces: Vec<_> = session.work.iter().filter(|work| work.machine == machine).collect();
            @if !pieces.is_empty() {
                @let x = across(plan.from, session.starts.date());
                a href={ "#bench-" (session.starts.date()) } {
                    title {
                        (session.starts.strftime("%-d %b %H:%M").to_string()) ", " (name) ": "
                        (pieces.iter().map(|work| work.words.as_str()).collect::<Vec<_>>().join("; "))
                    }
                    circle.end cx=(c(x)) cy=(c(top + 29.0)) r="8.5" fill="#fff" stroke="#555" stroke-width="1.5" {}
                    text.label x=(c(x)) y=(c(top + 33.0)) text-anchor="middle" fill="#000" { (pieces.len()) }
                }
            }
        }
    }
}

/// The evening to which a start belongs: what begins after midnight is drawn on the day before.
fn evening(starts: &jiff::ZonedDateTime) -> Date {
    if starts.hour() < 5 { starts.date().yesterday().unwrap_or(starts.date()) } else { starts.date() }
}

fn twin(plan: &ServicePlan<'_>, booth: &Booth) -> Table {
    let mut table =
        Table::new("The plan, day by day", &["Day", "What", "Machine"], "Nothing stands in this time.");
    let today = plan.from;
    let mut rows: Vec<(jiff::Timestamp, [String; 3])> = Vec::new();
    for showing in &plan.showings {
        let names: Vec<String> =
            showing.machines.iter().map(|seat| common::machine_name(booth, seat.machine.as_str())).collect();
        let day = wording::date(evening(&showing.starts), today);
        rows.push((showing.starts.timestamp(), [day, showing.title.to_owned(), names.join(", ")]));
    }
    for session in &plan.sessions {
        for work in &session.work {
            let day = wording::date(session.starts.date(), today);
            let name = common::machine_name(booth, work.machine.as_str());
            rows.push((session.starts.timestamp(), [day, work.words.clone(), name]));
        }
    }
    rows.sort();
    for (_, cells) in rows {
        table.push(cells.map(Into::into).to_vec(), Vec::new());
    }
    table
}
