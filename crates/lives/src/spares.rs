//! How many spares to hold so that those that fail before more can come are covered.

mod shared;

pub use shared::{Shelf, Spot};

use crate::{bayes::Posterior, life::Life};
use serde::Serialize;
use units::Probability;

/// A place where a part is fitted.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Fitted {
    /// The law of parts in this place.
    pub life: Life,
    /// Age of the part there now.
    pub age: f64,
    /// How far the clock goes before more spares can come: the running hours of the lead time.
    pub span: f64,
}

/// Chances of needing 0, 1, 2 … spares.
#[derive(Clone, PartialEq, Debug)]
pub struct Demand {
    chances: Vec<f64>,
}

/// How many spares to hold.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Stock {
    /// Spares to hold.
    pub spares: usize,
    /// Chance that so many are enough.
    pub covered: Probability,
    /// Expected number of spares used.
    pub expected_use: f64,
}

/// Chances beyond this sum are let go.
const LET_GO: f64 = 1e-13;
/// More spares than any store of a booth holds; a demand beyond is reckoned as this many.
const MOST: usize = 10_000;

impl Demand {
    /// No spare is needed.
    pub fn none() -> Self {
        Self { chances: vec![1.0] }
    }

    /// Demand by chance alone, so many expected: Poisson's law.
    pub fn poisson(expected: f64) -> Self {
        let mut chances = Vec::new();
        let (mut sum, mut k) = (0.0, 0.0);
        while sum < 1.0 - LET_GO && chances.len() < MOST {
            let ln = if expected > 0.0 {
                k * expected.ln() - expected - crate::special::ln_gamma(k + 1.0)
            } else {
                0.0
            };
            chances.push(ln.exp());
            sum += ln.exp();
            k += 1.0;
            // Past the bulk, chances no longer add anything.
            if k > expected && ln.exp() < 1e-17 {
                break;
            }
        }
        Self { chances }
    }

    /// Demand of one place: the part there fails at some age past its own, the next from new, and so on (a renewal
    /// process).
    pub fn of(fitted: &Fitted) -> Self {
        let first = |t: f64| fitted.life.failure_chance(fitted.age, t).value();
        let next = |t: f64| fitted.life.cdf(t);
        // The error of the sums goes with the square of the step: two steps together lose it.
        let (coarse, fine) =
            (renewals(first, next, fitted.span, STEPS), renewals(first, next, fitted.span, 2 * STEPS));
        let chances = (0..fine.len())
            .map(|k| ((4.0 * fine[k] - coarse.get(k).copied().unwrap_or(0.0)) / 3.0).clamp(0.0, 1.0))
            .collect();
        Self { chances }
    }

    /// Demand of several places that share one store.
    pub fn of_all(fitted: &[Fitted]) -> Self {
        fitted.iter().fold(Self::none(), |all, one| all.and(&Self::of(one)))
    }

    /// Demand of several places where the law is only believed: all have the same unknown law, so that a bad batch
    /// fails everywhere. Each place: age now, and how far its clock goes. The belief is thinned to some hundred laws.
    pub fn believed(belief: &Posterior, places: &[(f64, f64)]) -> Self {
        let mut chances: Vec<f64> = Vec::new();
        let laws = thinned(belief);
        for (life, weight) in &laws {
            let fitted: Vec<Fitted> =
                places.iter().map(|&(age, span)| Fitted { life: *life, age, span }).collect();
            let one = Self::of_all(&fitted).chances;
            if one.len() > chances.len() {
                chances.resize(one.len(), 0.0);
            }
            for (sum, chance) in chances.iter_mut().zip(one) {
                *sum += weight * chance;
            }
        }
        Self { chances }
    }

    /// Both demands together, neither bearing on the other.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        let mut chances = vec![0.0; (self.chances.len() + other.chances.len() - 1).min(MOST)];
        for (i, a) in self.chances.iter().enumerate() {
            for (j, b) in other.chances.iter().enumerate() {
                let at = (i + j).min(chances.len() - 1);
                chances[at] += a * b;
            }
        }
        while chances.len() > 1 && chances.last().is_some_and(|last| *last < 1e-17) {
            chances.pop();
        }
        Self { chances }
    }

    /// Chance that exactly so many are needed.
    pub fn chance(&self, needed: usize) -> Probability {
        Probability::clamped(self.chances.get(needed).copied().unwrap_or(0.0))
    }

    /// Chance that so many are enough.
    pub fn covered_by(&self, spares: usize) -> Probability {
        Probability::clamped(self.chances.iter().take(spares + 1).sum())
    }

    /// Expected number needed.
    pub fn expected(&self) -> f64 {
        self.chances.iter().enumerate().map(|(k, chance)| k as f64 * chance).sum()
    }

    /// The least stock that is enough with the chance asked for.
    pub fn stock_for(&self, service: Probability) -> Stock {
        let mut covered = 0.0;
        let last = self.chances.len() - 1;
        let spares = self.chances.iter().position(|chance| {
            covered += chance;
            covered >= service.value()
        });
        let spares = spares.unwrap_or(last);
        Stock { spares, covered: self.covered_by(spares), expected_use: self.expected() }
    }
}

/// Steps of time in a renewal sum.
const STEPS: usize = 128;

/// Chances of 0, 1, 2 … renewals in a span.
fn renewals(first: impl Fn(f64) -> f64, next: impl Fn(f64) -> f64, span: f64, steps: usize) -> Vec<f64> {
    if span <= 0.0 {
        return vec![1.0];
    }
    let step = span / steps as f64;
    let at = |i: usize| step * i as f64;
    // by[i]: chance that the k-th failure has come by the i-th moment.
    let mut by: Vec<f64> = (0..=steps).map(|i| first(at(i))).collect();
    // Chance that a new part fails in the i-th step.
    let new: Vec<f64> = (0..=steps).map(|i| next(at(i))).collect();
    let mut chances = vec![1.0 - by[steps]];
    while by[steps] > LET_GO && chances.len() < MOST {
        // The k+1-th has come by t: the k-th came in a step, a new part failed in what is left; by trapezoids.
        let after: Vec<f64> = (0..=steps)
            .map(|i| (1..=i).map(|j| (by[j] - by[j - 1]) * 0.5 * (new[i - j] + new[i - j + 1])).sum())
            .collect();
        chances.push((by[steps] - after[steps]).max(0.0));
        by = after;
    }
    chances
}

/// The belief as at most some hundred laws of equal weight, each in the middle of its share: by scale within shape.
fn thinned(belief: &Posterior) -> Vec<(Life, f64)> {
    const LAWS: f64 = 160.0;
    let mut out = Vec::new();
    let (mut weight, mut shape, mut ln_scale) = (0.0, 0.0, 0.0);
    for law in belief.laws() {
        weight += law.weight;
        shape += law.weight * law.shape;
        ln_scale += law.weight * law.scale.ln();
        if weight >= 1.0 / LAWS {
            out.push((Life::Weibull { shape: shape / weight, scale: (ln_scale / weight).exp() }, weight));
            (weight, shape, ln_scale) = (0.0, 0.0, 0.0);
        }
    }
    if weight > 0.0 {
        out.push((Life::Weibull { shape: shape / weight, scale: (ln_scale / weight).exp() }, weight));
    }
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::bayes::Prior;

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found - wanted).abs() < within, "{found} is not {wanted}");
    }

    /// Cumulative Poisson tables as every handbook prints them.
    #[test]
    fn stock_agrees_with_the_poisson_table() {
        let service = Probability::new(0.95).unwrap();
        for (mean, spares, covered) in
            [(1.0, 3, 0.9810), (2.0, 5, 0.9834), (3.0, 6, 0.9665), (5.0, 9, 0.9682)]
        {
            let stock = Demand::poisson(mean).stock_for(service);
            assert_eq!(stock.spares, spares);
            near(stock.covered.value(), covered, 5e-5);
            near(stock.expected_use, mean, 1e-9);
        }
        assert_eq!(Demand::poisson(0.0).stock_for(service).spares, 0);
    }

    #[test]
    fn renewals_of_parts_without_wear_are_poisson() {
        for (span, places) in [(50.0, 1), (200.0, 3)] {
            let fitted = vec![Fitted { life: Life::Exponential { mean: 100.0 }, age: 37.0, span }; places];
            let (found, wanted) = (Demand::of_all(&fitted), Demand::poisson(span / 100.0 * places as f64));
            for k in 0..8 {
                near(found.chance(k).value(), wanted.chance(k).value(), 1e-7);
            }
        }
    }

    /// Of a gamma law of whole shape m the count is a Poisson count of strokes divided by m.
    #[test]
    fn renewals_of_gamma_lives_are_counted_strokes() {
        let fitted = Fitted { life: Life::Gamma { shape: 3.0, scale: 10.0 }, age: 0.0, span: 70.0 };
        let (found, strokes) = (Demand::of(&fitted), Demand::poisson(7.0));
        for k in 0..5 {
            let wanted: f64 = (3 * k..3 * k + 3).map(|stroke| strokes.chance(stroke).value()).sum();
            near(found.chance(k).value(), wanted, 1e-6);
        }
    }

    #[test]
    fn old_parts_and_doubt_need_more_spares() {
        let lamp = Life::Weibull { shape: 4.0, scale: 55.0 };
        let at = |age: f64| Demand::of(&Fitted { life: lamp, age, span: 30.0 });
        assert!(at(45.0).covered_by(0).value() < at(0.0).covered_by(0).value());
        let belief = Posterior::of_prior(Prior::around(4.0, 55.0));
        let places = [(20.0, 30.0), (20.0, 30.0), (20.0, 30.0)];
        let sure = Demand::of_all(&places.map(|(age, span)| Fitted { life: lamp, age, span }));
        let doubtful = Demand::believed(&belief, &places);
        near((0..20).map(|k| doubtful.chance(k).value()).sum(), 1.0, 1e-6);
        assert!(doubtful.chance(3).value() > 1.5 * sure.chance(3).value(), "a bad batch fails everywhere");
    }
}
