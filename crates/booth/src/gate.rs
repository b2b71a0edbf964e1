//! The gate with the machine types at hand: the logbook's own rules, and those that need to know the machine.

use crate::{due::counts, join, known::known_names};
use logbook::{
    Booth, Draft, Entry, Fact, MachineId, Refusal, When,
    fact::{CareDeferred, CareDone, MachineEvent, Reading, Role},
    ids::{PersonId, SlotId, TaskId, TypeId},
};
use machine::{CareTask, Hand, Library, MachineType, Trigger};

/// Accepts a draft, or refuses it with what would be right.
///
/// Over the rules of the logbook itself these hold: a machine is of a known type; tasks, slots, quantities and events
/// are those of its type; a reading is in its limit's unit; what safety hangs on is not put off, and not by an
/// operator; a technician's work counts when a technician writes it. What a bigger task contains is filled in from
/// the type. Where the machine's type is not known here, its entries are taken as they are.
pub fn accept(mut draft: Draft, booth: &Booth, library: &Library, now: When) -> Result<Entry, Refusal> {
    fits_types(&draft.by, &mut draft.fact, booth, library)?;
    logbook::accept(draft, booth, now)
}

/// Checks a fact against the machine types alone, and fills in what a bigger task contains.
///
/// For entries that passed the logbook's own rules already, as those of an import did.
pub fn fits_types(by: &PersonId, fact: &mut Fact, booth: &Booth, library: &Library) -> Result<(), Refusal> {
    let gate = Gate { booth, library, by };
    match fact {
        Fact::Corrects(correction) => gate.check(&mut correction.with),
        fact => gate.check(fact),
    }
}

struct Gate<'g> {
    booth: &'g Booth,
    library: &'g Library,
    by: &'g PersonId,
}

impl<'g> Gate<'g> {
    fn check(&self, fact: &mut Fact) -> Result<(), Refusal> {
        match fact {
            Fact::MachineAdded(added) => self.known_type(&added.machine_type),
            Fact::MachineChanged(changed) => {
                changed.machine_type.as_ref().map_or(Ok(()), |kind| self.known_type(kind))
            }
            Fact::PartFitted(fitted) => self.known_slot(&fitted.machine, Some(&fitted.slot)),
            Fact::PartMoved(moved) => self.known_slot(&moved.machine, Some(&moved.slot)),
            Fact::FaultOpened(fault) => self.known_slot(&fault.machine, fault.slot.as_ref()),
            Fact::CareDone(care) => self.care_done(care),
            Fact::CareDeferred(deferred) => self.care_deferred(deferred),
            Fact::Reading(reading) => self.reading(reading),
            Fact::MachineEvent(event) => self.event(event),
            _ => Ok(()),
        }
    }

    fn kind_of(&self, machine: &MachineId) -> Option<&'g MachineType> {
        join::type_of(self.library, self.booth.machines.get(machine)?)
    }

    fn role(&self) -> Option<Role> {
        self.booth.people.get(self.by).map(|person| person.role)
    }

    fn known_type(&self, kind: &TypeId) -> Result<(), Refusal> {
        if self.library.get(kind.as_str()).is_some() {
            return Ok(());
        }
        let known = known_names(kind.as_str(), self.library.iter().map(|kind| kind.id.as_str()));
        Err(refusal("machine_type", format!("`{kind}` is not a known machine type"), known))
    }

    fn known_slot(&self, machine: &MachineId, slot: Option<&SlotId>) -> Result<(), Refusal> {
        let (Some(kind), Some(slot)) = (self.kind_of(machine), slot) else { return Ok(()) };
        if kind.part(slot.as_str()).is_some() {
            return Ok(());
        }
        let known = known_names(slot.as_str(), kind.parts.iter().map(|part| part.id.as_str()));
        Err(refusal("slot", format!("{machine} has no slot `{slot}`"), known))
    }

    /// Finds a task of the machine's type, and sees that the slot is one of its own. None: the type is not known.
    fn task(
        &self,
        machine: &MachineId,
        task: &TaskId,
        slot: Option<&SlotId>,
    ) -> Result<Option<(&'g MachineType, &'g CareTask)>, Refusal> {
        let Some(kind) = self.kind_of(machine) else { return Ok(None) };
        let Some(found) = kind.task(task.as_str()) else {
            let known = known_names(task.as_str(), kind.care.iter().map(|task| task.id.as_str()));
            return Err(refusal("task", format!("{machine} has no care task `{task}`"), known));
        };
        self.known_slot(machine, slot)?;
        let is_own = |slot: &SlotId| found.parts.iter().any(|own| own.as_str() == slot.as_str());
        if let Some(slot) = slot.filter(|slot| !is_own(slot)) {
            let known = known_names(slot.as_str(), found.parts.iter().map(machine::SlotId::as_str));
            return Err(refusal("slot", format!("`{task}` is not done at `{slot}`"), known));
        }
        Ok(Some((kind, found)))
    }

    fn care_done(&self, care: &mut CareDone) -> Result<(), Refusal> {
        let Some((kind, task)) = self.task(&care.machine, &care.task, care.slot.as_ref())? else {
            return Ok(());
        };
        if !counts(care.outcome) {
            return Ok(());
        }
        if task.who == Hand::Technician && self.role() != Some(Role::Technician) {
            return Err(refusal(
                "task",
                format!("{} is work for a qualified technician, and {} is not one", task.name, self.by),
                "it counts when a technician writes it; write what you saw as a note and ask for a technician".into(),
            ));
        }
        for included in contained(kind, task) {
            if !care.includes.iter().any(|own| own.as_str() == included.id.as_str()) {
                care.includes.push(join::logbook_task(&included.id));
            }
        }
        Ok(())
    }

    fn care_deferred(&self, deferred: &CareDeferred) -> Result<(), Refusal> {
        let found = self.task(&deferred.machine, &deferred.task, deferred.slot.as_ref())?;
        if let Some((_, task)) = found.filter(|(_, task)| task.safety) {
            return Err(refusal(
                "task",
                format!("safety hangs on {}: nobody puts it off", task.name),
                "do it now, or write that the machine is not to be used".into(),
            ));
        }
        if self.role() == Some(Role::Operator) {
            return Err(refusal(
                "by",
                format!("{} runs the show and does not put care off", self.by),
                "the keeper or a technician decides that".into(),
            ));
        }
        Ok(())
    }

    fn reading(&self, reading: &Reading) -> Result<(), Refusal> {
        let Some(kind) = self.kind_of(&reading.machine) else { return Ok(()) };
        self.known_slot(&reading.machine, reading.slot.as_ref())?;
        let Some(limit) = kind.limit(reading.quantity.as_str()) else {
            let asked = reading.quantity.as_str();
            let known = known_names(asked, kind.limits.iter().map(|limit| limit.quantity.as_str()));
            return Err(refusal("quantity", format!("{} has no reading `{asked}`", reading.machine), known));
        };
        if reading.unit == limit.unit.as_str() {
            return Ok(());
        }
        Err(refusal(
            "unit",
            format!("{} is read in {}, not in {}", limit.name, limit.unit, reading.unit),
            format!("give the value in {}", limit.unit),
        ))
    }

    fn event(&self, event: &MachineEvent) -> Result<(), Refusal> {
        let found = join::trigger_of_event(&event.event);
        if self.kind_of(&event.machine).is_none() || found.is_some_and(is_written) {
            return Ok(());
        }
        let words = Trigger::PLAIN.iter().filter(|trigger| is_written(**trigger));
        let known = known_names(&event.event, words.filter_map(|trigger| trigger.plain_word()));
        Err(refusal("event", format!("`{}` is not an event that care answers to", event.event), known))
    }
}

/// True for what a person writes down as an event; the rest follows from showings, runs and parts.
fn is_written(trigger: Trigger) -> bool {
    !matches!(
        trigger,
        Trigger::EveryReel
            | Trigger::BeforeShowing
            | Trigger::AfterShowing
            | Trigger::LampChanged
            | Trigger::IdleDays(_)
    )
}

/// Everything that a bigger task contains, directly or by way of others; a circle ends where it began.
fn contained<'k>(kind: &'k MachineType, task: &'k CareTask) -> Vec<&'k CareTask> {
    let mut found: Vec<&CareTask> = Vec::new();
    let mut wanted = vec![task];
    while let Some(bigger) = wanted.pop() {
        for id in &bigger.includes {
            let Some(smaller) = kind.task(id.as_str()) else { continue };
            if smaller.id != task.id && !found.iter().any(|own| own.id == smaller.id) {
                found.push(smaller);
                wanted.push(smaller);
            }
        }
    }
    found
}

fn refusal(field: &'static str, what: String, would_be_right: String) -> Refusal {
    Refusal { field, what, would_be_right }
}
