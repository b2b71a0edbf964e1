//! One row, read: what its cells say, in our own types.

use super::{
    dates::Clock,
    mapping::{Mapping, Sort},
};
use jiff::{
    ToSpan, ZonedDateTime,
    civil::{Date, DateTime, Time, time},
    tz::TimeZone,
};
use logbook::{MachineId, PersonId, Precision, When, ids::PlaceId};
use units::Hours;

/// What one row says.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Slip {
    /// The row's number.
    pub row: usize,
    /// What the row is, if anything says so.
    pub sort: Option<Sort>,
    /// The day (that of the 15th, if only the month is known).
    pub day: Date,
    /// Only the month is known.
    pub month_only: bool,
    /// When it began.
    pub start: Option<Clock>,
    /// When it ended.
    pub end: Option<Clock>,
    /// How long it lasted.
    pub length: Option<Hours>,
    /// Hours run.
    pub hours: Option<Hours>,
    /// Hours lit.
    pub lit: Option<Hours>,
    /// The meter's figure.
    pub meter: Option<Hours>,
    /// The machines.
    pub machines: Vec<MachineId>,
    /// The title.
    pub title: String,
    /// The place.
    pub place: Option<PlaceId>,
    /// Who.
    pub person: Option<PersonId>,
    /// Work done.
    pub work: String,
    /// The part changed.
    pub part: String,
    /// Why.
    pub why: String,
    /// How many came.
    pub audience: Option<u32>,
    /// Anything else.
    pub note: String,
    /// Values measured: index into the mapping's readings and value.
    pub readings: Vec<(String, f64)>,
}

/// When a row's doings began, and for how long they went on.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Span {
    /// The beginning.
    pub start: When,
    /// The beginning on the clock of the place.
    pub zoned: ZonedDateTime,
    /// How long, if the row says.
    pub lasted: Option<Hours>,
}

impl Slip {
    /// Returns what the row is: as it says, or by what is filled in.
    pub fn sort(&self) -> Sort {
        self.sort.unwrap_or_else(|| self.sort_by_contents())
    }

    fn sort_by_contents(&self) -> Sort {
        let timed = self.start.is_some() && (self.end.is_some() || self.length.is_some());
        if !self.title.is_empty() || timed || self.audience.is_some() {
            Sort::Showing
        } else if self.hours.is_some() || self.length.is_some() {
            Sort::Run
        } else if self.meter.is_some() {
            Sort::Meter
        } else if !self.part.is_empty() {
            Sort::Part
        } else if !self.work.is_empty() {
            Sort::Care
        } else if !self.readings.is_empty() {
            Sort::Reading
        } else {
            Sort::Note
        }
    }

    /// Returns how exactly the row knows its moment.
    pub fn precision(&self) -> Precision {
        match self.start {
            _ if self.month_only => Precision::Month,
            None => Precision::Day,
            Some(Clock { seconds: true, .. }) => Precision::Second,
            Some(_) => Precision::Minute,
        }
    }

    /// Returns the local moment at which the row's doings began: noon where only the day is known.
    pub fn local_start(&self) -> DateTime {
        self.start.map_or(self.day.to_datetime(NOON), |clock| self.on_the_clock(clock))
    }

    fn on_the_clock(&self, clock: Clock) -> DateTime {
        let day = self.day.checked_add(clock.days.days()).unwrap_or(self.day);
        day.to_datetime(clock.time)
    }

    /// Returns the beginning and the length; `None` if the calendar ends before.
    pub fn span(&self, zone: &TimeZone) -> Option<Span> {
        let zoned = self.local_start().to_zoned_datetime(zone.clone()).ok()?;
        let start = When::from_zoned(&zoned).known_to(self.precision());
        let lasted = self.clock_length(&zoned, zone).or(self.length).or(self.hours);
        Some(Span { start, zoned, lasted })
    }

    /// Returns the time from start to end by absolute time; an end before the start belongs to the next day.
    fn clock_length(&self, start: &ZonedDateTime, zone: &TimeZone) -> Option<Hours> {
        let (_, end) = (self.start?, self.end?);
        let mut end = self.on_the_clock(end);
        if end < start.datetime() {
            end = end.checked_add(1.day()).ok()?;
        }
        let end = end.to_zoned_datetime(zone.clone()).ok()?;
        let seconds = start.timestamp().duration_until(end.timestamp()).as_secs_f64();
        Some(Hours::new(seconds / 3600.0))
    }

    /// Tells whether the end stands before the start, so that it must belong to the next day.
    pub fn ends_next_day(&self) -> bool {
        match (self.start, self.end) {
            (Some(start), Some(end)) => self.on_the_clock(end) < self.on_the_clock(start),
            _ => false,
        }
    }

    /// Takes over what the mapping says of every row.
    pub fn with_customs(mut self, mapping: &Mapping) -> Self {
        self.sort = self.sort.or(mapping.what);
        if self.start.is_none() && !self.month_only && self.sort() == Sort::Showing {
            self.start = mapping.usual_start.map(Clock::at);
        }
        self
    }
}

/// The time of day of a moment of which only the day is known.
const NOON: Time = time(12, 0, 0, 0);
