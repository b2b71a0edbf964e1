//! A logbook that can be written in a few words, and questions asked of it.

use jiff::{Timestamp, ZonedDateTime, civil};
use logbook::{
    Booth, Draft, Entry, EntryId, Fact, Precision, When,
    fact::{
        Assigned, BoothNamed, CareDeferred, CareDone, Ending, FaultClosed, FaultOpened, Fitness, FitnessSet,
        MachineAdded, MachineEvent, MachineRetired, Outcome, PartFitted, PartMoved, PersonAdded,
        PreferredUnits, Ran, Reading, Replaced, Role, RunKind, ShowingCancelled, ShowingHeld, ShowingPlanned,
    },
    fold,
    ids::DeviceId,
};
use machine::Library;
use std::{collections::BTreeMap, sync::OnceLock};
use units::Hours;
use uuid::Uuid;

/// The zone of the invented booth; its clocks go back on 25 October 2026 and forward on 29 March 2026.
pub const ZONE: &str = "Europe/Lisbon";

/// The small invented machine type of these tests.
pub fn types() -> &'static Library {
    static TYPES: OnceLock<Library> = OnceLock::new();
    TYPES.get_or_init(|| {
        let read = machine::read("bench-16mm.toml", include_str!("bench-16mm.toml"));
        Library::of([read.unwrap_or_else(|report| panic!("{report}"))])
    })
}

/// A moment on the clock of the booth: `2026-03-07 19:30`.
pub fn at(text: &str) -> ZonedDateTime {
    let local: civil::DateTime = text.replace(' ', "T").parse().unwrap();
    local.in_tz(ZONE).unwrap()
}

/// A date.
pub fn day(text: &str) -> civil::Date {
    text.parse().unwrap()
}

/// A moment as the logbook keeps it.
pub fn when(text: &str) -> When {
    When::from_zoned(&at(text)).known_to(Precision::Minute)
}

/// The moment of an instant in UTC.
pub fn utc(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// A logbook being written.
pub struct Log {
    pub entries: Vec<Entry>,
    by: String,
}

impl Log {
    /// A fault of a machine, put in words and by its symptoms.
    pub fn fault_met(&mut self, at: &str, machine: &str, id: &str, symptoms: &[&str]) {
        self.write(
            at,
            logbook::fact::FaultOpened {
                fault: id.into(),
                machine: machine.into(),
                slot: None,
                words: "As it was met. More words.".into(),
                showing: None,
                symptoms: symptoms.iter().map(|symptom| (*symptom).into()).collect(),
                print_sort: None,
                print: None,
                show_running: false,
            },
        );
    }

    /// A booth with a keeper, an operator and a technician, and one machine, `turnstone`, in since 1 January 2026.
    pub fn new() -> Self {
        let mut log = Self { entries: Vec::new(), by: "wren".into() };
        log.write(
            "2026-01-01 09:00",
            BoothNamed {
                name: "An invented booth".into(),
                zone: ZONE.into(),
                night_ends: civil::time(5, 0, 0, 0),
                units: PreferredUnits::Metric,
                invented: true,
            },
        );
        for (person, role) in [("wren", Role::Keeper), ("reed", Role::Operator), ("tarn", Role::Technician)] {
            let fact = PersonAdded { person: person.into(), name: person.to_owned(), role };
            log.write("2026-01-01 09:00", fact);
        }
        log.machine("2026-01-01 09:00", "turnstone");
        log
    }

    pub fn write(&mut self, at: &str, fact: impl Into<Fact>) -> EntryId {
        let id = EntryId(Uuid::from_u128(self.entries.len() as u128 + 1));
        let happened = when(at);
        let (device, by) = (DeviceId(Uuid::nil()), self.by.as_str().into());
        self.entries.push(Entry { id, device, happened, recorded: happened, by, fact: fact.into() });
        id
    }

    pub fn by(&mut self, person: &str) -> &mut Self {
        person.clone_into(&mut self.by);
        self
    }

    pub fn machine(&mut self, at: &str, machine: &str) -> EntryId {
        self.machine_of(at, machine, "bench-16mm", Some(1000.0))
    }

    pub fn machine_of(&mut self, at: &str, machine: &str, kind: &str, hours_before: Option<f64>) -> EntryId {
        self.write(
            at,
            MachineAdded {
                machine: machine.into(),
                name: machine.to_owned(),
                machine_type: kind.into(),
                serial: String::new(),
                place: None,
                meter_hours: None,
                hours_before: hours_before.map(Hours::new),
                hours_estimated: false,
                made_year: None,
                settings: BTreeMap::new(),
            },
        )
    }

    pub fn retired(&mut self, at: &str, machine: &str) -> EntryId {
        self.write(at, MachineRetired { machine: machine.into(), why: "given away".into() })
    }

    pub fn ran(&mut self, at: &str, machine: &str, hours: f64) -> EntryId {
        self.ran_as(at, machine, RunKind::Showing, hours)
    }

    pub fn ran_as(&mut self, at: &str, machine: &str, run: RunKind, hours: f64) -> EntryId {
        self.write(
            at,
            Ran {
                machine: machine.into(),
                run,
                hours: Hours::new(hours),
                lit_hours: None,
                strikes: None,
                showing: None,
                print: None,
                passes: None,
                estimated: false,
            },
        )
    }

    /// Runs of so many hours each, one every day from a day on.
    pub fn ran_daily(&mut self, from: &str, days: i32, machine: &str, hours: f64) {
        for n in 0..days {
            let date = booth::Day::on(day(from)).plus(n).date();
            self.ran(&format!("{date} 20:00"), machine, hours);
        }
    }

    pub fn did(&mut self, at: &str, machine: &str, task: &str) -> EntryId {
        self.found(at, machine, task, None, Outcome::Done)
    }

    pub fn found(
        &mut self,
        at: &str,
        machine: &str,
        task: &str,
        slot: Option<&str>,
        outcome: Outcome,
    ) -> EntryId {
        self.write(at, care(machine, task, slot, outcome))
    }

    pub fn put_off(
        &mut self,
        at: &str,
        machine: &str,
        task: &str,
        hours: Option<f64>,
        date: Option<&str>,
    ) -> EntryId {
        self.write(at, deferral(machine, task, hours, date))
    }

    pub fn fitted(&mut self, at: &str, machine: &str, slot: &str, part: &str, age: Option<f64>) -> EntryId {
        self.write(at, fitting(machine, slot, part, age, None))
    }

    pub fn replaced(&mut self, at: &str, machine: &str, slot: &str, part: &str, why: Ending) -> EntryId {
        self.write(at, fitting(machine, slot, part, Some(0.0), Some(Replaced { part: None, why })))
    }

    pub fn moved(&mut self, at: &str, part: &str, machine: &str, slot: &str) -> EntryId {
        let fact = PartMoved {
            part: part.into(),
            machine: machine.into(),
            slot: slot.into(),
            why: Ending::Borrowed,
            replaces: None,
        };
        self.write(at, fact)
    }

    pub fn planned(&mut self, showing: &str, starts: &str, minutes: f64, machines: &[&str]) -> EntryId {
        let assigned = |machine: &&str| Assigned { machine: (*machine).into(), running_hours: None };
        self.write(
            "2026-01-01 10:00",
            ShowingPlanned {
                showing: showing.into(),
                title: format!("Programme {showing}"),
                starts: at(starts),
                length_minutes: minutes,
                place: None,
                machines: machines.iter().map(assigned).collect(),
                prints: Vec::new(),
                note: String::new(),
            },
        )
    }

    pub fn held(&mut self, at: &str, showing: &str, lasted_minutes: f64) -> EntryId {
        let note = String::new();
        self.write(at, ShowingHeld { showing: showing.into(), lasted_minutes, audience: None, note })
    }

    pub fn cancelled(&mut self, at: &str, showing: &str) -> EntryId {
        self.write(at, ShowingCancelled { showing: showing.into(), why: "storm".into() })
    }

    pub fn event(&mut self, at: &str, machine: &str, event: &str) -> EntryId {
        self.write(at, MachineEvent { machine: machine.into(), event: event.into(), note: String::new() })
    }

    pub fn fitness(&mut self, at: &str, machine: &str, fitness: Fitness, why: &str) -> EntryId {
        self.write(at, FitnessSet { machine: machine.into(), fitness, why: why.into() })
    }

    pub fn fault(&mut self, at: &str, fault: &str, machine: &str, slot: Option<&str>) -> EntryId {
        self.write(
            at,
            FaultOpened {
                fault: fault.into(),
                machine: machine.into(),
                slot: slot.map(Into::into),
                words: "ticks in reel 2".into(),
                showing: None,
                symptoms: Vec::new(),
                print_sort: None,
                print: None,
                show_running: false,
            },
        )
    }

    pub fn fault_closed(&mut self, at: &str, fault: &str) -> EntryId {
        self.write(
            at,
            FaultClosed {
                fault: fault.into(),
                cause: "dry roller".into(),
                cure: "oiled".into(),
                cause_id: None,
                remedy_id: None,
            },
        )
    }

    pub fn read(
        &mut self,
        at: &str,
        machine: &str,
        quantity: &str,
        value: f64,
        unit: &str,
        baseline: bool,
    ) -> EntryId {
        self.write(at, reading(machine, quantity, value, unit, baseline))
    }

    pub fn fold(&self) -> Booth {
        fold(self.entries.clone()).booth
    }
}

pub fn care(machine: &str, task: &str, slot: Option<&str>, outcome: Outcome) -> CareDone {
    CareDone {
        machine: machine.into(),
        task: task.into(),
        slot: slot.map(Into::into),
        outcome,
        note: String::new(),
        minutes: None,
        includes: Vec::new(),
        used: Vec::new(),
        photos: Vec::new(),
        walk: String::new(),
    }
}

pub fn deferral(machine: &str, task: &str, hours: Option<f64>, date: Option<&str>) -> CareDeferred {
    CareDeferred {
        machine: machine.into(),
        task: task.into(),
        slot: None,
        why: "no oil left".into(),
        until_hours_run: hours.map(Hours::new),
        until_date: date.map(day),
    }
}

pub fn fitting(
    machine: &str,
    slot: &str,
    part: &str,
    age: Option<f64>,
    replaces: Option<Replaced>,
) -> PartFitted {
    PartFitted {
        part: part.into(),
        slot: slot.into(),
        machine: machine.into(),
        age_hours: age.map(Hours::new),
        age_band_hours: None,
        age_days: None,
        strikes: None,
        lot: String::new(),
        replaces,
        item: None,
        note: String::new(),
    }
}

pub fn reading(machine: &str, quantity: &str, value: f64, unit: &str, baseline: bool) -> Reading {
    Reading {
        machine: machine.into(),
        quantity: quantity.into(),
        value,
        unit: unit.into(),
        uncertainty: None,
        slot: None,
        method: String::new(),
        conditions: BTreeMap::new(),
        recording: None,
        baseline,
    }
}

/// A draft by somebody, to be judged by the gate.
pub fn draft(by: &str, at: &str, fact: impl Into<Fact>) -> Draft {
    let (id, device) = (EntryId(Uuid::from_u128(u128::MAX)), DeviceId(Uuid::nil()));
    Draft { id, device, happened: when(at), by: by.into(), fact: fact.into() }
}

/// The line of one task of `turnstone`.
pub fn item<'a>(booth: &'a Booth, task: &str, now: &str) -> booth::DueItem<'a> {
    item_of(booth, "turnstone", task, now)
}

/// The line of one task of a machine.
pub fn item_of<'a>(booth: &'a Booth, machine: &str, task: &str, now: &str) -> booth::DueItem<'a> {
    maybe_item(booth, machine, task, now).unwrap_or_else(|| panic!("{task} is not on the list of {machine}"))
}

/// The line of one task of a machine, if it is on the list.
pub fn maybe_item<'a>(booth: &'a Booth, machine: &str, task: &str, now: &str) -> Option<booth::DueItem<'a>> {
    let items = booth::due_for(booth, types(), machine, &at(now)).unwrap().value;
    items.into_iter().find(|item| item.task.id.as_str() == task)
}

/// Whether two figures agree but for rounding.
pub fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}
