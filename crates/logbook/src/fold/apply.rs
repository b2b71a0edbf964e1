//! The second pass: facts in order of time, each to the hand that knows what it does.

use super::{
    clock_plan::ClockPlan,
    clocks::Live,
    deeds::{DeedNames, DeedNotes},
    guard::Roles,
    line::Line,
    pending::Pending,
    queries::Queries,
};
use crate::{
    Booth, Fact, When,
    booth::{Clocks, Machine, Note, StoppageRecord},
    fact::{Noted, Role, Stoppage, Unknown},
    ids::{EntryId, MachineId},
};
use rustc_hash::FxHashMap;
use std::mem::take;

/// The booth so far, with what only the folding needs.
#[derive(Debug, Default)]
pub(super) struct Folding {
    /// The booth so far.
    pub booth: Booth,
    /// The clocks at work, by the machine's place in the booth.
    pub live: Vec<Live>,
    /// Which role each person had from when on.
    pub roles: Roles,
    /// When the plan that holds was written, by the showing's place in the booth.
    pub planned: Vec<(i64, EntryId)>,
    /// What waits for something that may yet come.
    pub pending: Pending,
    /// The names that deeds of care speak of.
    pub deed_names: DeedNames,
    /// What was said at the last deeds of care.
    pub deed_notes: DeedNotes,
    /// Questions so far.
    pub queries: Queries,
    /// Kinds that this program does not know: the first entry and how many.
    pub unknown: FxHashMap<(String, u16), (Met, usize)>,
}

/// The first entry of an unknown kind.
pub(super) type Met = (EntryId, When);

impl Folding {
    /// Applies one fact; `place` is the place in the booth of the machine that it names.
    pub fn apply(&mut self, line: &Line, place: Option<usize>, fact: &mut Fact) {
        match (fact, place) {
            (Fact::Ran(fact), Some(m)) => self.ran(line, m, fact),
            (Fact::CareDone(fact), Some(m)) => self.care_done(line, m, fact),
            (Fact::Reading(fact), Some(m)) => self.reading(line, m, fact),
            (Fact::MeterRead(fact), Some(m)) => self.meter_read(line, m, fact.reading_hours),
            (Fact::MeterReplaced(fact), Some(m)) => self.meter_replaced(line, m, fact),
            (Fact::PartFitted(fact), Some(m)) => self.part_fitted(line, m, fact),
            (Fact::PartMoved(fact), Some(m)) => self.part_moved(line, m, fact),
            (Fact::PartRemoved(fact), _) => self.part_removed(line, fact),
            (Fact::CareDeferred(fact), Some(m)) => self.care_deferred(line, m, fact),
            (Fact::PlanPinned(fact), Some(m)) => self.plan_pinned(line, m, fact),
            (Fact::FaultOpened(fact), Some(m)) => self.fault_opened(line, m, fact),
            (Fact::FaultNoted(fact), _) => self.fault_noted(line, fact),
            (Fact::FaultAnswered(fact), _) => self.fault_answered(line, fact),
            (Fact::FaultTried(fact), _) => self.fault_tried(line, fact),
            (Fact::FaultMarked(fact), _) => self.fault_marked(line, fact),
            (Fact::RepairRequested(fact), _) => self.repair_requested(line, fact),
            (Fact::FaultClosed(fact), _) => self.fault_closed(line, fact),
            (Fact::FitnessSet(fact), Some(m)) => self.fitness_set(line, m, fact),
            (Fact::MachineEvent(fact), Some(m)) => self.machine_event(line, m, fact),
            (Fact::MachineAdded(fact), Some(m)) => self.machine_enters(line, m, fact),
            (Fact::MachineChanged(fact), Some(m)) => self.machine_changed(m, fact),
            (Fact::MachineRetired(fact), Some(m)) => self.machine_retired(line, m, fact),
            (Fact::ShowingPlanned(fact), _) => self.showing_planned(line, fact),
            (Fact::ShowingHeld(fact), _) => self.showing_held(line, fact),
            (Fact::ShowingCancelled(fact), _) => self.showing_cancelled(line, fact),
            (Fact::Stoppage(fact), _) => self.stoppage(line, place, fact),
            (Fact::PrintAdded(fact), _) => self.print_added(line, fact),
            (Fact::PrintInspected(fact), _) => self.print_inspected(line, fact),
            (Fact::PrintHandled(fact), _) => self.print_handled(line, fact),
            (Fact::SetupKept(fact), _) => self.setup_kept(line, fact),
            (Fact::ProgrammeKept(fact), _) => self.programme_kept(line, fact),
            (Fact::ShowMarked(fact), _) => self.show_marked(line, place, fact),
            (Fact::StockCounted(fact), _) => self.stock_counted(line, fact),
            (Fact::StockOrdered(fact), _) => self.stock_ordered(line, fact),
            (Fact::StockReceived(fact), _) => self.stock_received(line, fact),
            (Fact::StockUsed(fact), _) => self.stock_used(line, place, fact),
            (Fact::StockMoved(fact), _) => self.stock_moved(line, fact),
            (Fact::Noted(fact), _) => self.noted(line, fact),
            (Fact::BoothNamed(fact), _) => self.booth_named(line, fact),
            (Fact::PersonAdded(fact), _) => self.person_added(line, fact),
            (Fact::PlaceAdded(fact), _) => self.place_added(fact),
            (Fact::Unknown(fact), _) => self.unknown(line, fact),
            // Settled in the first pass.
            (Fact::Corrects(_) | Fact::Withdraws(_), _) => {}
            (fact, None) => self.ask_about_machine(line, fact.machine()),
        }
    }

    /// Asks about a machine that nobody ever added.
    pub fn ask_about_machine(&mut self, line: &Line, machine: Option<&MachineId>) {
        let Some(name) = machine else { return };
        let what =
            format!("there is no machine “{name}” in this booth; the entry is kept but changes nothing");
        let settle = "add the machine, or correct the entry if another one was meant";
        self.queries.ask(line.id, line.at, machine, what, settle);
    }

    /// Returns the machine at a place.
    pub fn machine(&mut self, place: usize) -> &mut Machine {
        self.booth.machines.get_index_mut(place).expect("places come from the booth's own list").1
    }

    /// Asks about something at a machine.
    pub fn ask(
        &mut self,
        line: &Line,
        place: Option<usize>,
        what: impl Into<String>,
        settle: impl Into<String>,
    ) {
        let machine = place.and_then(|place| self.booth.machines.get_index(place)).map(|(id, _)| id);
        self.queries.ask(line.id, line.at, machine, what, settle);
    }

    /// Returns the role that somebody had when the words that stand were written.
    pub fn role_of(&self, line: &Line) -> Option<Role> {
        self.roles.at(line.said_by(), line.recorded)
    }

    fn stoppage(&mut self, line: &Line, place: Option<usize>, fact: &mut Stoppage) {
        if !(fact.dark_seconds.is_finite() && fact.dark_seconds.seconds() >= 0.0) {
            let what = format!("a stoppage cannot last {}; it is left out", fact.dark_seconds);
            self.ask(line, place, what, "correct the time for which the screen was dark");
            return;
        }
        if place.is_none() {
            self.ask_about_machine(line, fact.machine.as_ref());
        }
        if let Some(showing) = &fact.showing {
            self.mention_showing(line, place, showing);
        }
        self.booth.stoppages.push(StoppageRecord {
            at: line.at,
            showing: fact.showing.clone(),
            machine: fact.machine.clone(),
            dark: fact.dark_seconds,
            what: take(&mut fact.what),
            entry: line.id,
        });
    }

    fn noted(&mut self, line: &Line, fact: &mut Noted) {
        self.booth.notes.push(Note {
            at: line.at,
            about: fact.about.clone(),
            words: take(&mut fact.words),
            photos: take(&mut fact.photos),
            entry: line.id,
        });
    }

    fn unknown(&mut self, line: &Line, fact: &mut Unknown) {
        if let Some(trouble) = &fact.trouble {
            let what =
                format!("an entry of kind “{}” cannot be read: {trouble}; it is kept as written", fact.kind);
            self.ask(line, None, what, "correct or withdraw it");
            return;
        }
        let key = (take(&mut fact.kind), fact.version);
        self.unknown.entry(key).or_insert(((line.id, line.at), 0)).1 += 1;
    }

    /// Puts a machine into the booth, with its clocks where they stood at the very beginning.
    pub fn bring_in(&mut self, id: MachineId, machine: Machine, plan: ClockPlan, before: Clocks) {
        self.booth.machines.insert(id, machine);
        self.live.push(Live::new(plan, before));
    }
}
