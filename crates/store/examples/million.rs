//! Measures a logbook of a million entries: `cargo run --release -p store --example million -- FOLDER [ENTRIES]`.
//!
//! Writes an invented logbook into the folder if it is empty, then prints how long each deed took.
#![allow(clippy::unwrap_used)]

use logbook::{
    DeviceId, Entry, EntryId, Fact, MachineId, PersonId, When,
    fact::{CareDone, MeterRead, Noted, Outcome, PartFitted, Ran, Reading, RunKind},
};
use std::{error::Error, ops::ControlFlow, time::Instant};
use store::{EntryStore, Filter, SqliteStore};
use units::Hours;

const MACHINES: u64 = 10_000;
const BATCH: usize = 100_000;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = arguments.next().ok_or("name a folder")?;
    let n_entries: u64 = arguments.next().map_or(Ok(1_000_000), |text| text.parse())?;
    let store = SqliteStore::open(&folder)?;
    if store.head()?.count == 0 {
        fill(&store, n_entries)?;
    }
    for _ in 0..3 {
        measure(&store)?;
    }
    Ok(())
}

fn fill(store: &SqliteStore, n_entries: u64) -> Result<(), Box<dyn Error>> {
    let device = store.device();
    let entries: Vec<_> = (0..n_entries).map(|number| entry(number, device)).collect();
    timed("append", || entries.chunks(BATCH).try_for_each(|batch| store.append(batch).map(drop)))?;
    Ok(())
}

fn measure(store: &SqliteStore) -> Result<(), Box<dyn Error>> {
    let n_read = timed("entries", || store.entries().map(|entries| entries.len()))?;
    println!("  {n_read} entries of {} bytes", size_of::<Entry>());
    let verification = timed("verify", || store.verify())?;
    println!("  {} findings", verification.findings.len());
    timed("each_record", || store.each_record(&mut |_| ControlFlow::Continue(())))?;
    timed("head", || store.head())?;
    timed("page", || store.page(None, 50, &Filter::default()))?;
    let machine = Filter { machine: Some(MachineId::new("machine-4711")), ..Filter::default() };
    timed("page of a machine", || store.page(None, 50, &machine))?;
    let words = Filter { words: "never written".to_owned(), ..Filter::default() };
    timed("page of words that are nowhere", || store.page(None, 50, &words))?;
    Ok(())
}

fn timed<T, E>(what: &str, deed: impl FnOnce() -> Result<T, E>) -> Result<T, E> {
    let began = Instant::now();
    let done = deed()?;
    println!("{what}: {:.1} ms", began.elapsed().as_secs_f64() * 1e3);
    Ok(done)
}

/// An invented entry of the kinds that booths write most.
fn entry(number: u64, device: DeviceId) -> Entry {
    // An hour of every machine's life is a step of about one entry for each machine.
    let unix_ms = 1_700_000_000_000 + number.cast_signed() * 3_600;
    let when = When { unix_ms, offset_s: 3_600, precision: logbook::Precision::Minute };
    Entry {
        id: id(number, unix_ms),
        device,
        happened: when,
        recorded: When { unix_ms: unix_ms + 90_000, ..when },
        by: PersonId::new(["ines", "tomas", "wren"][number as usize % 3]),
        fact: fact(number),
    }
}

/// A UUIDv7 without chance.
fn id(number: u64, unix_ms: i64) -> EntryId {
    let mixed = number.wrapping_mul(0x9E37_79B9_7F4A_7C15).to_be_bytes();
    let mut random = [0; 10];
    random[..8].copy_from_slice(&mixed);
    EntryId(uuid::Builder::from_unix_timestamp_millis(unix_ms.unsigned_abs(), &random).into_uuid())
}

fn fact(number: u64) -> Fact {
    let machine = MachineId::new(format!("machine-{:04}", number.wrapping_mul(7) % MACHINES));
    match number % 20 {
        0..8 => Fact::Ran(Ran {
            machine,
            run: RunKind::Showing,
            hours: Hours::new(1.0 + (number % 97) as f64 / 50.0),
            lit_hours: None,
            strikes: None,
            showing: Some(format!("showing-{number}").as_str().into()),
            print: None,
            passes: None,
            estimated: false,
        }),
        8..13 => Fact::CareDone(CareDone {
            machine,
            task: ["gate-brush", "sprocket-clean", "sound-drum-wipe"][number as usize % 3].into(),
            slot: None,
            outcome: Outcome::Done,
            note: String::new(),
            minutes: Some(4.0),
            includes: vec![],
            used: vec![],
            photos: vec![],
            walk: String::new(),
        }),
        13..16 => Fact::MeterRead(MeterRead { machine, reading_hours: Hours::new(number as f64 / 1_000.0) }),
        16..18 => Fact::Reading(Reading {
            machine,
            quantity: "flutter-weighted".into(),
            value: 0.1 + (number % 31) as f64 / 100.0,
            unit: "%".to_owned(),
            uncertainty: Some(0.02),
            slot: None,
            method: String::new(),
            conditions: std::collections::BTreeMap::new(),
            recording: None,
            baseline: false,
        }),
        18 => Fact::PartFitted(PartFitted {
            part: format!("lamp-{number}").as_str().into(),
            slot: "exciter-lamp".into(),
            machine,
            age_hours: Some(Hours::new(0.0)),
            age_band_hours: None,
            age_days: None,
            strikes: None,
            lot: String::new(),
            replaces: Some(logbook::fact::Replaced { part: None, why: logbook::fact::Ending::Planned }),
            item: None,
            note: String::new(),
        }),
        _ => Fact::Noted(Noted {
            about: Some(logbook::fact::About::Machine(machine)),
            words: "Loop formed a little large, trimmed before the second reel".to_owned(),
            photos: vec![],
        }),
    }
}
