//! Where the parts that are in now stand on their lives.

use super::{CONFIDENCE, Change, Kind, View};
use crate::lived::{Entered, age_on, is_reckoned};
use ::lives::bayes::{Chance, Posterior};
use logbook::{MachineId, PartId};
use machine::{LifeClock, PriorLife};
use units::Probability;

/// A part that is in now.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FittedLife<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// The part.
    pub part: &'a PartId,
    /// Its age on the clock of the life.
    pub age: Entered,
    /// How far is looked ahead, on the clock.
    pub span: f64,
    /// The chance that it fails within that span.
    pub chance: Chance,
    /// It is past its best age for a change; none where there is no such age, or its own is not known.
    pub past_change: Option<bool>,
}

impl FittedLife<'_> {
    /// Its age, where it is known.
    pub const fn known_age(&self) -> Option<f64> {
        match self.age {
            Entered::At(age) => Some(age),
            Entered::Within(..) => None,
        }
    }
}

/// How far is looked ahead on each clock: about a month of a busy booth, and a year where years count.
pub(super) const fn span(clock: LifeClock) -> f64 {
    match clock {
        LifeClock::Hours | LifeClock::LampHours => 25.0,
        LifeClock::Strikes | LifeClock::Showings => 12.0,
        LifeClock::Years => 1.0,
        LifeClock::Operations => 0.0,
    }
}

pub(super) fn of<'a>(
    view: &View<'a>,
    of: &Kind<'a>,
    life: &'a PriorLife,
    change: Option<&Change>,
) -> Vec<FittedLife<'a>> {
    let reckoned = of.machines.iter().filter(|(_, machine)| is_reckoned(machine, of.kind, life));
    let fitted = reckoned.filter_map(|&(id, machine)| {
        let (part, lived) = view.booth.parts.get_key_value(machine.fitted.get(life.slot.as_str())?)?;
        let age = age_on(view.booth, part, lived, life, &view.now)?;
        let belief = view.beliefs.of(of.kind, life, id);
        let span = span(life.clock);
        let past_change = match (age, change) {
            (Entered::At(age), Some(change)) => Some(age > change.best_age),
            _ => None,
        };
        Some(FittedLife { machine: id, part, age, span, chance: chance(&belief, age, span), past_change })
    });
    fitted.collect()
}

/// The chance to fail within a span, over every age that is possible.
fn chance(belief: &Posterior, age: Entered, span: f64) -> Chance {
    const PLACES: u32 = 9;
    match age {
        Entered::At(age) => belief.failure_chance(age, span, CONFIDENCE),
        Entered::Within(low, high) => {
            let place = |at: u32| low + (high - low) * (f64::from(at) + 0.5) / f64::from(PLACES);
            let chances: Vec<Chance> =
                (0..PLACES).map(|at| belief.failure_chance(place(at), span, CONFIDENCE)).collect();
            // The older, the less likely that it has come so far.
            let weights: Vec<f64> =
                (0..PLACES).map(|at| belief.expect(|law| law.life().survival(place(at)))).collect();
            let total: f64 = weights.iter().sum();
            let mean = chances
                .iter()
                .zip(&weights)
                .map(|(chance, weight)| chance.chance.value() * weight)
                .sum::<f64>();
            let edge = |of: fn(&Chance) -> f64| chances.iter().map(of);
            Chance {
                chance: Probability::clamped(if total > 0.0 { mean / total } else { 1.0 }),
                low: Probability::clamped(edge(|chance| chance.low.value()).fold(1.0, f64::min)),
                high: Probability::clamped(edge(|chance| chance.high.value()).fold(0.0, f64::max)),
            }
        }
    }
}
