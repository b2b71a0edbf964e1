//! Which quantities may be past the limit beyond which no film is to run, once the machine has run on.

use super::{ReadAt, TrendPoint, View, ahead};
use crate::verdict::Verdict;
use lives::special::{normal_cdf, normal_sf};
use logbook::{MachineId, When, booth::Machine, booth::ReadingRecord};
use machine::{Bounds, Clock, ReadingLimit, SlotId};
use units::Probability;

/// A quantity that may be past its limit.
#[derive(Clone, Debug)]
pub(crate) struct Passing<'a> {
    /// What is read, and at which part.
    pub name: String,
    /// The parts that it tells of: that at which it was read, or all that the limit names.
    pub parts: Vec<&'a SlotId>,
    /// The last reading that counts.
    pub last: &'a ReadingRecord,
    /// The chance that it is past the limit by then.
    pub chance: Probability,
    /// Since when each reading has been past it; none if the last was not.
    pub past_since: Option<When>,
}

/// Below this a chance is not worth a line.
const LEAST_CHANCE: f64 = 1e-4;

impl<'a> View<'_, 'a> {
    /// Returns what may be past the limit beyond which no film is to run once the clocks have gone on by `ahead`. What
    /// was good when it was last read is not looked at, nor what was read before the last change of its parts.
    ///
    /// # Method
    /// The line of the trend with its doubt, taken as normal on either side; where there are too few readings for a line
    /// to be led on, the last one with its own doubt. A last reading past the limit counts whatever the line says.
    pub fn passing(
        &self,
        id: &MachineId,
        machine: &'a Machine,
        ahead: impl Fn(Clock) -> f64,
    ) -> Vec<Passing<'a>> {
        let one = |((quantity, slot), limit): (ReadAt<'a>, &'a ReadingLimit)| {
            let stop = limit.stop?;
            let trend = self
                .trend(id.as_str(), quantity.as_str(), slot.map(logbook::ids::SlotId::as_str))
                .ok()?
                .value;
            let points: Vec<&TrendPoint<'a>> = trend.points.iter().filter(|point| point.in_fit).collect();
            let last = points.last()?;
            let led = trend.fit.filter(|fit| ahead::may_lead_on(fit, points.len())).map(|fit| {
                let x = trend.now + ahead(trend.clock);
                beyond(fit.line.at(x), fit.line.doubt(x), stop)
            });
            let by_itself = || beyond(last.value, (last.doubt, last.doubt), stop);
            let chance = match led {
                // One reading cannot bend such a line; where it is past the limit it counts until it is read again.
                Some(led) if last.verdict == Verdict::Stop => led.max(by_itself()),
                Some(led) => led,
                None => by_itself(),
            };
            let past = points.iter().rev().take_while(|point| point.verdict == Verdict::Stop);
            (chance > LEAST_CHANCE).then(|| Passing {
                name: trend.name(),
                parts: trend.part.map_or_else(|| limit.parts.iter().collect(), |part| vec![&part.id]),
                last: last.reading,
                chance: Probability::clamped(chance),
                past_since: past.last().map(|point| point.reading.at),
            })
        };
        self.watched(machine).filter_map(one).collect()
    }
}

/// The chance that a value lies outside bounds, with its standard deviations downwards and upwards.
fn beyond(value: f64, (down, up): (f64, f64), bounds: Bounds) -> f64 {
    // A bound above the value is passed by straying upwards, one below it by straying downwards.
    let spread = |bound: f64| if bound > value { up } else { down };
    let far = |bound: f64| match (bound - value) / spread(bound) {
        // Neither doubt nor distance: on the limit is within it.
        none if none.is_nan() => None,
        far => Some(far),
    };
    let above = bounds.high.and_then(far).map_or(0.0, normal_sf);
    let below = bounds.low.and_then(far).map_or(0.0, normal_cdf);
    (above + below).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tenth of a normal law lies 1.281552 standard deviations above its middle, a fortieth 1.959964 (any table).
    #[test]
    fn the_chance_to_be_past_a_limit_is_that_of_a_table() {
        let bounds = Bounds { low: Some(1.0), high: Some(3.0) };
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a} {b}");
        near(beyond(3.0 - 1.281_552 * 0.1, (9.0, 0.1), Bounds { low: None, ..bounds }), 0.1);
        near(beyond(1.0 + 1.959_964 * 0.1, (0.1, 9.0), Bounds { high: None, ..bounds }), 0.025);
        // Past it already, by as much: it is straying back that would bring it within.
        near(beyond(3.0 + 1.281_552 * 0.1, (0.1, 9.0), Bounds { low: None, ..bounds }), 0.9);
        near(beyond(2.0, (1.0, 1.0), bounds), 2.0 * 0.158_655_254);
    }

    #[test]
    fn without_doubt_it_is_past_or_it_is_not() {
        let bounds = Bounds { low: None, high: Some(3.0) };
        for (value, chance) in [(2.9, 0.0), (3.0, 0.0), (3.1, 1.0)] {
            assert_eq!(beyond(value, (0.0, 0.0), bounds), chance, "{value}");
        }
    }
}
