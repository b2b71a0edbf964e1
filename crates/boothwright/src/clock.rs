//! The only clock of the program.
//!
//! `BOOTHWRIGHT_NOW` (RFC 9557) stands in for it in tests, so that their output never changes.

use crate::failure::{Failure, Kind, Outcome};
use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};

/// The variable that stands in for the clock in tests.
const STAND_IN: &str = "BOOTHWRIGHT_NOW";

/// Refuses a stand-in that cannot be read: the present moment would silently be another than was meant.
pub fn check() -> Outcome {
    let Some(text) = std::env::var_os(STAND_IN) else { return Ok(()) };
    let read = text.to_str().is_some_and(|text| text.parse::<ZonedDateTime>().is_ok());
    if read {
        return Ok(());
    }
    Err(Failure::new(
        Kind::Usage,
        format!("{STAND_IN} `{}` is not a moment with its zone", text.to_string_lossy()),
    )
    .hinted(
        "for example 2026-03-07T18:30:00+00:00[Europe/Lisbon]; leave it unset to go by this computer's clock",
    ))
}

/// Returns the present moment on the clock of the zone.
pub fn now(zone: &TimeZone) -> ZonedDateTime {
    let set = std::env::var(STAND_IN).ok().and_then(|text| text.parse::<ZonedDateTime>().ok());
    match set {
        Some(set) => set.with_time_zone(zone.clone()),
        None => Timestamp::now().to_zoned_datetime(zone.clone()),
    }
}

/// Returns the zone of this computer.
pub fn system_zone() -> TimeZone {
    TimeZone::system()
}

/// Returns the present instant, for the server.
pub fn instant() -> Timestamp {
    now(&TimeZone::UTC).timestamp()
}
