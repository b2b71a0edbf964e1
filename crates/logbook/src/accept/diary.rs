//! Showings and faults.

use super::{Checked, Refusal, must, state};
use crate::{
    Booth, When,
    booth::{Fault, Showing, ShowingState},
    fact::{FaultClosed, FaultOpened, Fitness, ShowingCancelled, ShowingPlanned},
    ids::{FaultId, MachineId},
};
use jiff::{SignedDuration, Timestamp, civil};

pub(super) fn planned(booth: &Booth, fact: &ShowingPlanned) -> Checked {
    let starts = When::from_zoned(&fact.starts);
    for (number, assigned) in fact.machines.iter().enumerate() {
        let machine = state::machine(booth, &assigned.machine, starts)?;
        must(machine.fitness.fitness != Fitness::Danger, || {
            Refusal::new(
                "machines",
                format!("{} is quarantined as dangerous", booth.machine_name(&assigned.machine)),
                "another machine, or the release by a technician first",
            )
        })?;
        must(fact.machines.iter().take(number).all(|before| before.machine != assigned.machine), || {
            Refusal::new(
                "machines",
                format!("“{}” stands there twice", assigned.machine),
                "each machine once",
            )
        })?;
        is_free(booth, &assigned.machine, fact)?;
    }
    Ok(())
}

/// Checks that a machine is in no other showing at that time.
fn is_free(booth: &Booth, machine: &MachineId, fact: &ShowingPlanned) -> Checked {
    let from = fact.starts.timestamp();
    let to = ends(from, fact.length_minutes);
    let clash = booth.showings.iter().find(|(id, showing)| {
        **id != fact.showing
            && !matches!(showing.state, ShowingState::Cancelled { .. })
            && showing.machines.iter().any(|(other, _)| other == machine)
            && overlaps(showing, from, to)
    });
    must(clash.is_none(), || {
        let title = clash.map(|(_, showing)| showing.title.as_str()).unwrap_or_default();
        Refusal::new(
            "machines",
            format!("“{title}” wants “{machine}” at the same time"),
            "another machine or another time, or call the other showing off first",
        )
    })
}

fn overlaps(showing: &Showing, from: Timestamp, to: Timestamp) -> bool {
    showing.starts.timestamp() < to && from < showing.ends()
}

fn ends(from: Timestamp, minutes: f64) -> Timestamp {
    let length = SignedDuration::try_from_secs_f64(minutes * 60.0).unwrap_or(SignedDuration::ZERO);
    from.saturating_add(length).unwrap_or(from)
}

pub(super) fn cancelled(booth: &Booth, fact: &ShowingCancelled) -> Checked {
    state::showing(booth, &fact.showing)?;
    let held =
        booth.showings.get(&fact.showing).is_some_and(|it| matches!(it.state, ShowingState::Held { .. }));
    must(!held, || {
        Refusal::new(
            "showing",
            format!("“{}” took place", fact.showing),
            "withdraw the entry that says so, if it is wrong",
        )
    })
}

pub(super) fn fault_opened(booth: &Booth, fact: &FaultOpened) -> Checked {
    must(!booth.faults.contains_key(&fact.fault), || {
        let what = format!("there is a fault “{}” already", fact.fault);
        Refusal::new("fault", what, "a short name of its own; to add words to that one, write a note on it")
    })?;
    fact.showing.as_ref().map_or(Ok(()), |id| state::showing(booth, id))
}

pub(super) fn fault<'a>(booth: &'a Booth, id: &FaultId) -> Result<&'a Fault, Refusal> {
    booth.faults.get(id).ok_or_else(|| {
        Refusal::new("fault", format!("there is no fault “{id}”"), "open it first, or name one that is open")
    })
}

/// Checks that a fault is there and still open.
pub(super) fn open_fault(booth: &Booth, at: When, id: &FaultId) -> Checked {
    let fault = fault(booth, id)?;
    must(fault.closed.is_none(), || {
        let what = format!("fault “{id}” is closed already");
        Refusal::new("fault", what, "withdraw the entry that closed it to go on with it, or open a new fault")
    })?;
    not_before("happened", Some(at.date()), fault.opened.0)
}

pub(super) fn fault_closed(booth: &Booth, at: When, fact: &FaultClosed) -> Checked {
    let fault = fault(booth, &fact.fault)?;
    must(fault.closed.is_none(), || {
        Refusal::new(
            "fault",
            format!("fault “{}” is closed already", fact.fault),
            "correct that entry, or open a new fault",
        )
    })?;
    not_before("happened", Some(at.date()), fault.opened.0)
}

/// Checks that a day does not lie before something else.
pub(super) fn not_before(field: &'static str, day: Option<civil::Date>, other: When) -> Checked {
    must(day.is_none_or(|day| day >= other.date()), || {
        let what = format!("{} is before {}", day.unwrap_or_default(), other.date());
        Refusal::new(field, what, "a day that is not before that")
    })
}
