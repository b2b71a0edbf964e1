//! On which day, and in which showing, a task falls due.

use crate::{coming::Turn, day::Now};
use logbook::ShowingId;
use machine::Clock;

/// Beyond a lifetime of use nothing is forecast (common practice, no source).
const FARTHEST_DAYS: f64 = 36_500.0;

/// Sums of many runs carry dust in their last digits; so much of an hour or day is none at all.
const DUST: f64 = 1e-6;

/// Where a task falls due.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Forecast<'a> {
    /// Days from today; never negative.
    pub in_days: Option<i32>,
    /// The showing in which its hours are used up, or the first on or after its day.
    pub showing: Option<&'a ShowingId>,
}

/// The present standing of a task on both counts, and the use that will eat it up.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Standing<'t, 'a> {
    pub remaining: Option<f64>,
    pub remaining_days: Option<i32>,
    pub clock: Clock,
    pub turns: &'t [Turn<'a>],
    pub per_day: f64,
}

/// Forecasts from the diary, and past its end from the rate of use; hours or days, whichever comes first.
pub(crate) fn forecast<'a>(standing: &Standing<'_, 'a>, now: &Now) -> Forecast<'a> {
    let by_clock = standing.remaining.and_then(|remaining| by_clock(standing, remaining, now));
    let by_days = standing.remaining_days.map(|days| by_days(standing, days, now));
    let earlier = |a: Option<i32>, b: Option<i32>| a.into_iter().chain(b).min();
    let in_days = earlier(by_clock.map(|(days, _)| days), by_days.map(|(days, _)| days));
    let turn =
        by_clock.and_then(|(_, turn)| turn).into_iter().chain(by_days.and_then(|(_, turn)| turn)).min();
    Forecast { in_days, showing: turn.map(|turn| standing.turns[turn].showing) }
}

/// Finds the first showing by whose end the remaining hours or strikes are used up, else counts on from the rate.
fn by_clock(standing: &Standing<'_, '_>, remaining: f64, now: &Now) -> Option<(i32, Option<usize>)> {
    let turns = standing.turns;
    let turn = if standing.clock == Clock::Strikes {
        // One strike for each showing: the n-th coming showing is the n-th strike.
        (remaining.ceil().max(1.0) as usize) - 1
    } else {
        turns.partition_point(|turn| turn.hours_by_end + DUST < remaining)
    };
    if let Some(found) = turns.get(turn) {
        let in_days = if remaining <= 0.0 { 0 } else { found.day.since(now.day).max(0) };
        return Some((in_days, Some(turn)));
    }
    if remaining <= 0.0 {
        return Some((0, None));
    }
    let (planned, last_day) = turns.last().map_or((0.0, 0), |last| {
        let planned = if standing.clock == Clock::Strikes { turns.len() as f64 } else { last.hours_by_end };
        (planned, last.day.since(now.day).max(0))
    });
    let further = ((remaining - planned) / standing.per_day - DUST).ceil();
    (further <= FARTHEST_DAYS).then(|| (last_day.saturating_add(further as i32), None))
}

/// Finds the first showing on or after the day on which the task falls due.
fn by_days(standing: &Standing<'_, '_>, remaining_days: i32, now: &Now) -> (i32, Option<usize>) {
    let limit = now.day.plus(remaining_days);
    let turn = standing.turns.partition_point(|turn| turn.day < limit);
    (remaining_days.max(0), (turn < standing.turns.len()).then_some(turn))
}
