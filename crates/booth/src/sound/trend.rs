//! Where a quantity is heading: a robust line over hours run since the last baseline or part change, steps kept apart
//! from the slope, and the showing before which to act.

mod steps;

use super::robust::{Line, theil_sen};
use crate::{
    answer::{Answer, COMMON_PRACTICE, Ground},
    coming::Turns,
    due::{self, Desk, Standing},
    join,
    known::{NotKnown, find_machine},
    verdict::{JudgedReading, Verdict, readings_of},
};
use jiff::{ZonedDateTime, civil};
use logbook::{
    Booth, EntryId, MachineId, ShowingId, When,
    booth::{Machine, ReadingRecord, Showing},
};
use machine::{Basis, Clock, Library, ReadingLimit, Repeats, Trigger};
use serde::Serialize;
use std::borrow::Cow;
pub use steps::Step;
use steps::last_step;

/// A forecast needs at least so many readings (common practice, no source).
const FEWEST_POINTS: usize = 5;
/// A forecast needs readings over at least so many hours (common practice, no source).
const SHORTEST_SPAN_HOURS: f64 = 30.0;
/// Beyond this nothing is forecast: a machine is overhauled sooner (common practice, no source).
const FARTHEST_HOURS: f64 = 5_000.0;
/// Two standard uncertainties hold about 95 of 100 cases (JCGM 100:2008, G.6.6, from memory).
const COVERAGE: f64 = 2.0;

/// One reading along the clock.
#[derive(Clone, Copy, Debug)]
pub struct TrendPoint<'a> {
    /// The reading.
    pub reading: &'a ReadingRecord,
    /// What the clock showed: hours, or strikes.
    pub on_clock: f64,
    /// The value on the limit's basis: itself, its share of the baseline, or its difference from it.
    pub value: f64,
    /// Its standard uncertainty on the same basis; how well such readings repeat, if that is more.
    pub doubt: f64,
    /// What it says.
    pub verdict: Verdict,
    /// The line rests on it.
    pub in_fit: bool,
}

/// The line through the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// The line, over the clock, on the limit's basis.
    pub line: Line,
    /// The clock at its first and last reading.
    pub from: f64,
    /// The clock at its last reading.
    pub to: f64,
    /// It rises or falls by more than readings repeat.
    pub beyond_repeats: bool,
}

/// Where a limit is passed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Crossing {
    /// Hours from now on the clock; nought if it is passed already.
    pub in_hours: f64,
    /// The day, by diary and use; none if the machine hardly runs.
    pub date: Option<civil::Date>,
}

/// When the limit that calls for action is likely to be passed.
#[derive(Clone, Copy, Debug)]
pub struct Forecast<'a> {
    /// The limit that is passed, on the limit's basis.
    pub limit: f64,
    /// In one case of ten it is passed before this.
    pub early: Crossing,
    /// As likely before as after; none if it is too far off to say.
    pub middle: Option<Crossing>,
    /// In nine cases of ten it is passed before this; none if it may never be passed.
    pub late: Option<Crossing>,
    /// Act before this showing: by its end the early hours are used up.
    pub before: Option<(&'a ShowingId, &'a Showing)>,
}

/// What a repair or another part has changed.
#[derive(Clone, Copy, Debug)]
pub struct Change<'a> {
    /// When it was done.
    pub at: When,
    /// The entry that says so.
    pub entry: EntryId,
    /// The last reading before.
    pub before: &'a ReadingRecord,
    /// The first reading after.
    pub after: &'a ReadingRecord,
    /// After less before, in the unit of the reading.
    pub difference: f64,
    /// The difference is more than the doubt of the two readings.
    pub clear: bool,
}

/// Where a quantity of a machine is heading.
#[derive(Clone, Debug)]
pub struct Trend<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// The limit.
    pub limit: &'a ReadingLimit,
    /// The clock over which the line runs.
    pub clock: Clock,
    /// What the clock shows now.
    pub now: f64,
    /// Every reading that can be compared, in order of time.
    pub points: Vec<TrendPoint<'a>>,
    /// Since when the line counts, in words.
    pub since: String,
    /// The line, from two readings on.
    pub fit: Option<Fit>,
    /// When the limit is passed.
    pub forecast: Option<Forecast<'a>>,
    /// Why there is no forecast, in words.
    pub no_forecast: Option<String>,
    /// The step after which the line begins, if there was one.
    pub step: Option<Step<'a>>,
    /// What the last repair or part change did.
    pub change: Option<Change<'a>>,
}

/// Says where a quantity of a machine is heading and when it will call for action.
///
/// # Method
/// Theil–Sen over the limit's clock since the last baseline, the last change of a part that the quantity tells of, or
/// the last step. Forecast from five readings over 30 hours on; its band holds eight cases of ten.
pub fn trend<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: &str,
    quantity: &str,
    now: &ZonedDateTime,
) -> Result<Answer<Trend<'a>>, NotKnown> {
    let readings = readings_of(booth, library, machine, quantity)?;
    let (at, id, about) = find_machine(booth, machine)?;
    let limit = join::type_of(library, about)
        .and_then(|kind| kind.limit(quantity))
        .expect("a quantity whose readings were found has a limit");
    let clock = limit.clock.unwrap_or(Clock::Running);
    let mut points: Vec<TrendPoint<'a>> =
        readings.value.iter().filter_map(|judged| point(judged, clock)).collect();
    let (mut from, mut since) = beginning(&points, about, limit);
    let step = last_step(&points[from..]);
    if let Some(step) = &step {
        from += step.after;
        since = format!("the step of {}", step.to.at.date());
    }
    for point in &mut points[from..] {
        point.in_fit = true;
    }
    let fit = fit(&points[from..]);
    let now_on_clock = join::read_clock(&about.clocks, clock);
    let ahead = Ahead { booth, library, machine: at, clock, at: now_on_clock, now };
    let (forecast, no_forecast) = match ahead.forecast(fit.as_ref(), &points[from..], limit) {
        Ok(forecast) => (Some(forecast), None),
        Err(why) => (None, Some(why)),
    };
    let change = change(&points, about, limit);
    let mut because = readings.because;
    because.push(rule());
    because.extend(points[from..].iter().map(|point| Ground::Entry {
        entry: point.reading.entry,
        words:
            format!("{} {} on {}", point.reading.value, point.reading.unit, point.reading.at.date()).into(),
    }));
    let value = Trend {
        machine: id,
        limit,
        clock,
        now: now_on_clock,
        points,
        since,
        fit,
        forecast,
        no_forecast,
        step,
        change,
    };
    Ok(Answer { value, because, caveats: readings.caveats })
}

fn rule() -> Ground {
    Ground::Rule {
        words: Cow::Borrowed(
            "a forecast needs five readings over 30 hours since the last baseline, part change or step",
        ),
        source: COMMON_PRACTICE,
    }
}

fn point<'a>(judged: &JudgedReading<'a>, clock: Clock) -> Option<TrendPoint<'a>> {
    let (reading, limit) = (judged.reading, judged.limit);
    if reading.unit != limit.unit.as_str() {
        return None;
    }
    let reference = judged.reference.map(|own| own.value);
    let value = limit.on_basis(reading.value, reference).filter(|value| value.is_finite())?;
    let scale = match limit.basis {
        Basis::ShareOfReference => 100.0 / reference?.abs(),
        Basis::Reading | Basis::DifferenceFromReference => 1.0,
    };
    let doubt = scale * doubt(reading, limit);
    let on_clock = join::read_clock(&reading.clocks, clock);
    Some(TrendPoint { reading, on_clock, value, doubt, verdict: judged.verdict, in_fit: false })
}

/// The standard uncertainty of a reading, in its own unit.
fn doubt(reading: &ReadingRecord, limit: &ReadingLimit) -> f64 {
    let repeats = match limit.repeats {
        Some(Repeats::Percent(share)) => share / 100.0 * reading.value.abs(),
        Some(Repeats::Amount(amount)) => amount,
        None => 0.0,
    };
    reading.uncertainty.unwrap_or(0.0).max(repeats)
}

/// Which reading the line begins with, and why.
fn beginning(points: &[TrendPoint<'_>], machine: &Machine, limit: &ReadingLimit) -> (usize, String) {
    let baseline = points.iter().rposition(|point| point.reading.baseline).map(|last| {
        // Several baselines in a row belong together: the first of them begins.
        let before = points[..last].iter().rposition(|point| !point.reading.baseline);
        before.map_or(0, |before| before + 1)
    });
    let part = last_change(machine, limit).filter(|(_, _, repair)| !repair).map(|(at, ..)| {
        let from = points.iter().position(|point| point.reading.at >= at).unwrap_or(points.len());
        (from, at)
    });
    match (baseline, part) {
        (baseline, Some((from, at))) if from > baseline.unwrap_or(0) => {
            (from, format!("the change of a part on {}", at.date()))
        }
        (Some(from), _) => (from, format!("the baseline of {}", points[from].reading.at.date())),
        (None, _) => (0, "the first reading".to_owned()),
    }
}

/// The last repair of the machine or change of a part that the quantity tells of; true for a repair.
fn last_change(machine: &Machine, limit: &ReadingLimit) -> Option<(When, EntryId, bool)> {
    let parts = limit.parts.iter().filter_map(|slot| machine.disturbed.get(slot.as_str()));
    let parts = parts.filter(|(at, _)| *at > machine.added.0).map(|(at, entry)| (*at, *entry, false));
    let repairs = machine
        .events
        .iter()
        .filter(|event| join::trigger_of_event(&event.event) == Some(Trigger::Repair))
        .map(|event| (event.at, event.entry, true));
    parts.chain(repairs).max_by_key(|(at, ..)| at.unix_ms)
}

fn change<'a>(points: &[TrendPoint<'a>], machine: &Machine, limit: &ReadingLimit) -> Option<Change<'a>> {
    let (at, entry, _) = last_change(machine, limit)?;
    let before = points.iter().rev().find(|point| point.reading.at < at)?;
    let after = points.iter().find(|point| point.reading.at >= at)?;
    let difference = after.reading.value - before.reading.value;
    let doubt = doubt(before.reading, limit).hypot(doubt(after.reading, limit));
    Some(Change {
        at,
        entry,
        before: before.reading,
        after: after.reading,
        difference,
        clear: difference.abs() > COVERAGE * doubt,
    })
}

fn fit(points: &[TrendPoint<'_>]) -> Option<Fit> {
    let line = theil_sen(&points.iter().map(|point| (point.on_clock, point.value)).collect::<Vec<_>>())?;
    let (first, last) = (points.first()?, points.last()?);
    let (from, to) = (first.on_clock, last.on_clock);
    let moved = (line.at(to) - line.at(from)).abs();
    let beyond_repeats = moved > COVERAGE * first.doubt.hypot(last.doubt);
    Some(Fit { line, from, to, beyond_repeats })
}

/// What lies ahead of a machine.
struct Ahead<'q, 'a> {
    booth: &'a Booth,
    library: &'a Library,
    machine: usize,
    clock: Clock,
    at: f64,
    now: &'q ZonedDateTime,
}

impl<'a> Ahead<'_, 'a> {
    fn forecast(
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
        let bound = match (act.low, act.high) {
            (Some(low), _) if here < low => low,
            (_, Some(high)) if here > high || rising => high,
            (Some(low), _) if !rising => low,
            _ => return Err("it moves away from the limit".to_owned()),
        };
        let upwards = here > bound || (rising && act.high == Some(bound));
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
        let desk = Desk::new(self.booth, self.library, self.now);
        let (early, before) = self.crossing(&desk, early);
        Ok(Forecast {
            limit: bound,
            early,
            middle: self.first_beyond(|x| gap(fit.line.at(x))).map(|hours| self.crossing(&desk, hours).0),
            late: self.first_beyond(farther).map(|hours| self.crossing(&desk, hours).0),
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

    fn crossing(&self, desk: &Desk<'a>, in_hours: f64) -> (Crossing, Option<(&'a ShowingId, &'a Showing)>) {
        let turns = Turns::deal_to(self.booth, &desk.coming, &[self.machine]);
        let standing = Standing {
            remaining: Some(in_hours),
            remaining_days: None,
            clock: self.clock,
            turns: turns.of(self.machine),
            per_day: desk.per_day(self.machine, self.clock),
        };
        let found = due::forecast(&standing, &desk.now);
        let date = found.in_days.map(|days| desk.now.day.plus(days).date());
        let before = found.showing.and_then(|id| self.booth.showings.get_key_value(id));
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
