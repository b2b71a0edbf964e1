//! Hour meters: figures that go backwards or run faster than the clock.

use crate::sheet::{
    doubt::{
        Doubts,
        Severity::{Error, Note},
    },
    dry_run::Ground,
    facts::meter_change,
    mapping::Mapping,
    slip::{Slip, Span},
};
use logbook::{MachineId, When, rules};
use std::collections::{BTreeMap, BTreeSet};
use units::Hours;

/// One figure of a meter.
struct Figure<'s> {
    at: When,
    reading: Hours,
    /// The row; absent: the logbook has it already.
    slip: Option<&'s Slip>,
}

/// Checks the figures of every machine in order of time, those of the logbook among them.
pub(super) fn check(spans: &[(Slip, Span)], mapping: &Mapping, ground: &Ground<'_>, doubts: &mut Doubts) {
    let mut by_machine: BTreeMap<&MachineId, Vec<Figure<'_>>> = BTreeMap::new();
    for (slip, span) in spans {
        if let (Some(reading), [machine]) = (slip.meter, &slip.machines[..]) {
            by_machine.entry(machine).or_default().push(Figure { at: span.start, reading, slip: Some(slip) });
        }
    }
    for (machine, mut figures) in by_machine {
        let imported: BTreeSet<(i64, u64)> = figures.iter().map(place).collect();
        let meter = ground.booth.machines.get(machine).and_then(|machine| machine.meter.as_ref());
        for mark in meter.iter().flat_map(|meter| &meter.marks) {
            let figure = Figure { at: mark.at, reading: mark.reading, slip: None };
            // What an earlier import of the same row wrote says nothing new.
            if !imported.contains(&place(&figure)) {
                figures.push(figure);
            }
        }
        figures.sort_by(|a, b| a.at.unix_ms.cmp(&b.at.unix_ms).then_with(|| a.reading.total_cmp(&b.reading)));
        check_steps(machine, &figures, mapping, doubts);
    }
}

/// Checks each figure against the last one that was taken as right.
fn check_steps(machine: &MachineId, figures: &[Figure<'_>], mapping: &Mapping, doubts: &mut Doubts) {
    let Some((mut last, mut rest)) = figures.split_first() else { return };
    while let Some((figure, after)) = rest.split_first() {
        // A figure that is misread says nothing about the next one.
        if check_step(machine, last, figure, after.first(), mapping, doubts) == Step::On {
            last = figure;
        }
        rest = after;
    }
}

/// What to compare the next figure with.
#[derive(PartialEq, Eq)]
enum Step {
    /// With this one.
    On,
    /// With the one before, as this one is misread.
    PassOver,
}

fn place(figure: &Figure<'_>) -> (i64, u64) {
    (figure.at.unix_ms, figure.reading.hours().to_bits())
}

/// Checks a figure against the one before; the one after tells which of the two is wrong.
fn check_step(
    machine: &MachineId,
    before: &Figure<'_>,
    figure: &Figure<'_>,
    after: Option<&Figure<'_>>,
    mapping: &Mapping,
    doubts: &mut Doubts,
) -> Step {
    // The row to be doubted: the newer one, unless the logbook has it.
    let Some(slip) = figure.slip.or(before.slip) else { return Step::On };
    let row = slip.row;
    let next_follows_on_before = after.is_some_and(|next| fits(before, next));
    if figure.reading < before.reading {
        if figure.slip.is_some_and(|slip| meter_change(mapping, slip, machine).is_some()) {
            let why = format!("the meter of {machine} begins anew at {}", figure.reading);
            doubts.row(Note, row, why, "nothing to do");
            return Step::On;
        }
        let why = format!(
            "the meter of {machine} goes backwards: {} after {} ({})",
            figure.reading,
            before.reading,
            told_by(before)
        );
        doubts.row(Error, row, why, settle(machine, before, figure, after));
    } else if !fits(before, figure) {
        let why = format!(
            "the meter of {machine} gains {:.1} since {} ({}), where the clock has at most {:.1}",
            figure.reading - before.reading,
            before.at.date(),
            told_by(before),
            rules::most_hours_between(before.at, figure.at)
        );
        doubts.row(Error, row, why, "a figure, a date or a machine that fits");
    } else {
        return Step::On;
    }
    if next_follows_on_before { Step::PassOver } else { Step::On }
}

/// Tells whether a meter can have gone from one figure to another: not back, and not faster than the clock.
fn fits(before: &Figure<'_>, figure: &Figure<'_>) -> bool {
    let gained = figure.reading - before.reading;
    gained >= Hours::ZERO && gained <= rules::most_hours_between(before.at, figure.at)
}

fn told_by(figure: &Figure<'_>) -> String {
    match figure.slip {
        Some(slip) => format!("row {}", slip.row),
        None => "in the logbook".to_owned(),
    }
}

/// Says how a meter that goes backwards can be settled.
fn settle(
    machine: &MachineId,
    before: &Figure<'_>,
    figure: &Figure<'_>,
    after: Option<&Figure<'_>>,
) -> String {
    let told = |word: &str| format!("[meter_changes] \"{machine} {}\" = \"{word}\"", figure.at.date());
    let top = before.reading + rules::gained_by_rolling_over(before.reading, Hours::ZERO);
    // A figure within two hundredths of its meter's end that begins again near nothing has rolled over.
    if before.reading > top * 0.98 && figure.reading < top * 0.02 {
        return format!("passed {:.0} and began again? Then {}", top.hours(), told("rolled-over"));
    }
    match after {
        Some(next) if fits(before, next) => {
            "this figure looks misread: the next one follows on the one before".to_owned()
        }
        Some(next) if fits(figure, next) && before.slip.is_some() => {
            format!("if the meter was changed: {}; or {} is misread", told("replaced"), told_by(before))
        }
        _ => format!("the right figure; if the meter was changed: {}", told("replaced")),
    }
}
