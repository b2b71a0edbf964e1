//! The only clock of the program.
//!
//! `BOOTHWRIGHT_NOW` (RFC 9557) stands in for it in tests, so that their output never changes.

use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};

/// The variable that stands in for the clock in tests.
const STAND_IN: &str = "BOOTHWRIGHT_NOW";

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
