//! A moment as text: RFC 3339 with milliseconds where there are any, and a numeric form for what that cannot carry.

use jiff::{
    Timestamp,
    fmt::temporal::Pieces,
    tz::{Offset, TimeZone},
};
use logbook::{Precision, When};
use serde::{Deserialize, Serialize};

/// A moment as the file carries it.
#[derive(Serialize, Deserialize)]
#[serde(untagged)]
pub(super) enum Moment {
    /// RFC 3339: `2026-11-20T19:30:00+01:00`.
    Text(String),
    /// For an instant outside the calendar or an offset that is no whole number of minutes.
    Numbers(Numbers),
}

/// A moment in numbers.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Numbers {
    unix_ms: i64,
    offset_s: i32,
}

/// Writes a moment without its precision.
pub(super) fn write(when: When) -> Moment {
    rfc3339(when)
        .map_or(Moment::Numbers(Numbers { unix_ms: when.unix_ms, offset_s: when.offset_s }), Moment::Text)
}

/// Returns the RFC 3339 text of a moment, if it has one that reads back as the same moment.
fn rfc3339(when: When) -> Option<String> {
    let at = Timestamp::from_millisecond(when.unix_ms).ok()?;
    let offset = Offset::from_seconds(when.offset_s).ok()?;
    // RFC 3339 knows years 0000 to 9999 and offsets in whole minutes below 24 hours.
    if when.offset_s % 60 != 0 || when.offset_s.abs() >= 24 * 3600 {
        return None;
    }
    let local = at.to_zoned_datetime(TimeZone::fixed(offset)).datetime();
    if !(0..=9999).contains(&local.year()) {
        return None;
    }
    let minutes = when.offset_s.abs() / 60;
    let sign = if when.offset_s < 0 { '-' } else { '+' };
    let text = format!("{local}{sign}{:02}:{:02}", minutes / 60, minutes % 60);
    (read_text(&text).ok()? == (when.unix_ms, when.offset_s)).then_some(text)
}

/// Reads a moment. The error says what is wrong with it.
pub(super) fn read(moment: &Moment, precision: Precision) -> Result<When, String> {
    let (unix_ms, offset_s) = match moment {
        Moment::Text(text) => read_text(text)?,
        Moment::Numbers(numbers) => (numbers.unix_ms, numbers.offset_s),
    };
    Ok(When { unix_ms, offset_s, precision })
}

/// Reads RFC 3339 into milliseconds and offset.
fn read_text(text: &str) -> Result<(i64, i32), String> {
    let wrong = |why: &str| format!("“{}” is no moment: {why}", shorten(text));
    let pieces = Pieces::parse(text).map_err(|_| wrong("it cannot be read as date, time and offset"))?;
    let time = pieces.time().ok_or_else(|| wrong("it has no time of day"))?;
    let offset = pieces.to_numeric_offset().ok_or_else(|| wrong("it has no offset from UTC"))?;
    if time.subsec_nanosecond() % 1_000_000 != 0 {
        return Err(wrong("it is finer than a millisecond"));
    }
    let at = offset
        .to_timestamp(pieces.date().to_datetime(time))
        .map_err(|_| wrong("it lies outside the calendar"))?;
    Ok((at.as_millisecond(), offset.seconds()))
}

/// Returns a text short enough to be repeated in an error.
pub(super) fn shorten(text: &str) -> String {
    const MOST: usize = 60;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain(['…']).collect()
}
