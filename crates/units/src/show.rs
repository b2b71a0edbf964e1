//! Quantities as they are shown to people. Whatever is shown here can be read back by [`crate::read`].

use crate::{Hours, Luminance, Metres, Newtons, Seconds};

/// What is shown for a number that is none.
const UNKNOWN: &str = "unknown";

/// A length in metres to the centimetre, below a tenth of a metre in millimetres: `3.81 m`, `7.62 mm`.
pub fn metric(length: Metres) -> String {
    if !length.is_finite() {
        return UNKNOWN.to_owned();
    }
    if length.abs() < Metres::new(0.1) && length != Metres::ZERO {
        format!("{:.2} mm", length.as_millimetres())
    } else {
        format!("{:.2} m", length.metres())
    }
}

/// A length in feet and whole inches: `12 ft 6 in`, `12 ft`, `6 in`.
pub fn feet_and_inches(length: Metres) -> String {
    if !length.is_finite() {
        return UNKNOWN.to_owned();
    }
    let inches = length.abs().as_inches().round();
    let sign = if length < Metres::ZERO && inches > 0.0 { "-" } else { "" };
    let (feet, inches) = ((inches / 12.0).floor(), inches % 12.0);
    match (feet > 0.0, inches > 0.0) {
        (true, true) => format!("{sign}{feet} ft {inches} in"),
        (true, false) => format!("{sign}{feet} ft"),
        (false, _) => format!("{sign}{inches} in"),
    }
}

/// A length in the room in both systems: `3.81 m (12 ft 6 in)`.
pub fn room_length(length: Metres) -> String {
    format!("{} ({})", metric(length), feet_and_inches(length))
}

/// A length of film in both systems: `121.9 m (400 ft)`. Feet are whole above ten, and to a tenth below.
pub fn film_length(length: Metres) -> String {
    if !length.is_finite() {
        return UNKNOWN.to_owned();
    }
    let feet = length.as_feet();
    let decimals = usize::from(feet.abs() < 10.0);
    format!("{:.1} m ({feet:.decimals$} ft)", length.metres())
}

/// A running time to the second: `11:07`, `1:02:03`.
pub fn running_time(time: Seconds) -> String {
    clock(time, 0)
}

/// A running time to the tenth of a second: `11:06.7`, `1:02:03.0`.
pub fn running_time_in_tenths(time: Seconds) -> String {
    clock(time, 1)
}

/// A span in words, to the minute from a minute upwards: `1 h 30 min`, `45 min`, `20 s`.
pub fn span(time: Seconds) -> String {
    if !time.is_finite() {
        return UNKNOWN.to_owned();
    }
    let sign = if time < Seconds::ZERO { "-" } else { "" };
    let seconds = time.abs().seconds();
    if seconds.round() < 60.0 {
        return format!("{sign}{seconds:.0} s");
    }
    let minutes = (seconds / 60.0).round();
    let (hours, minutes) = ((minutes / 60.0).floor(), minutes % 60.0);
    match (hours > 0.0, minutes > 0.0) {
        (true, true) => format!("{sign}{hours} h {minutes} min"),
        (true, false) => format!("{sign}{hours} h"),
        (false, _) => format!("{sign}{minutes} min"),
    }
}

/// Hours run, to a tenth: `412.5 h`.
pub fn hours(hours: Hours) -> String {
    if hours.is_finite() { format!("{:.1} h", hours.hours()) } else { UNKNOWN.to_owned() }
}

/// Screen light in both systems: `55 cd/m² (16 fL)`. Tenths below ten.
pub fn luminance(luminance: Luminance) -> String {
    if !luminance.is_finite() {
        return UNKNOWN.to_owned();
    }
    let shown = |value: f64| format!("{value:.*}", usize::from(value.abs() < 9.95));
    format!(
        "{} cd/m² ({} fL)",
        shown(luminance.candelas_per_square_metre()),
        shown(luminance.as_foot_lamberts())
    )
}

/// Minutes and seconds, with hours from one hour upwards, rounded once so that no part ever shows 60.
fn clock(time: Seconds, decimals: u32) -> String {
    if !time.is_finite() {
        return UNKNOWN.to_owned();
    }
    let ticks_per_second = 10_u64.pow(decimals);
    let ticks = (time.abs().seconds() * ticks_per_second as f64).round() as u64;
    let sign = if time < Seconds::ZERO && ticks > 0 { "-" } else { "" };
    let (seconds, fraction) = (ticks / ticks_per_second, ticks % ticks_per_second);
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    let tail = if decimals == 0 { String::new() } else { format!(".{fraction}") };
    if hours > 0 {
        format!("{sign}{hours}:{minutes:02}:{seconds:02}{tail}")
    } else {
        format!("{sign}{minutes}:{seconds:02}{tail}")
    }
}

/// A pull in both systems: `2.78 N (10.0 oz)`.
pub fn pull(pull: Newtons) -> String {
    if !pull.is_finite() {
        return UNKNOWN.to_owned();
    }
    format!("{:.2} N ({:.1} oz)", pull.newtons(), pull.as_ounces())
}
