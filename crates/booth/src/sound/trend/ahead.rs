//! When a limit is passed: where the line and its band meet it, in hours, on a day, before a showing.

use super::{Crossing, Fit, Forecast, TrendPoint};
use crate::due::{self, Desk, Standing};
use logbook::{ShowingId, booth::Showing};
use machine::{Clock, ReadingLimit};

/// A forecast needs at least so many readings (common practice, no source).
const FEWEST_POINTS: usize = 5;
/// A forecast needs readings over at least so many hours (common practice, no source).
const SHORTEST_SPAN_HOURS: f64 = 30.0;
/// Beyond this nothing is forecast: a machine is overhauled sooner (common practice, no source).
const FARTHEST_HOURS: f64 = 5_000.0;

/// A line rests on enough readings over enough hours to be led on beyond them.
pub(super) fn may_lead_on(fit: &Fit, points: usize) -> bool {
    points >= FEWEST_POINTS && fit.to - fit.from >= SHORTEST_SPAN_HOURS
}

/// What lies ahead of a machine.
pub(super) struct Ahead<'d, 'a> {
    pub desk: &'d Desk<'a>,
    pub machine: usize,
    pub clock: Clock,
    pub at: f64,
}

impl<'a> Ahead<'_, 'a> {
    /// When the limit that calls for action is passed, or why that cannot be said.
    pub fn forecast(
        &self,
        fit: Option<&Fit>,
        points: &[TrendPoint<'_>],
        limit: &ReadingLimit,
    ) -> Result<Forecast<'a>, String> {
        let Some(act) = limit.act else { return Err("the machine type gives no limit to act at".to_owned()) };
        let found = points.len();
        let Some(fit) = fit.filter(|_| found >= FEWEST_POINTS) else {
            return Err(format!("a forecast needs {FEWEST_POINTS} readings; there {}", there_are(found)));
        };
        let span = fit.to - fit.from;
        if span < SHORTEST_SPAN_HOURS {
            return Err(format!(
                "a forecast needs readings over {SHORTEST_SPAN_HOURS:.0} hours; these cover {span:.0}"
            ));
        }
        let rising = fit.line.slope > 0.0;
        let passed = |value: f64| !act.hold(value);
        if !fit.line.leads() && !passed(fit.line.at(self.at)) {
            return Err("no change stands out of the scatter of the readings".to_owned());
        }
        let here = fit.line.at(self.at);
        let (bound, upwards) = match (act.low, act.high) {
            (Some(low), _) if here < low => (low, false),
            (_, Some(high)) if here > high || rising => (high, true),
            (Some(low), _) if !rising => (low, false),
            _ => return Err("it moves away from the limit".to_owned()),
        };
        let gap = |value: f64| if upwards { bound - value } else { value - bound };
        let nearer = |x: f64| {
            let (low, high) = fit.line.band(x);
            if upwards { gap(high) } else { gap(low) }
        };
        let farther = |x: f64| {
            let (low, high) = fit.line.band(x);
            if upwards { gap(low) } else { gap(high) }
        };
        let Some(early) = self.first_beyond(nearer) else {
            return Err(format!("it will not pass the limit within {FARTHEST_HOURS:.0} hours"));
        };
        let per_day = self.desk.per_day(self.machine, self.clock);
        let (early, before) = self.crossing(early, per_day);
        Ok(Forecast {
            limit: bound,
            early,
            middle: self.first_beyond(|x| gap(fit.line.at(x))).map(|hours| self.crossing(hours, per_day).0),
            late: self.first_beyond(farther).map(|hours| self.crossing(hours, per_day).0),
            before,
        })
    }

    /// Hours from now until the gap is used up, by halving; it only ever shrinks from now on.
    fn first_beyond(&self, gap: impl Fn(f64) -> f64) -> Option<f64> {
        if gap(self.at) <= 0.0 {
            return Some(0.0);
        }
        if gap(self.at + FARTHEST_HOURS) > 0.0 {
            return None;
        }
        let (mut low, mut high) = (0.0, FARTHEST_HOURS);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if gap(self.at + middle) > 0.0 { low = middle } else { high = middle }
        }
        Some(high)
    }

    fn crossing(&self, in_hours: f64, per_day: f64) -> (Crossing, Option<(&'a ShowingId, &'a Showing)>) {
        let desk = self.desk;
        let standing = Standing {
            remaining: Some(in_hours),
            remaining_days: None,
            clock: self.clock,
            turns: self.desk.turns().of(self.machine),
            per_day,
        };
        let found = due::forecast(&standing, &desk.now);
        let date = found.in_days.map(|days| desk.now.day.plus(days).date());
        let before = found.showing.and_then(|id| desk.booth.showings.get_key_value(id));
        (Crossing { in_hours, date }, before)
    }
}

fn there_are(found: usize) -> String {
    match found {
        0 => "is none".to_owned(),
        1 => "is 1".to_owned(),
        n => format!("are {n}"),
    }
}
