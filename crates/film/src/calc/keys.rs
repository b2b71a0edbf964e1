//! How quantities are written out: one key for each unit that the trade uses.

#![expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands every field over by reference")]

use serde::Serializer;
use serde::ser::SerializeMap;
use units::{Metres, MetresPerSecond, Seconds};

/// Rounds away the noise of binary fractions: a millionth of the unit is finer than anything measured here.
fn tidy(value: f64) -> f64 {
    (value * 1.0e6).round() / 1.0e6
}

/// A length of film in metres and feet.
pub(super) fn length<S: Serializer>(length: &Metres, out: S) -> Result<S::Ok, S::Error> {
    let mut map = out.serialize_map(Some(2))?;
    map.serialize_entry("length_m", &tidy(length.metres()))?;
    map.serialize_entry("length_ft", &tidy(length.as_feet()))?;
    map.end()
}

/// A small distance in millimetres.
pub(super) fn millimetres<S: Serializer>(distance: &Metres, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_f64(tidy(distance.as_millimetres()))
}

/// A small distance in millimetres and inches.
pub(super) fn distance<S: Serializer>(distance: &Metres, out: S) -> Result<S::Ok, S::Error> {
    let mut map = out.serialize_map(Some(2))?;
    map.serialize_entry("distance_mm", &tidy(distance.as_millimetres()))?;
    map.serialize_entry("distance_in", &tidy(distance.as_inches()))?;
    map.end()
}

/// The speed of film in the units that machines and standards state it.
pub(super) fn film_speed<S: Serializer>(speed: &MetresPerSecond, out: S) -> Result<S::Ok, S::Error> {
    let mut map = out.serialize_map(Some(3))?;
    map.serialize_entry("speed_mm_per_s", &tidy(speed.as_millimetres_per_second()))?;
    map.serialize_entry("speed_in_per_s", &tidy(speed.as_inches_per_second()))?;
    map.serialize_entry("speed_ft_per_min", &tidy(speed.as_feet_per_minute()))?;
    map.end()
}

/// A speed of film in millimetres per second alone.
pub(super) fn mm_per_second<S: Serializer>(speed: &MetresPerSecond, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_f64(tidy(speed.as_millimetres_per_second()))
}

/// A short time in milliseconds.
pub(super) fn milliseconds<S: Serializer>(time: &Seconds, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_f64(tidy(time.as_milliseconds()))
}
