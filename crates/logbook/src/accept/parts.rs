//! Parts: known or new, in a free slot or in the place of another, and in order of time.

use super::{Checked, Refusal, must, state};
use crate::{
    Booth, When,
    booth::{Machine, Stint},
    fact::{PartFitted, PartMoved, PartRemoved, Replaced},
    ids::{PartId, SlotId},
};

pub(super) fn fitted(booth: &Booth, at: When, fact: &PartFitted) -> Checked {
    let machine = state::machine(booth, &fact.machine, at)?;
    if let Some(item) = &fact.item {
        state::in_stock(booth, "item", item)?;
    }
    let there = stint(booth, &fact.part).filter(|stint| stint.ended.is_none());
    must(there.is_none(), || {
        let place = there.map(|stint| format!("{} ({})", stint.machine, stint.slot)).unwrap_or_default();
        Refusal::new(
            "part",
            format!("part “{}” is fitted in {place}", fact.part),
            "write it as moved, or give this part a short name of its own",
        )
    })?;
    is_latest_of_part(booth, &fact.part, at)?;
    takes_slot(booth, machine, &fact.slot, fact.replaces.as_ref(), at)
}

pub(super) fn moved(booth: &Booth, at: When, fact: &PartMoved) -> Checked {
    let machine = state::machine(booth, &fact.machine, at)?;
    must(booth.parts.contains_key(&fact.part), || {
        Refusal::new(
            "part",
            format!("part “{}” is not known", fact.part),
            "write it as fitted, with its age or a guess",
        )
    })?;
    must(machine.fitted.get(&fact.slot) != Some(&fact.part), || {
        Refusal::new(
            "slot",
            format!("“{}” is in {} already", fact.part, fact.slot),
            "the slot to which it goes",
        )
    })?;
    is_latest_of_part(booth, &fact.part, at)?;
    takes_slot(booth, machine, &fact.slot, fact.replaces.as_ref(), at)
}

pub(super) fn removed(booth: &Booth, at: When, fact: &PartRemoved) -> Checked {
    must(stint(booth, &fact.part).is_some_and(|stint| stint.ended.is_none()), || {
        Refusal::new(
            "part",
            format!("part “{}” is not fitted anywhere", fact.part),
            "a part that is fitted now",
        )
    })?;
    is_latest_of_part(booth, &fact.part, at)
}

fn stint<'a>(booth: &'a Booth, part: &PartId) -> Option<&'a Stint> {
    booth.parts.get(part)?.stints.last()
}

/// Checks that nothing later is written of a part and of the slot that it leaves.
fn is_latest_of_part(booth: &Booth, part: &PartId, at: When) -> Checked {
    let Some(stint) = stint(booth, part) else { return Ok(()) };
    let last = stint.ended.as_ref().map_or(stint.fitted, |ended| ended.at);
    is_latest(last, part.as_str(), at)?;
    let Some(machine) = booth.machines.get(&stint.machine).filter(|_| stint.ended.is_none()) else {
        return Ok(());
    };
    is_latest_of_slot(machine, &stint.slot, at)
}

fn is_latest_of_slot(machine: &Machine, slot: &SlotId, at: When) -> Checked {
    machine.disturbed.get(slot).map_or(Ok(()), |(last, _)| is_latest(*last, slot.as_str(), at))
}

fn is_latest(last: When, name: &str, at: When) -> Checked {
    must(last.unix_ms <= at.unix_ms, || {
        Refusal::new(
            "happened",
            format!("something later is written of “{name}”, of {}", last.date()),
            "a later moment; to put something in before it, withdraw the later entry and write both again in order",
        )
    })
}

/// Checks that a slot is free, or that the entry says how the life of what is in it ended.
fn takes_slot(
    booth: &Booth,
    machine: &Machine,
    slot: &SlotId,
    replaces: Option<&Replaced>,
    at: When,
) -> Checked {
    is_latest_of_slot(machine, slot, at)?;
    let named = replaces.and_then(|replaced| replaced.part.as_ref());
    if let Some(occupant) = machine.fitted.get(slot) {
        must(replaces.is_some(), || {
            Refusal::new(
                "replaces",
                format!("“{occupant}” is in {slot}, and the entry does not say why it came out"),
                "say how its life ended: failed, worn, planned, borrowed, damaged or unknown",
            )
        })?;
        return must(named.is_none_or(|part| part == occupant), || {
            Refusal::new(
                "replaces",
                format!("it is “{occupant}” that sits in {slot}"),
                "name that part, or none",
            )
        });
    }
    let Some(part) = named else { return Ok(()) };
    let elsewhere = stint(booth, part).filter(|stint| stint.ended.is_none());
    must(elsewhere.is_none(), || {
        let place = elsewhere.map(|stint| format!("{} ({})", stint.machine, stint.slot)).unwrap_or_default();
        let what = format!("by this log that part sits in {place}");
        Refusal::new("replaces", what, "the part that came out of this slot, or none")
    })?;
    is_latest_of_part(booth, part, at)
}
