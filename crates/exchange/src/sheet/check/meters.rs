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
        figures.sort_by(|a, b| {
            (a.at.unix_ms, a.reading.hours())
                .partial_cmp(&(b.at.unix_ms, b.reading.hours()))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        for index in 1..figures.len() {
            check_step(machine, figures.get(index - 1..), mapping, doubts);
        }
    }
}

fn place(figure: &Figure<'_>) -> (i64, u64) {
    (figure.at.unix_ms, figure.reading.hours().to_bits())
}

/// Checks the second of some figures against the first, with those after it to tell which of the two is wrong.
fn check_step(machine: &MachineId, figures: Option<&[Figure<'_>]>, mapping: &Mapping, doubts: &mut Doubts) {
    let Some([before, figure, after @ ..]) = figures else { return };
    // The row to be doubted: the newer one, unless the logbook has it.
    let Some(slip) = figure.slip.or(before.slip) else { return };
    let row = slip.row;
    if figure.reading < before.reading {
        if figure.slip.is_some_and(|slip| meter_change(mapping, slip, machine).is_some()) {
            doubts.row(
                Note,
                row,
                format!("the meter of {machine} begins anew at {}", figure.reading),
                "nothing to do",
            );
            return;
        }
        let why = format!(
            "the meter of {machine} goes backwards: {} after {} ({})",
            figure.reading,
            before.reading,
            told_by(before)
        );
        doubts.row(Error, row, why, settle(machine, before, figure, after));
        return;
    }
    let gained = figure.reading - before.reading;
    let most = rules::most_hours_between(before.at, figure.at);
    if gained > most {
        let why = format!(
            "the meter of {machine} gains {gained:.1} since {} ({}), where the clock has at most {most:.1}",
            before.at.date(),
            told_by(before)
        );
        doubts.row(Error, row, why, "a figure, a date or a machine that fits");
    }
}

fn told_by(figure: &Figure<'_>) -> String {
    match figure.slip {
        Some(slip) => format!("row {}", slip.row),
        None => "in the logbook".to_owned(),
    }
}

/// Says how a meter that goes backwards can be settled.
fn settle(machine: &MachineId, before: &Figure<'_>, figure: &Figure<'_>, after: &[Figure<'_>]) -> String {
    let told = |word: &str| format!("[meter_changes] \"{machine} {}\" = \"{word}\"", figure.at.date());
    let top = before.reading + rules::gained_by_rolling_over(before.reading, Hours::ZERO);
    // A figure within two hundredths of its meter's end that begins again near nothing has rolled over.
    if before.reading > top * 0.98 && figure.reading < top * 0.02 {
        return format!("passed {:.0} and began again? Then {}", top.hours(), told("rolled-over"));
    }
    match after.first() {
        Some(next) if next.reading >= before.reading => {
            "this figure looks misread: the next one follows on the one before".to_owned()
        }
        Some(next)
            if next.reading >= figure.reading && before.slip.is_some() && next.reading < before.reading =>
        {
            format!("if the meter was changed: {}; or {} is misread", told("replaced"), told_by(before))
        }
        _ => format!("the right figure; if the meter was changed: {}", told("replaced")),
    }
}
