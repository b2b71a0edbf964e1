//! Machines, running, meters and fitness.

use super::{Checked, Refusal, diary, must, state};
use crate::{
    Booth, When,
    booth::{Machine, MeterMark, ShowingState},
    fact::{
        CareDeferred, Fitness, FitnessSet, MachineAdded, MachineRetired, MeterRead, MeterReplaced, Ran,
        RunKind,
    },
    fold::{MeterTrouble, check_jump, check_reading},
    ids::PersonId,
};
use units::Hours;

pub(super) fn added(booth: &Booth, at: When, fact: &MachineAdded) -> Checked {
    let Some(there) = booth.machines.get(&fact.machine) else { return Ok(()) };
    let back = there.retired.as_ref().is_some_and(|(left, _)| left.unix_ms <= at.unix_ms);
    must(back, || {
        Refusal::new(
            "machine",
            format!("“{}” is in the booth already", fact.machine),
            "a short name of its own; to change what is known of it, write that it changed",
        )
    })
}

pub(super) fn retired(booth: &Booth, at: When, fact: &MachineRetired) -> Checked {
    let machine = state::machine(booth, &fact.machine, at)?;
    must(machine.retired.is_none(), || {
        Refusal::new(
            "machine",
            format!("“{}” left the booth already", fact.machine),
            "correct that entry instead",
        )
    })?;
    let last = machine.runs.iter().map(|run| run.at).chain(machine.care.values().map(|care| care.at));
    let last =
        last.chain(machine.disturbed.values().map(|(at, _)| *at)).chain(machine.meter.iter().map(|m| m.at));
    let last = last.max_by_key(|at| at.unix_ms);
    must(last.is_none_or(|last| last.unix_ms <= at.unix_ms), || {
        let day = last.map(When::date).unwrap_or_default();
        Refusal::new(
            "happened",
            format!("something is written of it for {day}, later than this"),
            "the day on which it left",
        )
    })
}

pub(super) fn ran(booth: &Booth, at: When, by: &PersonId, fact: &Ran) -> Checked {
    let machine = state::machine(booth, &fact.machine, at)?;
    let tests = fact.run == RunKind::Test && booth.is_technician(by);
    let since = machine.fitness.since.filter(|_| machine.fitness.fitness == Fitness::Danger);
    must(tests || since.is_none_or(|(since, _)| at.unix_ms < since.unix_ms), || {
        Refusal::new(
            "machine",
            format!("{} is quarantined as dangerous: nobody runs it", booth.machine_name(&fact.machine)),
            "a test run by a technician, or the release first; if it ran before that, the moment at which it did",
        )
    })?;
    let twice = machine
        .runs
        .iter()
        .rev()
        .find(|run| run.at.unix_ms == at.unix_ms && run.run == fact.run && run.written == fact.hours);
    if let Some(run) = twice {
        return Err(Refusal::new(
            "happened",
            format!("the same run is written already (entry {})", run.entry),
            "if it ran twice that day, give each run its own time",
        ));
    }
    if let Some(id) = &fact.print {
        must(booth.prints.contains_key(id), || {
            Refusal::new(
                "print",
                format!("there is no print “{id}” in the booth"),
                "add the print first, or leave it out",
            )
        })?;
    }
    let Some(id) = &fact.showing else { return Ok(()) };
    state::showing(booth, id)?;
    let off = matches!(booth.showings.get(id).map(|it| &it.state), Some(ShowingState::Cancelled { .. }));
    must(!(off && fact.run == RunKind::Showing), || {
        Refusal::new(
            "showing",
            format!("showing “{id}” was called off"),
            "plan it again if it took place after all, or name another",
        )
    })
}

pub(super) fn meter_read(booth: &Booth, at: When, fact: &MeterRead) -> Checked {
    let machine = state::machine(booth, &fact.machine, at)?;
    check_reading(before(machine, at), fact.reading_hours, at)
        .map_err(|trouble| refuse("reading_hours", trouble))?;
    fits_next(machine, "reading_hours", fact.reading_hours, at)
}

pub(super) fn meter_replaced(booth: &Booth, at: When, fact: &MeterReplaced) -> Checked {
    let machine = state::machine(booth, &fact.machine, at)?;
    check_jump(before(machine, at), fact, at).map_err(|trouble| refuse("old_reading_hours", trouble))?;
    fits_next(machine, "new_reading_hours", fact.new_reading_hours, at)
}

fn marks(machine: &Machine) -> &[MeterMark] {
    machine.meter.as_ref().map_or(&[], |meter| meter.marks.as_slice())
}

/// Returns the figure that stood when something happened.
fn before(machine: &Machine, at: When) -> Option<(Hours, When)> {
    let mark = marks(machine).iter().rev().find(|mark| mark.at.unix_ms <= at.unix_ms)?;
    Some((mark.reading, mark.at))
}

/// Checks a figure that is written late against the next one after it.
fn fits_next(machine: &Machine, field: &'static str, figure: Hours, at: When) -> Checked {
    let Some(next) = marks(machine).iter().find(|mark| mark.at.unix_ms > at.unix_ms) else { return Ok(()) };
    let Some(closing) = next.closing else { return Ok(()) };
    check_reading(Some((figure, at)), closing, next.at).map(|_| ()).map_err(|_| {
        let what =
            format!("on {} the meter showed {closing}, which does not fit {figure} here", next.at.date());
        Refusal::new(
            field,
            what,
            "a figure between the one before and the one after; correct whichever was misread",
        )
    })
}

fn refuse(field: &'static str, trouble: MeterTrouble) -> Refusal {
    Refusal::new(field, trouble.what(), trouble.settle())
}

pub(super) fn fitness_set(booth: &Booth, at: When, by: &PersonId, fact: &FitnessSet) -> Checked {
    let machine = state::machine(booth, &fact.machine, at)?;
    if let Some((since, _)) = &machine.fitness.since {
        must(since.unix_ms <= at.unix_ms, || {
            let what = format!("a later decision is written already, of {}", since.date());
            Refusal::new("happened", what, "the moment of this decision, if it is the newer one")
        })?;
    }
    let lifts = machine.fitness.fitness == Fitness::Danger && fact.fitness != Fitness::Danger;
    must(!lifts || booth.is_technician(by), || {
        Refusal::new(
            "fitness",
            format!(
                "{} is quarantined as dangerous, and {} is no technician of this booth",
                booth.machine_name(&fact.machine),
                booth.person_name(by)
            ),
            "a qualified technician looks at the machine and writes the release under their own name",
        )
    })
}

pub(super) fn care_deferred(booth: &Booth, at: When, fact: &CareDeferred) -> Checked {
    let machine = state::machine(booth, &fact.machine, at)?;
    let run = machine.clocks.hours_run();
    if let Some(until) = fact.until_hours_run {
        must(until > run, || {
            let what = format!("“{}” has run {run:.1} already", fact.machine);
            Refusal::new("until_hours_run", what, "more hours run in all than it has now")
        })?;
    }
    diary::not_before("until_date", fact.until_date, at)
}
