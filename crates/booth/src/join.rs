//! Where the logbook's names meet the machine types' names. Both are plain text; only here one becomes the other.

use logbook::{
    booth::{Booth, Machine},
    ids::{MachineId, QuantityId, SlotId, TaskId},
};
use machine::{Clock, Library, MachineType, PartGroup, Shape, Trigger};

/// The type of a machine, if it is known here.
pub fn type_of<'a>(library: &'a Library, machine: &Machine) -> Option<&'a MachineType> {
    library.get(machine.machine_type.as_str())
}

/// A machine by its id, with the id as the booth keeps it.
pub fn machine_of<'a>(booth: &'a Booth, id: &str) -> Option<(&'a MachineId, &'a Machine)> {
    booth.machines.get_key_value(id)
}

/// A machine and its type, where both are known.
pub fn machine_and_type<'a>(
    booth: &'a Booth,
    library: &'a Library,
    id: &str,
) -> Option<(&'a MachineId, &'a Machine, &'a MachineType)> {
    let (id, machine) = machine_of(booth, id)?;
    Some((id, machine, type_of(library, machine)?))
}

/// The logbook's name of a task.
pub fn logbook_task(task: &machine::TaskId) -> TaskId {
    TaskId::new(task.as_str())
}

/// The logbook's name of a slot.
pub fn logbook_slot(slot: &machine::SlotId) -> SlotId {
    SlotId::new(slot.as_str())
}

/// The logbook's name of a quantity.
pub fn logbook_quantity(quantity: &machine::QuantityId) -> QuantityId {
    QuantityId::new(quantity.as_str())
}

/// The trigger that an event of the logbook stands for; people write `transport` and `after-transport` alike.
pub fn trigger_of_event(event: &str) -> Option<Trigger> {
    Trigger::from_word(event).or(match event {
        "transport" => Some(Trigger::AfterTransport),
        "after-repair" => Some(Trigger::Repair),
        _ => None,
    })
}

/// The slots that hold a projection lamp: lamps that stand in the light's way to the gate, not the exciter.
pub fn lamp_slots(kind: &MachineType) -> impl Iterator<Item = &machine::SlotId> {
    kind.parts
        .iter()
        .filter(|part| part.group == PartGroup::Light && part.place.shape == Shape::Lamp)
        .map(|part| &part.id)
}

/// The counter by which a part in this slot ages: the lamp's own for a projection lamp, else hours run.
pub fn clock_of_slot(kind: &MachineType, slot: &str) -> Clock {
    if lamp_slots(kind).any(|lamp| lamp.as_str() == slot) { Clock::Lamp } else { Clock::Running }
}

/// What a counter shows; strikes are a bare count.
pub fn read_clock(clocks: &logbook::booth::Clocks, clock: Clock) -> f64 {
    match clock {
        Clock::Running => clocks.hours_run().hours(),
        Clock::Motor => clocks.motor().hours(),
        Clock::Lamp => clocks.lit.hours(),
        Clock::Strikes => f64::from(clocks.strikes),
    }
}
