#![doc = include_str!("../README.md")]

pub mod race;
pub mod service;

use jiff::{ZonedDateTime, civil::Date, tz::TimeZone};
use std::{
    path::PathBuf,
    sync::OnceLock,
    time::{Duration, Instant},
};

/// Machines in the measured logbook.
pub const MACHINES: usize = 10_000;
/// Entries in it.
pub const ENTRIES: usize = 1_000_000;
/// Its seed.
pub const SEED: u64 = 7;
/// The day after its last entry.
pub const TODAY: Date = jiff::civil::date(2026, 11, 25);

/// Returns the folder of the measured logbook.
pub fn folder() -> PathBuf {
    let target = std::env::var_os("CARGO_TARGET_DIR")
        .map_or_else(|| PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../target")), PathBuf::from);
    target.join("at-size")
}

/// Returns the moment at which the questions are asked.
///
/// # Panics
/// Never: the moment lies within the calendar.
pub fn now() -> ZonedDateTime {
    TODAY.at(12, 0, 0, 0).to_zoned_datetime(TimeZone::UTC).expect("noon of that day lies within the calendar")
}

/// The time that this thread has spent on a core, where the system tells; else the time since the first call. Others on
/// the same cores then make no difference to a measurement.
pub fn core_time() -> Duration {
    static FIRST: OnceLock<Instant> = OnceLock::new();
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|told| told.split_whitespace().next()?.parse().ok());
    nanoseconds.map_or_else(|| FIRST.get_or_init(Instant::now).elapsed(), Duration::from_nanos)
}
