//! How long the questions take in a depot's booth: ten thousand machines, invented.
//!
//! `cargo run --release -p booth --example how_fast`

use jiff::{ToSpan, ZonedDateTime, civil::date};
use logbook::{
    Booth, Entry, EntryId, Fact, When,
    fact::{Assigned, CareDone, MachineAdded, Outcome, PartFitted, Ran, RunKind, ShowingPlanned},
    fold,
    ids::DeviceId,
};
use machine::{Library, shipped};
use std::time::{Duration, Instant};
use units::Hours;

const MACHINES: usize = 10_000;
const RUNS: usize = 40;
const SHOWINGS: usize = 20_000;

struct Log {
    entries: Vec<Entry>,
    next: u128,
}

impl Log {
    fn write(&mut self, at: &ZonedDateTime, fact: impl Into<Fact>) {
        self.next += 1;
        let when = When::from_zoned(at);
        self.entries.push(Entry {
            id: EntryId(uuid::Uuid::from_u128(self.next)),
            device: DeviceId(uuid::Uuid::nil()),
            happened: when,
            recorded: when,
            by: "keeper".into(),
            fact: fact.into(),
        });
    }
}

fn machine_name(number: usize) -> String {
    format!("machine-{number:05}")
}

fn depot(library: &Library, now: &ZonedDateTime) -> Booth {
    let mut log = Log { entries: Vec::new(), next: 0 };
    let kinds: Vec<_> = library.iter().collect();
    for number in 0..MACHINES {
        let kind = kinds[number % kinds.len()];
        write_machine(&mut log, number, kind, now);
    }
    for number in 0..SHOWINGS {
        let machine = number * 7 % MACHINES;
        let starts = now + (i64::try_from(number % 240).unwrap_or(0) * 6).hours();
        log.write(now, showing(number, machine, starts));
    }
    fold(log.entries).booth
}

fn write_machine(log: &mut Log, number: usize, kind: &machine::MachineType, now: &ZonedDateTime) {
    let name = machine_name(number);
    let day = |days: usize| now - i64::try_from(days).unwrap_or(0).days();
    log.write(&day(400), added(&name, kind));
    log.write(&day(390), lamp(&name));
    for run in 0..RUNS {
        log.write(&day(10 * run + number % 9), ran(&name));
    }
    for (place, task) in kind.care.iter().enumerate().filter(|(place, _)| place % 5 != 0) {
        log.write(&day((place * 37 + number) % 380), care(&name, task.id.as_str()));
    }
}

fn added(name: &str, kind: &machine::MachineType) -> MachineAdded {
    MachineAdded {
        machine: name.into(),
        name: name.to_owned(),
        machine_type: kind.id.as_str().into(),
        serial: String::new(),
        place: None,
        meter_hours: None,
        hours_before: Some(Hours::new(1000.0)),
        hours_estimated: false,
        made_year: None,
        settings: std::collections::BTreeMap::new(),
    }
}

fn lamp(name: &str) -> PartFitted {
    PartFitted {
        part: format!("lamp-of-{name}").as_str().into(),
        slot: "lamp".into(),
        machine: name.into(),
        age_hours: Some(Hours::ZERO),
        age_band_hours: None,
        age_days: Some(0),
        strikes: Some(0),
        lot: String::new(),
        replaces: None,
        item: None,
        note: String::new(),
    }
}

fn ran(name: &str) -> Ran {
    Ran {
        machine: name.into(),
        run: RunKind::Showing,
        hours: Hours::new(1.7),
        lit_hours: None,
        strikes: None,
        showing: None,
        print: None,
        passes: None,
        estimated: false,
    }
}

fn care(name: &str, task: &str) -> CareDone {
    CareDone {
        machine: name.into(),
        task: task.into(),
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

fn showing(number: usize, machine: usize, starts: ZonedDateTime) -> ShowingPlanned {
    let assigned = Assigned { machine: machine_name(machine).as_str().into(), running_hours: None };
    ShowingPlanned {
        showing: format!("showing-{number}").as_str().into(),
        title: "An invented programme".to_owned(),
        starts,
        length_minutes: 95.0,
        place: None,
        machines: vec![assigned],
        prints: Vec::new(),
        note: String::new(),
    }
}

/// The best of several tries: the machine may be busy with other things.
fn best<T>(tries: usize, question: impl Fn() -> T) -> Duration {
    let time = || {
        let begun = Instant::now();
        std::hint::black_box(question());
        begun.elapsed()
    };
    (0..tries).map(|_| time()).min().unwrap_or_default()
}

fn main() -> Result<(), jiff::Error> {
    let now = date(2026, 11, 25).at(16, 0, 0, 0).in_tz("Europe/Lisbon")?;
    let library = shipped();
    let begun = Instant::now();
    let booth = depot(&library, &now);
    println!(
        "{} machines, {} showings: folded in {:?}",
        booth.machines.len(),
        booth.showings.len(),
        begun.elapsed()
    );
    let n_items = booth::due(&booth, &library, &now).value.len();
    println!("one line of due: {} bytes, {n_items} lines", size_of::<booth::DueItem<'_>>());
    println!("due:         {:?}", best(9, || booth::due(&booth, &library, &now).value.len()));
    println!("machines:    {:?}", best(5, || booth::machines(&booth, &library, &now).value.len()));
    println!(
        "due for one: {:?}",
        best(9, || booth::due_for(&booth, &library, "machine-00007", &now).is_ok())
    );
    println!("due tonight: {:?}", best(9, || booth::due_tonight(&booth, &library, &now).value.len()));
    println!(
        "tonight:     {:?}",
        best(9, || booth::tonight(&booth, &library, &now).value.this_evening.len())
    );
    println!(
        "film path:   {:?}",
        best(9, || booth::film_path(&booth, &library, "machine-00007", &now).is_ok())
    );
    Ok(())
}
