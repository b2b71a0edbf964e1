//! A large depot's logbook, invented, for measuring: many machines, one entry each in turn.

use crate::dice::{Dice, Stream, rounded};
use jiff::civil::{Date, time};
use jiff::tz::TimeZone;
use logbook::fact::{
    Assigned, BoothNamed, CareDone, Corrects, Ending, MachineAdded, MeterRead, Noted, Outcome, PartFitted,
    PersonAdded, PreferredUnits, Ran, Reading, Replaced, Role, RunKind, ShowingPlanned, Withdraws,
};
use logbook::ids::{QuantityId, SlotId, TaskId, TypeId};
use logbook::{DeviceId, Entry, EntryId, Fact, MachineId, PersonId, Precision, When};
use machine::MachineType;
use std::collections::BTreeMap;
use units::Hours;
use uuid::Builder;

/// How far back the depot's logbook goes.
const DAYS: i64 = 730;
const PEOPLE: usize = 20;
const DEVICES: usize = 8;
/// Slots whose parts are changed often enough to matter, with the age at which they went in.
const SLOTS: [&str; 3] =
    [crate::names::slot::LAMP, crate::names::slot::EXCITER, crate::names::slot::TAKE_UP_BELT];

/// Makes a depot's logbook of so many machines and entries, in the order of writing, ending before `today`.
///
/// Of every hundred entries about 45 are runs, 35 care, 8 meter readings, 6 other readings, 3 parts fitted; the rest are
/// the diary, notes, corrections and withdrawals. The first entries name the booth, its people and the machines, so
/// `entries` should be several times `machines`. The same arguments give the same entries.
pub fn big_log(machines: usize, entries: usize, today: Date, seed: u64) -> impl Iterator<Item = Entry> {
    Depot::new(machines.max(1), entries, today, seed).take(entries)
}

/// What has been written about one machine so far.
#[derive(Default)]
struct Story {
    motor_h: f64,
    fitted: [u16; SLOTS.len()],
    last_run: Option<(EntryId, f64)>,
    last_care: Option<EntryId>,
}

struct Depot {
    dice: Dice,
    start_ms: i64,
    step_ms: f64,
    written: usize,
    showings: usize,
    machines: Vec<(MachineId, Story)>,
    kind: TypeId,
    tasks: Vec<TaskId>,
    quantities: Vec<(QuantityId, String, f64)>,
    slots: [SlotId; SLOTS.len()],
    people: Vec<PersonId>,
    devices: Vec<DeviceId>,
    zone: TimeZone,
}

impl Depot {
    fn new(machines: usize, entries: usize, today: Date, seed: u64) -> Self {
        let mut dice = Dice::new(seed, Stream::Depot);
        let library = machine::shipped();
        let kind = library.iter().next().expect("types are shipped");
        let midnight = today.to_datetime(time(0, 0, 0, 0)).to_zoned_datetime(TimeZone::UTC);
        let midnight_ms = midnight.expect("the log lies within the calendar").timestamp().as_millisecond();
        let span_ms = DAYS * 86_400_000;
        Self {
            start_ms: midnight_ms - span_ms,
            // An hour stays free before midnight, for runs that began late in the evening.
            step_ms: (span_ms - 3_600_000) as f64 / entries.max(1) as f64,
            written: 0,
            showings: 0,
            machines: (0..machines).map(|n| (MachineId::new(format!("m{n:05}")), Story::default())).collect(),
            kind: kind.id.as_str().into(),
            tasks: tasks(kind),
            quantities: quantities(kind),
            slots: SLOTS.map(SlotId::new),
            people: (0..PEOPLE).map(|n| PersonId::new(format!("p{n:02}"))).collect(),
            devices: (0..DEVICES)
                .map(|_| DeviceId(Builder::from_random_bytes(dice.bytes()).into_uuid()))
                .collect(),
            zone: TimeZone::UTC,
            dice,
        }
    }

    /// What the first entries say, one after the other.
    fn opening(&mut self) -> Option<Fact> {
        let n = self.written;
        if n == 0 {
            return Some(booth_named().into());
        }
        if let Some(person) = self.people.get(n - 1) {
            let name = format!("Hand {n}");
            return Some(PersonAdded { person: person.clone(), name, role: Role::Operator }.into());
        }
        let (machine, _) = self.machines.get(n - 1 - PEOPLE)?;
        Some(added(machine.clone(), self.kind.clone(), &mut self.dice).into())
    }

    /// What is said next about the machine whose turn it is.
    fn next_fact(&mut self, now_ms: i64, id: EntryId) -> Fact {
        let turn = (self.written - 1 - PEOPLE) % self.machines.len();
        let (machine, story) = &mut self.machines[turn];
        let machine = machine.clone();
        match self.dice.below(200) {
            0..90 => ran(machine, story, id, &mut self.dice).into(),
            90..160 => {
                story.last_care = Some(id);
                care(machine, self.dice.pick(&self.tasks).clone()).into()
            }
            160..176 => MeterRead { machine, reading_hours: Hours::new(rounded(story.motor_h, 1)) }.into(),
            176..188 => reading(machine, self.dice.pick(&self.quantities).clone(), &mut self.dice).into(),
            188..194 => fitted(machine, story, &self.slots, &mut self.dice).into(),
            194..197 => {
                self.showings += 1;
                planned(machine, self.showings, now_ms, &self.zone, &mut self.dice).into()
            }
            197 => corrected(machine, story),
            198 => withdrawn(machine, story),
            _ => noted(machine),
        }
    }
}

impl Iterator for Depot {
    type Item = Entry;

    fn next(&mut self) -> Option<Entry> {
        let now_ms = self.start_ms + (self.step_ms * self.written as f64) as i64;
        let random = self.dice.bytes();
        let id = EntryId(Builder::from_unix_timestamp_millis(now_ms as u64, &random).into_uuid());
        let fact = self.opening().unwrap_or_else(|| self.next_fact(now_ms, id));
        // People write within ten minutes of what they did.
        let happened = now_ms - self.dice.whole(0, 10) * 60_000;
        let when = |unix_ms, precision| When { unix_ms, offset_s: 0, precision };
        let opening = self.written <= PEOPLE + self.machines.len();
        let entry = Entry {
            id,
            device: self.devices[self.written % DEVICES],
            happened: when(if opening { now_ms } else { happened }, Precision::Minute),
            recorded: when(now_ms, Precision::Second),
            by: self.people[self.written % PEOPLE].clone(),
            fact,
        };
        self.written += 1;
        Some(entry)
    }
}

fn tasks(kind: &MachineType) -> Vec<TaskId> {
    kind.care.iter().filter(|task| task.every.is_some()).map(|task| task.id.as_str().into()).collect()
}

/// Quantities with their units and a middling value.
fn quantities(kind: &MachineType) -> Vec<(QuantityId, String, f64)> {
    let middling = |limit: &machine::ReadingLimit| limit.good.high.or(limit.good.low).unwrap_or(1.0);
    let of = |limit: &machine::ReadingLimit| {
        (limit.quantity.as_str().into(), limit.unit.as_str().to_owned(), middling(limit))
    };
    kind.limits.iter().map(of).collect()
}

fn booth_named() -> BoothNamed {
    BoothNamed {
        name: "Invented depot".to_owned(),
        zone: "UTC".to_owned(),
        night_ends: time(5, 0, 0, 0),
        units: PreferredUnits::Metric,
        invented: true,
    }
}

fn added(machine: MachineId, kind: TypeId, dice: &mut Dice) -> MachineAdded {
    MachineAdded {
        name: format!("Machine {machine}"),
        machine,
        machine_type: kind,
        serial: String::new(),
        place: None,
        meter_hours: Some(Hours::ZERO),
        hours_before: Some(Hours::new(rounded(dice.between(0.0, 4000.0), 0))),
        hours_estimated: false,
        made_year: None,
        settings: BTreeMap::new(),
    }
}

fn ran(machine: MachineId, story: &mut Story, id: EntryId, dice: &mut Dice) -> Ran {
    let hours = rounded(dice.between(0.5, 2.4), 2);
    story.motor_h += hours;
    story.last_run = Some((id, hours));
    run_of(machine, if dice.chance(0.85) { RunKind::Showing } else { RunKind::Rehearsal }, hours)
}

fn run_of(machine: MachineId, run: RunKind, hours: f64) -> Ran {
    Ran {
        machine,
        run,
        hours: Hours::new(hours),
        lit_hours: None,
        strikes: None,
        showing: None,
        print: None,
        passes: None,
        estimated: false,
    }
}

fn care(machine: MachineId, task: TaskId) -> CareDone {
    CareDone {
        machine,
        task,
        slot: None,
        outcome: Outcome::Done,
        note: String::new(),
        minutes: None,
        includes: Vec::new(),
        used: Vec::new(),
        photos: Vec::new(),
        walk: String::new(),
    }
}

fn reading(
    machine: MachineId,
    (quantity, unit, middling): (QuantityId, String, f64),
    dice: &mut Dice,
) -> Reading {
    Reading {
        machine,
        quantity,
        value: rounded(middling * dice.between(0.8, 1.2), 2),
        unit,
        uncertainty: None,
        slot: None,
        method: String::new(),
        conditions: BTreeMap::new(),
        recording: None,
        baseline: false,
    }
}

fn fitted(
    machine: MachineId,
    story: &mut Story,
    slots: &[SlotId; SLOTS.len()],
    dice: &mut Dice,
) -> PartFitted {
    let n = dice.below(3) as usize;
    let is_first = story.fitted[n] == 0;
    story.fitted[n] += 1;
    let why = if dice.chance(0.5) { Ending::Planned } else { Ending::Failed };
    PartFitted {
        part: format!("{machine}-{}-{}", slots[n], story.fitted[n]).as_str().into(),
        slot: slots[n].clone(),
        machine,
        age_hours: Some(Hours::ZERO),
        age_band_hours: None,
        age_days: Some(0),
        strikes: None,
        lot: String::new(),
        replaces: (!is_first).then_some(Replaced { part: None, why }),
        item: None,
        note: String::new(),
    }
}

fn planned(machine: MachineId, n: usize, now_ms: i64, zone: &TimeZone, dice: &mut Dice) -> ShowingPlanned {
    let at = now_ms + dice.whole(2, 40) * 86_400_000;
    let at = jiff::Timestamp::from_millisecond(at).expect("the log lies within the calendar");
    ShowingPlanned {
        showing: format!("s{n:06}").as_str().into(),
        title: format!("Programme {n}"),
        starts: at.to_zoned_datetime(zone.clone()),
        length_minutes: rounded(dice.between(70.0, 140.0), 0),
        place: None,
        machines: vec![Assigned { machine, running_hours: None }],
        prints: Vec::new(),
        note: String::new(),
    }
}

/// The last run was a little longer or shorter than was written.
fn corrected(machine: MachineId, story: &mut Story) -> Fact {
    let Some((entry, hours)) = story.last_run.take() else { return noted(machine) };
    let right = rounded(hours * 1.05, 2);
    story.motor_h += right - hours;
    let with = Box::new(run_of(machine, RunKind::Showing, right).into());
    Fact::Corrects(Corrects { entry, with, happened: None, why: "Read from the reel card again.".to_owned() })
}

fn withdrawn(machine: MachineId, story: &mut Story) -> Fact {
    let Some(entry) = story.last_care.take() else { return noted(machine) };
    Withdraws { entry, why: "Ticked on the wrong line.".to_owned() }.into()
}

fn noted(machine: MachineId) -> Fact {
    let about = Some(logbook::fact::About::Machine(machine));
    Noted { about, words: "Seen, nothing to say.".to_owned(), photos: Vec::new() }.into()
}
