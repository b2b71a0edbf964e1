//! When people have time at the bench: free evenings, and the hour before a showing.

use super::{
    Wanted,
    model::Clock,
    rules::{CLEAR_MINUTES, EVENING_BEGINS, OPENING_MINUTES},
};
use crate::day::Day;
use jiff::civil::{self, Date};
use plan::{Cost, Minutes, Moment, Slot};

/// A bench slot, with what the answer says of it.
#[derive(Clone, Debug)]
pub(super) struct BenchTime {
    pub id: String,
    pub place: String,
    pub on: Date,
    pub starts: i64,
    pub minutes: i64,
    pub who: String,
}

/// What a day's bench at a place needs to know.
pub(super) struct Evening<'e> {
    pub day: Day,
    pub place: &'e str,
    /// What people call the place.
    pub place_name: &'e str,
    /// When the first showing there starts that day, in minutes of the plan.
    pub first_showing: Option<i64>,
    pub many_places: bool,
    pub who: &'e str,
}

/// Returns the bench time of one day at one place, if any of it is still to come.
pub(super) fn on(evening: &Evening<'_>, clock: &Clock, wanted: Wanted) -> Option<BenchTime> {
    let date = evening.day.date();
    let (starts, minutes) = match evening.first_showing {
        Some(first) => (first - CLEAR_MINUTES - wanted.before_minutes, wanted.before_minutes),
        None => (clock.minute_of(date.to_datetime(evening_begins())), wanted.evening_minutes),
    };
    let at = if evening.many_places { format!(", {}", evening.place_name) } else { String::new() };
    (starts >= 0 && minutes > 0).then(|| BenchTime {
        id: format!("{}{at}", date.strftime("%a %-d %b")),
        place: evening.place.to_owned(),
        on: date,
        starts,
        minutes,
        who: evening.who.to_owned(),
    })
}

const fn evening_begins() -> civil::Time {
    EVENING_BEGINS
}

/// The slot as the model has it.
pub(super) fn slot(time: &BenchTime, level: u32) -> Slot {
    Slot {
        id: time.id.clone(),
        place: time.place.clone(),
        starts: Moment(time.starts),
        minutes: Minutes(time.minutes),
        who: time.who.clone(),
        level,
        comes_from: None,
        cost: Cost(OPENING_MINUTES),
        cost_per_minute: Cost(1.0),
    }
}
