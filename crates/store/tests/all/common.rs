//! Invented entries for the tests of this crate.

use logbook::{
    DeviceId, Entry, EntryId, Fact, PersonId, Precision, When,
    fact::{MeterRead, Noted},
};
use std::path::Path;
use units::Hours;
use uuid::Uuid;

/// Returns the device with a number.
pub fn device(number: u8) -> DeviceId {
    DeviceId(Uuid::from_bytes([number; 16]))
}

/// Returns the id with a number.
pub fn id(number: u64) -> EntryId {
    EntryId(Uuid::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0000 | u128::from(number)))
}

/// Returns a note of a device with words of its own.
pub fn note(number: u64, device: DeviceId) -> Entry {
    let words = format!("Brushed the gate, note {number}");
    entry(number, device, Noted { about: None, words, photos: vec![] }.into())
}

/// Returns a reading of an hour meter.
pub fn reading(number: u64, device: DeviceId, machine: &str) -> Entry {
    let reading_hours = Hours::new(number as f64 + 0.5);
    entry(number, device, MeterRead { machine: machine.into(), reading_hours }.into())
}

/// Returns an entry with any fact.
pub fn entry(number: u64, device: DeviceId, fact: Fact) -> Entry {
    let unix_ms = 1_780_000_000_000 + number.cast_signed() * 60_000;
    let happened = When { unix_ms, offset_s: 7_200, precision: Precision::Minute };
    let recorded = When { unix_ms: unix_ms + 5_000, offset_s: 7_200, precision: Precision::Second };
    Entry { id: id(number), device, happened, recorded, by: PersonId::new("ines"), fact }
}

/// Opens a logbook's file by other means, with its guards taken down.
pub fn behind_its_back(folder: &Path) -> rusqlite::Connection {
    let connection = rusqlite::Connection::open(folder.join("logbook.db")).unwrap();
    connection
        .execute_batch(
            "PRAGMA synchronous = OFF; PRAGMA ignore_check_constraints = ON;
             DROP TRIGGER IF EXISTS entry_is_never_changed; DROP TRIGGER IF EXISTS entry_is_never_removed;
             DROP TRIGGER IF EXISTS entry_is_never_replaced; DROP INDEX IF EXISTS entry_by_id;
             DROP INDEX IF EXISTS entry_by_number;",
        )
        .unwrap();
    connection
}
