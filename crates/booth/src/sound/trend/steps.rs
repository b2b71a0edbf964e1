//! A jump in the readings is another thing than a slope: somebody changed something.

use super::TrendPoint;
use crate::sound::robust::{scale_of, theil_sen};
use logbook::booth::ReadingRecord;

/// So many readings must stand before a step can be told from scatter.
const FEWEST_BEFORE: usize = 4;
/// So many readings in a row must lie off: one alone is a bad reading.
const FEWEST_OFF: usize = 2;
/// A reading lies off beyond so many scaled median absolute deviations (common practice, no source).
const OFF: f64 = 3.0;

/// A jump between two readings.
#[derive(Clone, Copy, Debug)]
pub struct Step<'a> {
    /// The last reading before it.
    pub from: &'a ReadingRecord,
    /// The first reading after it.
    pub to: &'a ReadingRecord,
    /// By how much, on the limit's basis.
    pub by: f64,
    /// How many of the readings looked at lie before it.
    pub(super) after: usize,
}

/// Finds the last step: two readings in a row that lie on the same side of the line before them, more than three
/// deviations off.
pub(super) fn last_step<'a>(points: &[TrendPoint<'a>]) -> Option<Step<'a>> {
    let mut found: Option<Step<'a>> = None;
    loop {
        let from = found.map_or(0, |step| step.after);
        match first_step(&points[from..]) {
            Some(step) => found = Some(Step { after: from + step.after, ..step }),
            None => return found,
        }
    }
}

fn first_step<'a>(points: &[TrendPoint<'a>]) -> Option<Step<'a>> {
    (FEWEST_BEFORE..points.len().saturating_sub(FEWEST_OFF - 1)).find_map(|at| step_at(points, at))
}

fn step_at<'a>(points: &[TrendPoint<'a>], at: usize) -> Option<Step<'a>> {
    let (before, after) = points.split_at(at);
    let line = theil_sen(&before.iter().map(|point| (point.on_clock, point.value)).collect::<Vec<_>>())?;
    let apart = |point: &TrendPoint<'_>| point.value - line.at(point.on_clock);
    let scatter = scale_of(before.iter().map(apart));
    let off = after.iter().take(FEWEST_OFF).map(|point| {
        // What the line itself does not know at this place counts as scatter.
        let (low, high) = line.band(point.on_clock);
        let own = scatter.max(point.doubt);
        apart(point) / own.hypot((high - low) / 2.0).max(f64::MIN_POSITIVE)
    });
    let off: Vec<f64> = off.collect();
    let (first, last) = (before.last()?, after.first()?);
    let all = |beyond: fn(f64) -> bool| off.iter().all(|off| beyond(*off));
    (all(|off| off > OFF) || all(|off| off < -OFF)).then(|| Step {
        from: first.reading,
        to: last.reading,
        by: apart(last),
        after: at,
    })
}
