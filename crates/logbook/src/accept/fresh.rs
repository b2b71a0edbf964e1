//! Names that come in with a draft: nobody could tell two of them apart that differ in a character that is not seen.
//!
//! A name that the booth holds already stays usable, whatever is in it: an old logbook goes on.

use super::{Checked, Draft, Refusal};
use crate::{
    Booth, Fact,
    fact::{About, CareDone, FaultClosed, FaultOpened, MachineAdded, PartFitted, ShowingPlanned},
    ids::{CauseId, ItemId, PlaceId, QuantityId, RemedyId, SlotId, SymptomId, TaskId, TypeId},
    unseen,
};

/// Checks the names that a draft brings in.
pub(super) fn check(draft: &Draft, booth: &Booth) -> Checked {
    let mut names = Names { booth, found: Ok(()) };
    names.see("by", draft.by.as_str(), booth.people.contains_key(&draft.by));
    names.of(&draft.fact);
    names.found
}

/// Looks at names, and keeps the first that is refused.
struct Names<'b> {
    booth: &'b Booth,
    found: Checked,
}

impl Names<'_> {
    fn see(&mut self, field: &'static str, name: &str, is_known: bool) {
        if is_known || self.found.is_err() {
            return;
        }
        let Some(letter) = name.chars().find(|letter| unseen::is_unseen(*letter)) else { return };
        let seen: String = name.chars().filter(|letter| !unseen::is_unseen(*letter)).collect();
        let which = unseen::in_words(letter);
        let right = if seen.trim().is_empty() {
            "a name that can be read".to_owned()
        } else {
            format!("the same without it, typed anew: “{}”", seen.trim())
        };
        let what = format!("“{seen}” holds a character that nobody sees: {which}");
        self.found = Err(Refusal::new(field, what, right));
    }

    /// Looks at names that a machine type or the program gives; none of them holds such a character.
    fn given<'n>(&mut self, field: &'static str, names: impl IntoIterator<Item = &'n str>) {
        for name in names {
            self.see(field, name, false);
        }
    }

    fn of(&mut self, fact: &Fact) {
        let booth = self.booth;
        match fact {
            Fact::PersonAdded(it) => {
                self.see("person", it.person.as_str(), booth.people.contains_key(&it.person));
            }
            Fact::PlaceAdded(it) => self.place(&it.place),
            Fact::SetupKept(it) => self.given("values", it.values.keys().map(String::as_str)),
            Fact::MachineAdded(it) => self.machine_added(it),
            Fact::MachineChanged(it) => {
                self.given("machine_type", it.machine_type.as_ref().map(TypeId::as_str));
                it.place.iter().for_each(|place| self.place(place));
            }
            Fact::MachineEvent(it) => self.given("event", [it.event.as_str()]),
            Fact::PartFitted(it) => self.part_fitted(it),
            Fact::PartMoved(it) => self.given("slot", [it.slot.as_str()]),
            Fact::CareDone(it) => self.care_done(it),
            Fact::CareDeferred(it) => {
                self.given("task", [it.task.as_str()]);
                self.given("slot", it.slot.as_ref().map(SlotId::as_str));
            }
            Fact::PlanPinned(it) => self.given("task", it.task.as_ref().map(TaskId::as_str)),
            Fact::Reading(it) => {
                self.given("quantity", [it.quantity.as_str()]);
                self.given("slot", it.slot.as_ref().map(SlotId::as_str));
                self.given("conditions", it.conditions.keys().map(String::as_str));
            }
            Fact::ShowingPlanned(it) => self.showing_planned(it),
            Fact::FaultOpened(it) => self.fault_opened(it),
            Fact::FaultAnswered(it) => {
                self.given("which", [it.which.as_str()]);
                self.given("quantity", it.quantity.as_ref().map(QuantityId::as_str));
            }
            Fact::FaultTried(it) => self.given("remedy", [it.remedy.as_str()]),
            Fact::FaultMarked(it) => {
                it.to.iter().for_each(|to| self.see("to", to.as_str(), booth.people.contains_key(to)));
            }
            Fact::FaultClosed(it) => self.fault_closed(it),
            Fact::PrintAdded(it) => {
                self.see("print", it.print.as_str(), booth.prints.contains_key(&it.print));
            }
            Fact::ProgrammeKept(it) => {
                let is_known = booth.programmes.contains_key(&it.programme);
                self.see("programme", it.programme.as_str(), is_known);
                let prints = it.items.iter().filter_map(|item| item.print.as_ref());
                prints.for_each(|print| {
                    self.see("items", print.as_str(), booth.prints.contains_key(print));
                });
            }
            Fact::StockCounted(it) => {
                self.item("item", &it.item);
                self.given("slot", it.slot.as_ref().map(SlotId::as_str));
            }
            Fact::StockOrdered(it) => {
                self.item("item", &it.item);
                let is_known = booth.orders.keys().any(|line| line.order == it.order);
                self.see("order", it.order.as_str(), is_known);
            }
            Fact::StockReceived(it) => self.item("item", &it.item),
            Fact::Noted(it) => it.about.iter().for_each(|about| self.about(about)),
            Fact::Corrects(it) => self.of(&it.with),
            // The rest names only what the booth must hold already.
            _ => {}
        }
    }

    fn place(&mut self, place: &PlaceId) {
        self.see("place", place.as_str(), self.booth.places.contains_key(place));
    }

    fn item(&mut self, field: &'static str, item: &ItemId) {
        self.see(field, item.as_str(), self.booth.stock.contains_key(item));
    }

    fn machine_added(&mut self, it: &MachineAdded) {
        self.see("machine", it.machine.as_str(), self.booth.machines.contains_key(&it.machine));
        self.given("machine_type", [it.machine_type.as_str()]);
        it.place.iter().for_each(|place| self.place(place));
        self.given("settings", it.settings.keys().map(String::as_str));
    }

    fn part_fitted(&mut self, it: &PartFitted) {
        self.see("part", it.part.as_str(), self.booth.parts.contains_key(&it.part));
        self.given("slot", [it.slot.as_str()]);
        if let Some(old) = it.replaces.as_ref().and_then(|old| old.part.as_ref()) {
            self.see("replaces", old.as_str(), self.booth.parts.contains_key(old));
        }
        it.item.iter().for_each(|item| self.item("item", item));
    }

    fn care_done(&mut self, it: &CareDone) {
        self.given("task", [it.task.as_str()]);
        self.given("slot", it.slot.as_ref().map(SlotId::as_str));
        self.given("includes", it.includes.iter().map(TaskId::as_str));
    }

    fn showing_planned(&mut self, it: &ShowingPlanned) {
        self.see("showing", it.showing.as_str(), self.booth.showings.contains_key(&it.showing));
        it.place.iter().for_each(|place| self.place(place));
        for print in &it.prints {
            self.see("prints", print.as_str(), self.booth.prints.contains_key(print));
        }
    }

    fn fault_opened(&mut self, it: &FaultOpened) {
        self.see("fault", it.fault.as_str(), self.booth.faults.contains_key(&it.fault));
        self.given("slot", it.slot.as_ref().map(SlotId::as_str));
        self.given("symptoms", it.symptoms.iter().map(SymptomId::as_str));
        it.print.iter().for_each(|print| {
            self.see("print", print.as_str(), self.booth.prints.contains_key(print));
        });
    }

    fn fault_closed(&mut self, it: &FaultClosed) {
        self.given("cause_id", it.cause_id.as_ref().map(CauseId::as_str));
        self.given("remedy_id", it.remedy_id.as_ref().map(RemedyId::as_str));
    }

    fn about(&mut self, about: &About) {
        let booth = self.booth;
        let (name, is_known) = match about {
            About::Machine(id) => (id.as_str(), booth.machines.contains_key(id)),
            About::Part(id) => (id.as_str(), booth.parts.contains_key(id)),
            About::Print(id) => (id.as_str(), booth.prints.contains_key(id)),
            About::Place(id) => (id.as_str(), booth.places.contains_key(id)),
            About::Showing(id) => (id.as_str(), booth.showings.contains_key(id)),
        };
        self.see("about", name, is_known);
    }
}
