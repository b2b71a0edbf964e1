//! A small logbook to write in: each line gets its id, its device and its moment.

use jiff::civil::Date;
use logbook::{
    Booth, DeviceId, Entry, EntryId, Fact, Folded, Precision, When,
    booth::{Machine, PartLife},
    fact::*,
    fold,
    ids::*,
};
use std::collections::BTreeMap;
use units::Hours;

/// Entries in the order in which they were written, by one device.
#[derive(Clone, Default)]
pub struct Log {
    pub entries: Vec<Entry>,
    written: i64,
}

/// The first day of every log here, at noon UTC.
pub const DAY_0: i64 = 1_767_268_800_000;

/// The moment so many hours after noon of the first day.
pub fn after(hours: f64) -> When {
    When { unix_ms: DAY_0 + (hours * 3_600_000.0) as i64, offset_s: 0, precision: Precision::default() }
}

pub fn id(number: u128) -> EntryId {
    EntryId(uuid::Uuid::from_u128(number))
}

pub fn h(hours: f64) -> Hours {
    Hours::new(hours)
}

/// One line for each entry, so that a failing log can be read.
impl std::fmt::Debug for Log {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for entry in &self.entries {
            let hours = after(0.0).hours_until(entry.happened);
            writeln!(f, "{} {hours} {} {:?}", entry.id.0.as_u128(), entry.by, entry.fact)?;
        }
        Ok(())
    }
}

impl Log {
    /// Writes a fact that happened so many hours after noon of the first day; returns its id.
    pub fn at(&mut self, hours: f64, fact: impl Into<Fact>) -> EntryId {
        self.by("ada", hours, fact)
    }

    /// The same, written by somebody.
    pub fn by(&mut self, person: &str, hours: f64, fact: impl Into<Fact>) -> EntryId {
        self.written += 1;
        let happened = after(hours);
        let recorded = When { unix_ms: DAY_0 + 40_000 * 3_600_000 + self.written, ..happened };
        let entry = Entry {
            id: id(self.written as u128),
            device: DeviceId(uuid::Uuid::from_u128(7)),
            happened,
            recorded,
            by: person.into(),
            fact: fact.into(),
        };
        self.entries.push(entry);
        id(self.written as u128)
    }

    pub fn fold(&self) -> Folded {
        fold(self.entries.clone())
    }

    pub fn booth(&self) -> Booth {
        self.fold().booth
    }

    /// Folds, and returns the one machine that most cases are about.
    pub fn turnstone(&self) -> Machine {
        self.booth().machines["turnstone"].clone()
    }

    pub fn part(&self, part: &str) -> PartLife {
        self.booth().parts[part].clone()
    }

    /// What is asked, in order of time.
    pub fn asked(&self) -> Vec<String> {
        self.booth().queries.into_iter().map(|query| query.what).collect()
    }
}

/// What is asked of a log in which everything adds up.
pub const NOTHING: [&str; 0] = [];

/// Checks hours to a hundredth of a second: sums of decimal fractions are not exact in binary.
#[track_caller]
pub fn is(hours: Hours, expected: f64) {
    assert!((hours.hours() - expected).abs() < 3e-6, "{hours} is not {expected} h");
}

/// A log with one machine, entered at the start.
pub fn with_turnstone() -> Log {
    let mut log = Log::default();
    log.at(0.0, machine("turnstone"));
    log
}

pub fn machine(name: &str) -> MachineAdded {
    MachineAdded {
        machine: name.into(),
        name: name.to_owned(),
        machine_type: "portable".into(),
        serial: String::new(),
        place: None,
        meter_hours: None,
        hours_before: Some(h(0.0)),
        hours_estimated: false,
        made_year: None,
        settings: BTreeMap::default(),
    }
}

pub fn ran(machine: &str, run: RunKind, hours: f64) -> Ran {
    Ran {
        machine: machine.into(),
        run,
        hours: h(hours),
        lit_hours: None,
        strikes: None,
        showing: None,
        print: None,
        passes: None,
        estimated: false,
    }
}

/// A showing's worth of running on the one machine.
pub fn showed(hours: f64) -> Ran {
    ran("turnstone", RunKind::Showing, hours)
}

pub fn meter(reading: f64) -> MeterRead {
    MeterRead { machine: "turnstone".into(), reading_hours: h(reading) }
}

pub fn meter_jump(why: MeterChange, old: Option<f64>, new: f64) -> MeterReplaced {
    MeterReplaced {
        machine: "turnstone".into(),
        why,
        old_reading_hours: old.map(h),
        new_reading_hours: h(new),
    }
}

pub fn fitted(part: &str, slot: &str) -> PartFitted {
    PartFitted {
        part: part.into(),
        slot: slot.into(),
        machine: "turnstone".into(),
        age_hours: Some(h(0.0)),
        age_band_hours: None,
        age_days: None,
        strikes: None,
        lot: String::new(),
        replaces: None,
        item: None,
        note: String::new(),
    }
}

pub fn replacing(part: &str, slot: &str, why: Ending) -> PartFitted {
    PartFitted { replaces: Some(Replaced { part: None, why }), ..fitted(part, slot) }
}

pub fn moved(part: &str, machine: &str, slot: &str) -> PartMoved {
    PartMoved {
        part: part.into(),
        machine: machine.into(),
        slot: slot.into(),
        why: Ending::Borrowed,
        replaces: None,
    }
}

pub fn cared(task: &str, outcome: Outcome) -> CareDone {
    CareDone {
        machine: "turnstone".into(),
        task: task.into(),
        slot: None,
        outcome,
        note: String::new(),
        minutes: None,
        includes: Vec::new(),
        used: Vec::new(),
        photos: Vec::new(),
        walk: String::new(),
    }
}

pub fn deferred(task: &str, until_hours_run: Option<f64>, until_date: Option<Date>) -> CareDeferred {
    CareDeferred {
        machine: "turnstone".into(),
        task: task.into(),
        slot: None,
        why: "no time before the doors open".to_owned(),
        until_hours_run: until_hours_run.map(h),
        until_date,
    }
}

pub fn showing(name: &str, starts: &str, minutes: f64) -> ShowingPlanned {
    ShowingPlanned {
        showing: name.into(),
        title: name.to_owned(),
        starts: starts.parse().unwrap(),
        length_minutes: minutes,
        place: None,
        machines: vec![Assigned { machine: "turnstone".into(), running_hours: None }],
        prints: Vec::new(),
        note: String::new(),
    }
}

pub fn fit(fitness: Fitness) -> FitnessSet {
    FitnessSet { machine: "turnstone".into(), fitness, why: "seen".to_owned() }
}

pub fn person(name: &str, role: Role) -> PersonAdded {
    PersonAdded { person: name.into(), name: name.to_owned(), role }
}

pub fn care_point(task: &str) -> CarePointId {
    CarePointId { task: task.into(), slot: None }
}

pub fn corrects(entry: EntryId, with: impl Into<Fact>) -> Fact {
    Fact::Corrects(Corrects { entry, with: Box::new(with.into()), happened: None, why: "misread".to_owned() })
}

pub fn withdraws(entry: EntryId) -> Withdraws {
    Withdraws { entry, why: "written for the wrong machine".to_owned() }
}

pub fn print(name: &str) -> PrintAdded {
    PrintAdded {
        standing: None,
        made_year: None,
        print: name.into(),
        title: name.to_owned(),
        gauge: "16mm".to_owned(),
        reels: vec![Reel { reel: 1, length_m: units::Metres::new(30.0) }],
        lender: String::new(),
        note: String::new(),
    }
}

pub fn counted(item: &str, count: u32) -> StockCounted {
    StockCounted {
        item: item.into(),
        count,
        name: None,
        slot: None,
        kept_in: None,
        minimum: None,
        only_in: None,
    }
}

pub fn opened(fault: &str) -> FaultOpened {
    FaultOpened {
        fault: fault.into(),
        machine: "turnstone".into(),
        slot: None,
        words: "ticks in reel 2".to_owned(),
        showing: None,
        symptoms: Vec::new(),
        print_sort: None,
        print: None,
        show_running: false,
    }
}

pub fn closed(fault: &str) -> FaultClosed {
    FaultClosed {
        fault: fault.into(),
        cause: "worn roller".to_owned(),
        cure: "new roller".to_owned(),
        cause_id: None,
        remedy_id: None,
    }
}

pub fn answered(fault: &str, which: &str, answer: FaultReply) -> FaultAnswered {
    FaultAnswered {
        fault: fault.into(),
        asked: Asked::Check,
        which: which.into(),
        answer,
        quantity: None,
        value: None,
        unit: String::new(),
        minutes: None,
        note: String::new(),
    }
}

pub fn tried(fault: &str, remedy: &str, result: RemedyResult, used: &[(&str, u32)]) -> FaultTried {
    FaultTried {
        fault: fault.into(),
        remedy: remedy.into(),
        result,
        minutes: Some(3.0),
        used: used.iter().map(|(item, count)| Used { item: (*item).into(), count: *count }).collect(),
        note: String::new(),
    }
}

pub fn marked(fault: &str, mark: FaultMark) -> FaultMarked {
    FaultMarked { fault: fault.into(), mark, to: None, note: String::new() }
}

pub fn request(fault: &str) -> RepairRequested {
    RepairRequested {
        fault: fault.into(),
        to: "a qualified technician".to_owned(),
        words: "please look at the amplifier".to_owned(),
        about: Vec::new(),
        symptoms: vec!["no sound".to_owned()],
        tried: Vec::new(),
        not_tried: Vec::new(),
        likely: vec!["the amplifier".to_owned()],
        unlikely: Vec::new(),
        ruled_out: Vec::new(),
        readings: Vec::new(),
    }
}
