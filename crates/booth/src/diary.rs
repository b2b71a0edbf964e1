//! The diary: showings and service, evening by evening.

use crate::{
    answer::Answer,
    day::Day,
    due::{Desk, DueItem, is_offered},
    prints::{self, PrintWarning},
};
use jiff::{ZonedDateTime, civil};
use logbook::{
    Booth, ShowingId,
    booth::{Showing, ShowingState},
};
use machine::Library;
use std::collections::BTreeMap;

/// One evening of the diary.
#[derive(Clone, Debug)]
pub struct DiaryDay<'a> {
    /// The evening.
    pub date: civil::Date,
    /// Its showings in order of time, held and cancelled ones too.
    pub showings: Vec<(&'a ShowingId, &'a Showing)>,
    /// Reels that planned showings of the evening want and that must not be shown.
    pub barred: Vec<(&'a ShowingId, PrintWarning<'a>)>,
    /// Care that falls due on this day.
    pub falls_due: Vec<DueItem<'a>>,
}

/// Returns the evenings from one date to another, both included, on which there is a showing or care falls due.
///
/// Care that is due already stands under today.
pub fn diary<'a>(
    booth: &'a Booth,
    library: &'a Library,
    from: civil::Date,
    to: civil::Date,
    now: &ZonedDateTime,
) -> Answer<Vec<DiaryDay<'a>>> {
    let desk = Desk::new(booth, library, now);
    let mut days: BTreeMap<Day, DiaryDay<'a>> = BTreeMap::new();
    let within = Day::on(from)..=Day::on(to);
    for (id, showing) in &booth.showings {
        let day = desk.now.day_of_zoned(&showing.starts);
        if within.contains(&day) {
            days.entry(day).or_insert_with(|| DiaryDay::empty(day)).showings.push((id, showing));
        }
    }
    let offered: Vec<usize> =
        (0..booth.machines.len()).filter(|at| is_offered(&booth.machines[*at])).collect();
    for item in desk.count_all(&offered) {
        let day = item.forecast_in_days().map(|days| desk.now.day.plus(days));
        if let Some(day) = day.filter(|day| within.contains(day)) {
            days.entry(day).or_insert_with(|| DiaryDay::empty(day)).falls_due.push(item);
        }
    }
    let mut value: Vec<DiaryDay<'a>> = days.into_values().collect();
    for day in &mut value {
        day.showings.sort_by_key(|(_, showing)| showing.starts.timestamp());
        for (id, showing) in day.showings.iter().filter(|(_, one)| one.state == ShowingState::Planned) {
            day.barred
                .extend(prints::barred(booth, library, showing).into_iter().map(|warning| (*id, warning)));
        }
    }
    Answer { value, because: desk.grounds(), caveats: desk.stale_diary().into_iter().collect() }
}

impl DiaryDay<'_> {
    fn empty(day: Day) -> Self {
        Self { date: day.date(), showings: Vec::new(), barred: Vec::new(), falls_due: Vec::new() }
    }
}
