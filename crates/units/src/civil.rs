//! Days and evenings. Dates and times themselves are jiff's; here is only what the booth adds.

use serde::{Deserialize, Serialize};

pub use jiff::Timestamp;
pub use jiff::civil::{Date, DateTime, Time, date, time};

/// When the night ends unless the booth says otherwise: five in the morning (common practice, no source).
pub const NIGHT_ENDS: Time = time(5, 0, 0, 0);

/// The evening to which a moment belongs: a showing that runs past midnight belongs to the evening on which it began.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Evening(Date);

impl Evening {
    /// The evening that carries this civil date.
    pub const fn on(date: Date) -> Self {
        Self(date)
    }

    /// The evening to which a local moment belongs, when every moment before `night_ends` still counts as last night.
    pub fn of(moment: DateTime, night_ends: Time) -> Self {
        let date = moment.date();
        if moment.time() < night_ends { Self(date.yesterday().unwrap_or(date)) } else { Self(date) }
    }

    /// The civil date on which the evening began.
    pub const fn date(self) -> Date {
        self.0
    }
}

impl std::fmt::Display for Evening {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// A date as ISO 8601 writes it: `2026-03-07`.
pub fn iso(date: Date) -> String {
    date.to_string()
}

/// Whole days from one date to another; negative when `to` comes first.
pub fn days_between(from: Date, to: Date) -> i64 {
    from.duration_until(to).as_hours() / 24
}
