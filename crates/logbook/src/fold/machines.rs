//! Machines coming and going, the booth's name, people and places, fitness and events.

use super::{apply::Folding, clock_plan::ClockPlan, line::Line, queries};
use crate::{
    When,
    booth::{Clocks, EventRecord, FitnessState, Machine, Map, Person, Place, ReadingRecord, Settings, Setup},
    fact::{
        BoothNamed, Fitness, FitnessSet, MachineAdded, MachineChanged, MachineEvent, MachineRetired,
        PersonAdded, PlaceAdded, Reading, Role, SetupKept,
    },
    ids::EntryId,
    rules,
};
use std::mem::take;
use units::Hours;

/// The machine as it enters, with nothing done yet.
pub(super) fn new_machine(at: When, entry: EntryId, fact: &MachineAdded) -> Machine {
    Machine {
        name: fact.name.clone(),
        machine_type: fact.machine_type.clone(),
        serial: fact.serial.clone(),
        place: fact.place.clone(),
        made_year: fact.made_year,
        settings: fact.settings.clone(),
        added: (at, entry),
        retired: None,
        clocks: Clocks::default(),
        hours_before_unknown: fact.hours_before.is_none() && fact.meter_hours.is_none(),
        meter: None,
        fitness: FitnessState { fitness: Fitness::Fit, why: String::new(), since: None },
        runs: Vec::new(),
        care: Map::default(),
        deferred: Map::default(),
        left_out: Map::default(),
        fitted: Map::default(),
        disturbed: Map::default(),
        readings: Vec::new(),
        events: Vec::new(),
    }
}

/// Where the clocks of a machine stood before everything that is written about it.
///
/// The hours before entry hold what was written for days before it; without them, the meter's figure is taken.
pub(super) fn clocks_before(fact: &MachineAdded, plan: &ClockPlan) -> Clocks {
    let said = fact.hours_before.or(fact.meter_hours).filter(|hours| rules::is_meter_figure(*hours));
    let showing = Hours::new((said.unwrap_or(Hours::ZERO).hours() - plan.film_before).max(0.0));
    Clocks {
        showing,
        estimated: if fact.hours_estimated { showing } else { Hours::ZERO },
        ..Clocks::default()
    }
}

impl Folding {
    /// A machine enters: it stands in the booth already, so here only its meter starts, or it comes back.
    pub fn machine_enters(&mut self, line: &Line, place: usize, fact: &mut MachineAdded) {
        let machine = self.machine(place);
        if machine.added.1 != line.id {
            if machine.retired.take().is_none() {
                self.ask(
                    line,
                    Some(place),
                    "this machine is in the booth already; the entry changes nothing",
                    "give the other machine a short name of its own, or withdraw this entry",
                );
                return;
            }
            machine.name = take(&mut fact.name);
            machine.machine_type = fact.machine_type.clone();
            machine.place.clone_from(&fact.place);
            self.live[place].has_left = false;
        }
        if fact.hours_before.is_some_and(|hours| !rules::is_meter_figure(hours)) {
            let what = "no machine has run so many hours before it came in; they are left out";
            self.ask(line, Some(place), what, "correct the hours that it had run before");
        }
        if let Some(figure) = fact.meter_hours {
            self.figure(line, place, figure, Some(figure));
        }
    }

    /// What is known of a machine changes.
    pub fn machine_changed(&mut self, place: usize, fact: &mut MachineChanged) {
        let machine = self.machine(place);
        if let Some(name) = fact.name.take() {
            machine.name = name;
        }
        if let Some(machine_type) = fact.machine_type.take() {
            machine.machine_type = machine_type;
        }
        if let Some(serial) = fact.serial.take() {
            machine.serial = serial;
        }
        if let Some(lives_at) = fact.place.take() {
            machine.place = Some(lives_at);
        }
    }

    /// A machine leaves for good.
    pub fn machine_retired(&mut self, line: &Line, place: usize, fact: &mut MachineRetired) {
        let why = take(&mut fact.why);
        self.live[place].has_left = true;
        self.machine(place).retired.get_or_insert((line.at, why));
    }

    /// Somebody decides whether a machine may be used.
    pub fn fitness_set(&mut self, line: &Line, place: usize, fact: &mut FitnessSet) {
        let lifts = fact.fitness != Fitness::Danger && self.machine(place).fitness.fitness == Fitness::Danger;
        if lifts && self.role_of(line) != Some(Role::Technician) {
            let what = format!(
                "“{}” is no technician and cannot release a machine from danger; it stays quarantined",
                queries::person(line.said_by())
            );
            self.ask(line, Some(place), what, "a qualified technician looks at it and writes the release");
            return;
        }
        self.machine(place).fitness =
            FitnessState { fitness: fact.fitness, why: take(&mut fact.why), since: Some((line.at, line.id)) };
    }

    /// Something happened that calls for care.
    pub fn machine_event(&mut self, line: &Line, place: usize, fact: &mut MachineEvent) {
        let event = EventRecord {
            at: line.at,
            event: take(&mut fact.event),
            note: take(&mut fact.note),
            entry: line.id,
        };
        self.machine(place).events.push(event);
    }

    /// A quantity was read.
    pub fn reading(&mut self, line: &Line, place: usize, fact: &mut Reading) {
        if !fact.value.is_finite() {
            let what = format!("the value of “{}” is not a number; it is left out", fact.quantity);
            self.ask(line, Some(place), what, "correct the value");
            return;
        }
        let clocks = self.clocks_at(place, line);
        self.machine(place).readings.push(ReadingRecord {
            at: line.at,
            clocks,
            quantity: fact.quantity.clone(),
            value: fact.value,
            unit: take(&mut fact.unit),
            uncertainty: fact.uncertainty.filter(|value| value.is_finite() && *value >= 0.0),
            slot: fact.slot.take(),
            method: take(&mut fact.method),
            conditions: take(&mut fact.conditions),
            recording: fact.recording.take(),
            baseline: fact.baseline,
            entry: line.id,
        });
    }

    /// The booth gets its name and customs.
    pub fn booth_named(&mut self, line: &Line, fact: &mut BoothNamed) {
        let known = jiff::tz::TimeZone::get(&fact.zone).is_ok();
        if !known {
            let what = format!("there is no time zone “{}”; the one before stays", fact.zone);
            self.ask(line, None, what, "correct it to a name of the IANA list, such as Europe/Lisbon");
        }
        let zone = if known { take(&mut fact.zone) } else { take(&mut self.booth.settings.zone) };
        self.booth.settings = Settings {
            name: take(&mut fact.name),
            zone,
            night_ends: fact.night_ends,
            units: fact.units,
            invented: fact.invented,
        };
    }

    /// Somebody writes here from now on.
    pub fn person_added(&mut self, line: &Line, fact: &mut PersonAdded) {
        let role = self.roles.at(&fact.person, i64::MAX).unwrap_or(Role::Operator);
        if self.roles.refused.contains(&line.id) {
            let what = format!(
                "“{}” may not make “{}” one who decides; the role stays as it was",
                queries::person(line.said_by()),
                queries::person(&fact.person)
            );
            self.ask(line, None, what, "the keeper writes who has which role");
        }
        let person = Person { name: take(&mut fact.name), role };
        self.booth.people.insert(fact.person.clone(), person);
    }

    /// A hall, booth or depot.
    pub fn place_added(&mut self, fact: &mut PlaceAdded) {
        let place = Place { name: take(&mut fact.name), notes: take(&mut fact.notes) };
        self.booth.places.insert(fact.place.clone(), place);
    }

    /// A hall's set-up is kept; the one before stays in the log.
    pub fn setup_kept(&mut self, line: &Line, fact: &mut SetupKept) {
        let (values, note) = (take(&mut fact.values), take(&mut fact.note));
        self.booth.setups.insert(fact.place.clone(), Setup { values, note, kept: (line.at, line.id) });
    }
}
