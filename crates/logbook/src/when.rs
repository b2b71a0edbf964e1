//! When something happened: the instant, the local clock that people read, and how exactly it is known.

use jiff::{Timestamp, civil, tz::Offset};
use serde::{Deserialize, Serialize};

/// How exactly a moment is known.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Precision {
    /// To the second, as a clock gave it.
    #[default]
    Second,
    /// To the minute, as a person wrote it.
    Minute,
    /// Only the day is known; the instant is local noon.
    Day,
    /// Only the month is known; the instant is local noon of the 15th.
    Month,
}

/// A moment with the local offset that was in force, so that both UTC and the clock on the wall are kept.
///
/// Milliseconds since 1970 order the fold; the offset only serves reading.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct When {
    /// Milliseconds since 1970-01-01T00:00:00Z.
    pub unix_ms: i64,
    /// Local time minus UTC, in seconds.
    pub offset_s: i32,
    /// How exactly the moment is known.
    pub precision: Precision,
}

impl When {
    /// Makes a moment from a zoned time, known to the second.
    pub fn from_zoned(at: &jiff::ZonedDateTime) -> Self {
        Self {
            unix_ms: at.timestamp().as_millisecond(),
            offset_s: at.offset().seconds(),
            precision: Precision::Second,
        }
    }

    /// Makes a moment in UTC, known to the second.
    pub fn utc(at: Timestamp) -> Self {
        Self { unix_ms: at.as_millisecond(), offset_s: 0, precision: Precision::Second }
    }

    /// Returns the same moment, known as exactly as said.
    #[must_use]
    pub fn known_to(self, precision: Precision) -> Self {
        Self { precision, ..self }
    }

    /// Returns the instant; a moment outside the calendar's range is brought to its nearer end.
    pub fn timestamp(self) -> Timestamp {
        Timestamp::from_millisecond(self.unix_ms).unwrap_or(if self.unix_ms < 0 {
            Timestamp::MIN
        } else {
            Timestamp::MAX
        })
    }

    /// Returns what the clock on the wall showed.
    pub fn local(self) -> civil::DateTime {
        let offset = Offset::from_seconds(self.offset_s).unwrap_or(Offset::UTC);
        offset.to_datetime(self.timestamp())
    }

    /// Returns the date on the wall calendar.
    pub fn date(self) -> civil::Date {
        self.local().date()
    }

    /// Returns the hours from `self` to `later`; negative if `later` comes first.
    pub fn hours_until(self, later: Self) -> units::Hours {
        units::Hours::new(later.unix_ms.saturating_sub(self.unix_ms) as f64 / 3_600_000.0)
    }
}
