//! Rows that can be read but may not be right.

mod meters;
mod pairs;
mod readings;

use super::{
    Table,
    dates::{Day, read_day},
    doubt::{
        Doubts,
        Severity::{Error, Note, Warning},
    },
    dry_run::Ground,
    facts::{changes_a_part, slot_of},
    mapping::{Field, Mapping, Sort},
    slip::{Slip, Span},
    slip_cells::Customs,
};
use jiff::civil::{Date, DateTime};
use logbook::{Precision, When, rules};
use units::Hours;

/// The longest showing that may end after midnight when its end is written as an earlier time of day than its start.
/// Common practice, no source: longer programmes have a break and stand in two rows.
const LONGEST_PAST_MIDNIGHT: Hours = Hours::new(8.0);

/// How much longer than from its start to its end a showing's machine may run: rewinding, threading, a late curtain.
/// Common practice, no source.
const ROUND_THE_SHOWING: Hours = Hours::new(0.5);

/// The first year in which film was projected to a paying public (common knowledge).
const FIRST_YEAR: i16 = 1895;

/// Checks every row by itself, then rows against each other.
pub(super) fn check(
    spans: &[(Slip, Span)],
    mapping: &Mapping,
    customs: &Customs,
    ground: &Ground<'_>,
    doubts: &mut Doubts,
) {
    for (slip, span) in spans {
        when(slip, span, mapping, ground.now, doubts);
        clock_change(slip.local_start(), slip, customs, doubts);
        end(slip, span, doubts);
        lengths(slip, span, doubts);
        machines(slip, mapping, doubts);
        contents(slip, span, doubts);
    }
    pairs::duplicates(spans, doubts);
    pairs::overlaps(spans, doubts);
    meters::check(spans, mapping, ground, doubts);
    readings::check(spans, mapping, doubts);
}

/// Tells whether the dates of a sheet have figures whose order matters.
pub(super) fn has_figure_dates(table: &Table, mapping: &Mapping, today: Date) -> bool {
    let column = mapping.columns.get(&Field::Date).and_then(|heading| table.column(heading));
    column.is_some_and(|column| {
        table.cells(column).any(|cell| matches!(read_day(cell, today.year()), Ok((Day::Figures(_), _))))
    })
}

/// Tells whether a row lies in the future.
pub(super) fn is_to_come(slip: &Slip, span: &Span, now: When) -> bool {
    match slip.precision() {
        Precision::Second | Precision::Minute => span.start.unix_ms > now.unix_ms + rules::CLOCK_SKEW_MS,
        Precision::Day => slip.day > now.date(),
        Precision::Month => (slip.day.year(), slip.day.month()) > (now.date().year(), now.date().month()),
    }
}

fn when(slip: &Slip, span: &Span, mapping: &Mapping, now: When, doubts: &mut Doubts) {
    if is_to_come(slip, span, now) {
        let may = mapping.plan_future && slip.sort() == Sort::Showing;
        if !may {
            let why = format!("{} lies in the future", slip.day);
            let right = "a day up to today; for showings to come set plan_future = true";
            doubts.row(Error, slip.row, why, right);
        }
    } else if slip.day.year() < FIRST_YEAR {
        let why = format!("{} lies before the first film show", slip.day);
        doubts.row(Error, slip.row, why, "a year with four figures");
    }
}

/// Notes times that the night on which clocks change has twice or not at all.
fn clock_change(local: DateTime, slip: &Slip, customs: &Customs, doubts: &mut Doubts) {
    if slip.start.is_some() && customs.zone.to_ambiguous_timestamp(local).is_ambiguous() {
        let why = format!("clocks changed that night: {} came twice or not at all", local.time());
        doubts.row(Note, slip.row, why, "nothing to do, unless the length looks an hour wrong");
    }
}

fn end(slip: &Slip, span: &Span, doubts: &mut Doubts) {
    let Some(lasted) = span.lasted else { return };
    if slip.ends_next_day() {
        if lasted > LONGEST_PAST_MIDNIGHT {
            let why = format!("it ends before it starts; past midnight it would last {lasted:.1}");
            doubts.row(Error, slip.row, why, "an end after the start");
        } else {
            doubts.row(
                Note,
                slip.row,
                format!("taken to end past midnight, after {lasted:.1}"),
                "nothing to do",
            );
        }
    } else if slip.end.is_some() && slip.start.is_some() && lasted == Hours::ZERO {
        doubts.row(Error, slip.row, "it ends when it starts", "an end after the start");
    }
}

fn lengths(slip: &Slip, span: &Span, doubts: &mut Doubts) {
    let told = [("hours run", slip.hours), ("length", slip.length), ("hours lit", slip.lit)];
    for (name, hours) in told {
        let Some(hours) = hours.filter(|hours| !rules::is_run_length(*hours)) else { continue };
        let why = format!("{name}: {hours} in one row is more than a day");
        doubts.row(Error, slip.row, why, minutes_instead(hours));
    }
    let Some(lasted) = span.lasted else { return };
    if slip.sort() == Sort::Showing
        && !rules::is_showing_length(lasted.as_minutes())
        && lasted <= rules::LONGEST_RUN
    {
        doubts.row(Error, slip.row, "the showing has no length", "a length above 0");
    }
    let timed = slip.start.is_some() && slip.end.is_some();
    let ran = slip.hours.or(slip.length).filter(|_| timed);
    let machines = slip.machines.len().max(1) as f64;
    if let Some(ran) = ran.filter(|ran| *ran > lasted * machines + ROUND_THE_SHOWING) {
        let why = format!("{ran:.1} run, but from start to end it is only {lasted:.1}");
        doubts.row(Warning, slip.row, why, "hours that fit between start and end");
    }
    let ran = slip.hours.or(slip.length);
    if let (Some(lit), Some(ran)) = (slip.lit, ran)
        && lit > ran + ROUND_THE_SHOWING
    {
        let why = format!("the lamp was lit for {lit:.1}, the machine ran for {ran:.1}");
        doubts.row(Warning, slip.row, why, "no more hours lit than run");
    }
}

/// Says what hours may have been that are too many.
fn minutes_instead(hours: Hours) -> String {
    let minutes = hours.hours();
    if (25.0..=600.0).contains(&minutes) {
        format!("{minutes} min, if minutes are meant: that is {:.2}", Hours::from_minutes(minutes))
    } else {
        "at most 24 h in one row".to_owned()
    }
}

fn machines(slip: &Slip, mapping: &Mapping, doubts: &mut Doubts) {
    const RIGHT: &str = "a machine in the row, or machine = \"…\" for all rows";
    let several = slip.machines.len() > 1;
    let sort = slip.sort();
    let needs = [
        (slip.meter.is_some(), "a meter reading"),
        (changes_a_part(slip) && slot_of(mapping, slip).is_some(), "a part change"),
        (!slip.readings.is_empty(), "a measured value"),
    ];
    for (_, what) in needs.iter().filter(|(there, _)| *there) {
        if several {
            doubts.row(
                Error,
                slip.row,
                format!("{what} belongs to one machine, not to several"),
                "a row for each",
            );
        } else if slip.machines.is_empty() {
            doubts.row(Error, slip.row, format!("{what} without a machine"), RIGHT);
        }
    }
    let runs =
        matches!(sort, Sort::Run | Sort::Rehearsal | Sort::Test | Sort::Rewind) || slip.hours.is_some();
    if slip.machines.is_empty() && runs && sort != Sort::Showing {
        doubts.row(Error, slip.row, "hours without a machine", RIGHT);
    } else if slip.machines.is_empty() && sort == Sort::Showing {
        doubts.row(Warning, slip.row, "a showing without a machine: no hours are counted for it", RIGHT);
    }
    if changes_a_part(slip) && slot_of(mapping, slip).is_none() {
        let why = "a part was changed, but not which: it is kept as a note and no part’s life is counted";
        doubts.row(Warning, slip.row, why, "a line in [parts] that names the slot of the machine’s type");
    }
}

/// Notes rows whose words promise more than they hold.
fn contents(slip: &Slip, span: &Span, doubts: &mut Doubts) {
    let nothing = || doubts_nothing(slip);
    match slip.sort() {
        Sort::Showing if span.lasted.is_none() => {
            let why = "a showing without end or length: it is kept as a note and counts no hours";
            doubts.row(Warning, slip.row, why, "an end, a length or hours run");
        }
        Sort::Run | Sort::Rehearsal | Sort::Test | Sort::Rewind if span.lasted.is_none() => {
            doubts.row(Error, slip.row, "a run without hours", "hours run, or a start and an end");
        }
        Sort::Meter if slip.meter.is_none() => {
            doubts.row(Error, slip.row, "a meter reading without a figure", "the meter’s figure in hours");
        }
        Sort::Note | Sort::Care if nothing() => {
            doubts.row(
                Warning,
                slip.row,
                "the row has a date and nothing that is read",
                "words, hours or a figure",
            );
        }
        _ => {}
    }
}

fn doubts_nothing(slip: &Slip) -> bool {
    let texts = [&slip.title, &slip.work, &slip.part, &slip.why, &slip.note];
    texts.iter().all(|text| text.is_empty())
        && slip.hours.is_none()
        && slip.meter.is_none()
        && slip.readings.is_empty()
}
