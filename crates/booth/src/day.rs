//! Days as whole numbers, by the booth's custom of when a night ends.
//!
//! What happens between midnight and the end of the night belongs to the evening on which it began; so a deed at
//! 00:20 after the late showing counts for that showing's date.

use jiff::{Timestamp, ZonedDateTime, civil, tz::Offset};
use logbook::{When, booth::Settings};
use serde::Serialize;

const MS_PER_DAY: i64 = 86_400_000;

/// A day of the booth's calendar, counted from 1970-01-01.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Day(i32);

impl Day {
    /// The day that carries this date.
    pub fn on(date: civil::Date) -> Self {
        Self(whole(units::civil::days_between(civil::date(1970, 1, 1), date)))
    }

    /// The date of the day; a day outside the calendar's range is brought to its nearer end.
    pub fn date(self) -> civil::Date {
        Timestamp::from_second(i64::from(self.0) * (MS_PER_DAY / 1000))
            .map_or(if self.0 < 0 { civil::Date::MIN } else { civil::Date::MAX }, |midnight| {
                Offset::UTC.to_datetime(midnight).date()
            })
    }

    /// The day so many days later.
    #[must_use]
    pub const fn plus(self, days: i32) -> Self {
        Self(self.0.saturating_add(days))
    }

    /// Days from `earlier` to this day; negative if this one comes first.
    pub const fn since(self, earlier: Self) -> i32 {
        self.0.saturating_sub(earlier.0)
    }
}

impl Serialize for Day {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(&self.date())
    }
}

/// A count of days, brought to the nearer end where a hostile date would run over it.
pub(crate) fn whole(days: i64) -> i32 {
    i32::try_from(days).unwrap_or(if days < 0 { i32::MIN } else { i32::MAX })
}

/// Whole days between two moments of the same clock; negative if `to` comes first.
pub(crate) fn days_between_ms(from_ms: i64, to_ms: i64) -> i64 {
    to_ms.saturating_sub(from_ms).div_euclid(MS_PER_DAY)
}

/// The moment at which a question is asked, and the custom by which moments fall into days.
#[derive(Clone, Copy, Debug)]
pub struct Now {
    /// Milliseconds since 1970.
    pub unix_ms: i64,
    /// The day to which the moment belongs.
    pub day: Day,
    night_ends_ms: i64,
}

impl Now {
    /// Takes the moment of asking, on the clock of the booth.
    pub fn new(now: &ZonedDateTime, settings: &Settings) -> Self {
        Self::at(When::from_zoned(now), settings)
    }

    /// Takes the moment of asking.
    pub fn at(now: When, settings: &Settings) -> Self {
        let night_ends_ms = i64::from(settings.night_ends.hour()) * 3_600_000
            + i64::from(settings.night_ends.minute()) * 60_000
            + i64::from(settings.night_ends.second()) * 1000;
        let mut made = Self { unix_ms: now.unix_ms, day: Day(0), night_ends_ms };
        made.day = made.day_of(now);
        made
    }

    /// The day to which a moment belongs, on the clock that hung on the wall there.
    pub fn day_of(&self, when: When) -> Day {
        let wall_ms = when.unix_ms.saturating_add(i64::from(when.offset_s) * 1000);
        Day(whole(wall_ms.saturating_sub(self.night_ends_ms).div_euclid(MS_PER_DAY)))
    }

    /// The day to which a showing belongs: the evening on which it begins.
    pub fn day_of_zoned(&self, at: &ZonedDateTime) -> Day {
        self.day_of(When::from_zoned(at))
    }
}
