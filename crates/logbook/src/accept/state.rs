//! What a draft must fit: the booth as it stands.

use super::{Checked, Draft, Refusal, diary, machines, must, parts};
use crate::{
    Booth, Fact, When,
    booth::Machine,
    ids::{ItemId, MachineId, PlaceId, ShowingId},
};

/// Checks a draft against the booth.
pub(super) fn check(draft: &Draft, booth: &Booth) -> Checked {
    let at = draft.happened;
    if let Some(id) = draft.fact.machine()
        && !matches!(draft.fact, Fact::MachineAdded(_) | Fact::Corrects(_) | Fact::Noted(_))
    {
        machine(booth, id, at)?;
    }
    match &draft.fact {
        Fact::MachineAdded(fact) => machines::added(booth, at, fact),
        Fact::MachineRetired(fact) => machines::retired(booth, at, fact),
        Fact::Ran(fact) => machines::ran(booth, at, &draft.by, fact),
        Fact::MeterRead(fact) => machines::meter_read(booth, at, fact),
        Fact::MeterReplaced(fact) => machines::meter_replaced(booth, at, fact),
        Fact::FitnessSet(fact) => machines::fitness_set(booth, at, &draft.by, fact),
        Fact::CareDone(fact) => fact.used.iter().try_for_each(|used| in_stock(booth, "used", &used.item)),
        Fact::CareDeferred(fact) => machines::care_deferred(booth, at, fact),
        Fact::PartFitted(fact) => parts::fitted(booth, at, fact),
        Fact::PartMoved(fact) => parts::moved(booth, at, fact),
        Fact::PartRemoved(fact) => parts::removed(booth, at, fact),
        Fact::ShowingPlanned(fact) => diary::planned(booth, fact),
        Fact::ShowingHeld(fact) => showing(booth, &fact.showing),
        Fact::ShowingCancelled(fact) => diary::cancelled(booth, fact),
        Fact::Stoppage(fact) => fact.showing.as_ref().map_or(Ok(()), |id| showing(booth, id)),
        Fact::FaultOpened(fact) => diary::fault_opened(booth, fact),
        Fact::FaultNoted(fact) => diary::fault(booth, &fact.fault).map(|_| ()),
        Fact::FaultClosed(fact) => diary::fault_closed(booth, at, fact),
        Fact::SetupKept(fact) => place(booth, &fact.place),
        Fact::ShowMarked(fact) => showing(booth, &fact.showing),
        Fact::ProgrammeKept(fact) => {
            fact.showings.iter().try_for_each(|id| showing(booth, id))?;
            fact.machines.iter().try_for_each(|id| machine(booth, id, at).map(drop))
        }
        // The rest fits whatever is there.
        _ => Ok(()),
    }
}

/// Checks that there is such a machine and that it had not left by then.
pub(super) fn machine<'a>(booth: &'a Booth, id: &MachineId, at: When) -> Result<&'a Machine, Refusal> {
    let machine = booth.machines.get(id).ok_or_else(|| {
        let there: Vec<&str> = booth.machines.keys().map(MachineId::as_str).take(12).collect();
        let right = if there.is_empty() {
            "add the machine first".to_owned()
        } else {
            format!("one of: {}", there.join(", "))
        };
        Refusal::new("machine", format!("there is no machine “{id}” in this booth"), right)
    })?;
    match &machine.retired {
        Some((left, _)) if at.unix_ms >= left.unix_ms => Err(Refusal::new(
            "machine",
            format!("“{id}” left the booth for good on {}", left.date()),
            "if it came back, add it again; else another machine or an earlier day",
        )),
        _ => Ok(machine),
    }
}

/// Checks that a showing stands in the diary.
pub(super) fn showing(booth: &Booth, id: &ShowingId) -> Checked {
    must(booth.showings.contains_key(id), || {
        Refusal::new(
            "showing",
            format!("there is no showing “{id}” in the diary"),
            "plan it first, or leave the showing out",
        )
    })
}

/// Checks that a hall is known.
fn place(booth: &Booth, id: &PlaceId) -> Checked {
    must(booth.places.contains_key(id), || {
        Refusal::new("place", format!("there is no place “{id}” in this booth"), "add the place first")
    })
}

/// Checks that an item of stock was counted at least once.
pub(super) fn in_stock(booth: &Booth, field: &'static str, id: &ItemId) -> Checked {
    must(booth.stock.get(id).is_some_and(|item| item.counted.is_some()), || {
        Refusal::new(field, format!("nobody ever counted “{id}”"), "count it first, or leave it out")
    })
}
