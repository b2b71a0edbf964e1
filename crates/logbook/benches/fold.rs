//! How long a million entries over ten thousand machines take to put in order and fold, on one core.
#![allow(missing_docs, clippy::unwrap_used, reason = "a benchmark, not a library")]

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use logbook::{
    DeviceId, Entry, EntryId, Fact, When,
    fact::{CareDone, Ending, MachineAdded, MeterRead, Outcome, PartFitted, Ran, Reading, Replaced, RunKind},
    fold,
};
use std::hint::black_box;
use units::Hours;

const MACHINES: u64 = 10_000;
const ENTRIES: u64 = 1_000_000;
const MINUTE_MS: i64 = 60_000;

/// The next number of a fixed sequence (the SplitMix64 step), so that every run folds the same log.
fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn entry(number: u64, at_ms: i64, fact: impl Into<Fact>) -> Entry {
    let happened = When { unix_ms: at_ms, offset_s: 0, precision: logbook::Precision::Minute };
    Entry {
        id: EntryId(uuid::Uuid::from_u128(u128::from(number) + (1 << 100))),
        device: DeviceId(uuid::Uuid::from_u128(1)),
        happened,
        recorded: When { unix_ms: at_ms + 5 * MINUTE_MS, ..happened },
        by: "ada".into(),
        fact: fact.into(),
    }
}

fn enters(name: &str) -> MachineAdded {
    MachineAdded {
        machine: name.into(),
        name: name.to_owned(),
        machine_type: "portable-16mm".into(),
        serial: String::new(),
        place: None,
        meter_hours: Some(Hours::new(100.0)),
        hours_before: Some(Hours::new(100.0)),
        hours_estimated: false,
        made_year: None,
        settings: std::collections::BTreeMap::default(),
    }
}

fn ran(name: &str, hours: f64) -> Ran {
    Ran {
        machine: name.into(),
        run: RunKind::Showing,
        hours: Hours::new(hours),
        lit_hours: None,
        strikes: None,
        showing: None,
        print: None,
        passes: None,
        estimated: false,
    }
}

fn cared(name: &str, task: u64) -> CareDone {
    CareDone {
        machine: name.into(),
        task: format!("care-task-{task}").as_str().into(),
        slot: None,
        outcome: Outcome::Done,
        note: String::new(),
        minutes: Some(2.0),
        includes: Vec::new(),
        used: Vec::new(),
        photos: Vec::new(),
        walk: String::new(),
    }
}

fn read(name: &str, value: f64) -> Reading {
    Reading {
        machine: name.into(),
        quantity: "flutter-weighted".into(),
        value,
        unit: "%".to_owned(),
        uncertainty: Some(0.02),
        slot: None,
        method: String::new(),
        conditions: std::collections::BTreeMap::default(),
        recording: None,
        baseline: false,
    }
}

fn fitted(name: &str, number: u64) -> PartFitted {
    PartFitted {
        part: format!("lamp-{number}").as_str().into(),
        slot: "projection-lamp".into(),
        machine: name.into(),
        age_hours: Some(Hours::ZERO),
        age_band_hours: None,
        age_days: None,
        strikes: None,
        lot: String::new(),
        replaces: Some(Replaced { part: None, why: Ending::Failed }),
        item: None,
        note: String::new(),
    }
}

/// A log in which machines run, are cared for, measured and given new lamps.
fn log() -> Vec<Entry> {
    let mut state = 1;
    let mut entries = Vec::with_capacity(ENTRIES as usize);
    let mut shown = vec![100.0; MACHINES as usize];
    for number in 0..ENTRIES {
        let at = 1_600_000_000_000 + number.cast_signed() * MINUTE_MS;
        if number < MACHINES {
            entries.push(entry(number, at, enters(&format!("machine-{number}"))));
            continue;
        }
        let machine = next(&mut state) % MACHINES;
        let name = format!("machine-{machine}");
        let hours = 0.5 + (next(&mut state) % 20) as f64 / 10.0;
        entries.push(match next(&mut state) % 100 {
            0..60 => {
                shown[machine as usize] += hours * 1.02;
                entry(number, at, ran(&name, hours))
            }
            60..88 => entry(number, at, cared(&name, next(&mut state) % 45)),
            88..94 => entry(
                number,
                at,
                MeterRead {
                    machine: name.as_str().into(),
                    reading_hours: Hours::new(shown[machine as usize]),
                },
            ),
            94..98 => entry(number, at, read(&name, hours / 10.0)),
            _ => entry(number, at, fitted(&name, number)),
        });
    }
    entries
}

/// The same log as several devices bring it together: each in order, one after the other.
fn merged(log: &[Entry]) -> Vec<Entry> {
    (0..4).flat_map(|device| log.iter().skip(device).step_by(4).cloned()).collect()
}

fn folding(c: &mut Criterion) {
    println!("one entry takes {} bytes", std::mem::size_of::<Entry>());
    let log = log();
    let merged = merged(&log);
    let mut group = c.benchmark_group("fold a million entries over ten thousand machines");
    group.sample_size(10);
    group.bench_function("in order", |b| {
        b.iter_batched(|| log.clone(), |entries| black_box(fold(entries)), BatchSize::LargeInput);
    });
    group.bench_function("from four devices", |b| {
        b.iter_batched(|| merged.clone(), |entries| black_box(fold(entries)), BatchSize::LargeInput);
    });
    group.finish();
}

criterion_group!(benches, folding);
criterion_main!(benches);
