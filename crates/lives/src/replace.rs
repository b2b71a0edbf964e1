//! The age at which to change a part before it fails.
//!
//! # Method
//! Age replacement (Barlow and Proschan 1965, Mathematical Theory of Reliability): a part is changed at age T as
//! planned, or on failure before. In the long run an hour costs
//!
//! C(T) = [Cp R(T) + Cf (1 − R(T))] / ∫₀ᵀ R,
//!
//! R survival, Cp the cost of a planned change, Cf that of a failure. The best T makes C least; where C only falls, the
//! part is best left until it fails.

use crate::{bayes::Posterior, life::Life, root};
use serde::Serialize;

/// What a change costs, in any one currency.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Costs {
    /// A stoppage: the part fails in use.
    pub failure: f64,
    /// A change at a time of one's own choosing.
    pub planned: f64,
}

/// Costs that make no sense.
#[derive(Clone, Copy, PartialEq, Debug, thiserror::Error)]
#[error("the cost of a {which} must be a positive number, not {value}")]
pub struct NotACost {
    /// Which cost.
    pub which: &'static str,
    /// What it was.
    pub value: f64,
}

impl Costs {
    /// Takes two costs; fails where one is not a positive number.
    pub fn new(failure: f64, planned: f64) -> Result<Self, NotACost> {
        for (which, value) in [("failure", failure), ("planned change", planned)] {
            if !(value.is_finite() && value > 0.0) {
                return Err(NotACost { which, value });
            }
        }
        Ok(Self { failure, planned })
    }
}

/// When to change a part.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Replacement {
    /// The best age; none where it is best to leave the part until it fails.
    pub best_age: Option<f64>,
    /// Cost of an hour (or whatever the clock counts) at the best age.
    pub cost_rate: f64,
    /// Cost of an hour where the part is left until it fails.
    pub run_to_failure_cost_rate: f64,
    /// Ages between which an hour costs at most a twentieth more than at best; no upper end where even leaving the part
    /// until it fails costs no more.
    pub nearly_as_good: Option<(f64, Option<f64>)>,
}

/// A twentieth: what a change at a handy time may cost more. Our choice, no source.
const NEARLY: f64 = 1.05;
/// A planned change must save at least this share against leaving the part; less is rounding.
const WORTH_IT: f64 = 1e-9;

/// Cost of an hour where a part of this law is changed at an age.
pub fn cost_rate(life: &Life, costs: Costs, age: f64) -> f64 {
    rate(costs, life.survival(age), life.cdf(age), life.mean_until(age))
}

fn rate(costs: Costs, survival: f64, failed: f64, time: f64) -> f64 {
    (costs.planned * survival + costs.failure * failed) / time
}

/// The best age to change a part whose law is known.
pub fn best_age(life: &Life, costs: Costs) -> Replacement {
    let rate = |age: f64| cost_rate(life, costs, age);
    best(rate, costs.failure / life.mean(), (life.quantile(1e-7), life.quantile(0.999_999)))
}

/// The best age to change a part of whose law there is only belief: least expected cost over least expected time.
pub fn best_age_believed(belief: &Posterior, costs: Costs) -> Replacement {
    let rate = |age: f64| {
        let survival = belief.expect(|law| law.life().survival(age));
        rate(costs, survival, 1.0 - survival, belief.expect(|law| law.life().mean_until(age)))
    };
    let mean = belief.expect(|law| law.life().mean());
    let middle = belief.middle();
    best(rate, costs.failure / mean, (0.2 * middle.quantile(1e-6), 4.0 * middle.quantile(0.999)))
}

/// A part that wears on two clocks at once, as a belt by hours and by years: it fails when either says so.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TwoClocks {
    /// Its law by the clock in which the answer is wanted.
    pub first: Life,
    /// Its law by the other clock.
    pub second: Life,
    /// How far the other clock goes for one unit of the first.
    pub second_per_first: f64,
}

impl TwoClocks {
    /// Survival to an age on the first clock.
    pub fn survival(&self, age: f64) -> f64 {
        (self.first.ln_survival(age) + self.second.ln_survival(age * self.second_per_first)).exp()
    }

    /// The best age to change it, on the first clock.
    pub fn best_age(&self, costs: Costs) -> Replacement {
        let end = self.first.quantile(0.999_999).min(self.second.quantile(0.999_999) / self.second_per_first);
        let start = self.first.quantile(1e-7).min(self.second.quantile(1e-7) / self.second_per_first);
        let time = |age: f64| integral(|t| self.survival(t), age);
        let rate = |age: f64| {
            let survival = self.survival(age);
            rate(costs, survival, 1.0 - survival, time(age))
        };
        // Beyond the end next to nothing lives.
        best(rate, costs.failure / time(2.0 * end), (start, end))
    }
}

/// Integral from 0 by Gauss-Legendre on stretches that grow towards the end.
fn integral(f: impl Fn(f64) -> f64, to: f64) -> f64 {
    const GAUSS: [(f64, f64); 3] = [
        (0.238_619_186_083_196_93, 0.467_913_934_572_691_04),
        (0.661_209_386_466_264_5, 0.360_761_573_048_138_6),
        (0.932_469_514_203_152, 0.171_324_492_379_170_36),
    ];
    const STRETCHES: u32 = 24;
    let edge = |at: u32| to * (f64::from(at) / f64::from(STRETCHES)).powi(2);
    (0..STRETCHES)
        .map(|at| {
            let (middle, half) = (0.5 * (edge(at) + edge(at + 1)), 0.5 * (edge(at + 1) - edge(at)));
            let both =
                |(place, weight): (f64, f64)| weight * (f(middle - half * place) + f(middle + half * place));
            half * GAUSS.into_iter().map(both).sum::<f64>()
        })
        .sum()
}

/// Looks over ages by equal ratios, then narrows; cost may have several dips, the deepest counts.
fn best(rate: impl Fn(f64) -> f64, never: f64, (from, to): (f64, f64)) -> Replacement {
    const LOOKS: usize = 240;
    let (low, high) = (from.max(f64::MIN_POSITIVE).ln(), to.ln());
    let step = (high - low) / LOOKS as f64;
    let place = |at: usize| low + step * at as f64;
    let deepest =
        (0..=LOOKS).min_by(|&a, &b| rate(place(a).exp()).total_cmp(&rate(place(b).exp()))).unwrap_or(0);
    let left = |never| Replacement {
        best_age: None,
        cost_rate: never,
        run_to_failure_cost_rate: never,
        nearly_as_good: None,
    };
    if deepest == 0 || deepest == LOOKS {
        return left(never);
    }
    let age = deepest_between(&rate, place(deepest - 1), place(deepest + 1)).exp();
    let cost_rate = rate(age);
    if cost_rate > never * (1.0 - WORTH_IT) {
        return left(never);
    }
    let over = |ln_age: f64| rate(ln_age.exp()) - NEARLY * cost_rate;
    let earliest = root::between(
        over,
        (low.min(age.ln() - 5.0), f64::INFINITY.min(over(low))),
        (age.ln(), over(age.ln())),
    );
    let latest =
        (over(high) > 0.0).then(|| root::between(over, (age.ln(), over(age.ln())), (high, over(high))).exp());
    Replacement {
        best_age: Some(age),
        cost_rate,
        run_to_failure_cost_rate: never,
        nearly_as_good: Some((earliest.exp(), latest)),
    }
}

/// Where the slope, by differences of five points, is nothing: far nearer than comparing heights could come.
fn deepest_between(rate: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (at, _) = root::summit(|y| -rate(y.exp()), low, high, 40);
    let step = 2e-3;
    let f = |y: f64| rate(y.exp());
    let slope = |y: f64| 8.0 * (f(y + step) - f(y - step)) - (f(y + 2.0 * step) - f(y - 2.0 * step));
    let (left, right) = (at - 1e-3, at + 1e-3);
    let (f_left, f_right) = (slope(left), slope(right));
    if f_left < 0.0 && f_right > 0.0 { root::between(slope, (left, f_left), (right, f_right)) } else { at }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::bayes::{Posterior, Prior};

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found / wanted - 1.0).abs() < within, "{found} is not {wanted}");
    }

    /// Barlow and Proschan's model with the numbers of a worked example that reliability texts reprint (shape 2.5,
    /// scale 1000 h, a failure five times as dear): 493.047 h, from memory; the cost rates by the formula.
    #[test]
    fn age_replacement_agrees_with_the_worked_example() {
        let found = best_age(&Life::weibull(2.5, 1000.0).unwrap(), Costs::new(5.0, 1.0).unwrap());
        near(found.best_age.unwrap(), 493.0470, 1e-6);
        near(found.cost_rate, 0.003_462_04, 1e-6);
        near(found.run_to_failure_cost_rate, 0.005_635_30, 1e-6);
        let (early, late) = found.nearly_as_good.unwrap();
        assert!(early < 430.0 && late.unwrap() > 560.0);
        let life = Life::weibull(2.5, 1000.0).unwrap();
        near(cost_rate(&life, Costs::new(5.0, 1.0).unwrap(), early), 1.05 * found.cost_rate, 1e-9);
    }

    #[test]
    fn a_second_example() {
        let found = best_age(&Life::weibull(3.0, 150.0).unwrap(), Costs::new(8.0, 2.0).unwrap());
        near(found.best_age.unwrap(), 83.123, 1e-5);
        near(found.cost_rate, 0.036_850_3, 2e-6);
    }

    /// At the best age: hazard × mean time − chance of failure = Cp/(Cf − Cp), for every law.
    #[test]
    fn the_best_age_satisfies_the_equation_of_barlow_and_proschan() {
        let costs = Costs::new(12.0, 1.0).unwrap();
        for life in [
            Life::Weibull { shape: 3.3, scale: 40.0 },
            Life::Gamma { shape: 6.0, scale: 8.0 },
            Life::ShiftedWeibull { shape: 1.9, scale: 50.0, location: 20.0 },
            Life::Lognormal { median: 60.0, log_sd: 0.3 },
        ] {
            let age = best_age(&life, costs).best_age.unwrap();
            near(life.hazard(age) * life.mean_until(age) - life.cdf(age), 1.0 / 11.0, 1e-6);
        }
    }

    #[test]
    fn a_part_that_does_not_wear_is_left_until_it_fails() {
        let dear = Costs::new(50.0, 1.0).unwrap();
        for life in [
            Life::Exponential { mean: 30.0 },
            Life::Weibull { shape: 0.8, scale: 30.0 },
            Life::Weibull { shape: 1.0, scale: 9.0 },
        ] {
            let found = best_age(&life, dear);
            assert_eq!((found.best_age, found.nearly_as_good), (None, None), "{life:?}");
            near(found.cost_rate, 50.0 / life.mean(), 1e-12);
        }
        // Nothing is gained by a planned change that costs as much as a failure.
        assert_eq!(
            best_age(&Life::Weibull { shape: 3.0, scale: 9.0 }, Costs::new(1.0, 1.0).unwrap()).best_age,
            None
        );
        assert!(Costs::new(0.0, 1.0).is_err());
    }

    #[test]
    fn belief_that_is_all_but_knowledge_gives_the_known_age() {
        let belief = Posterior::of_prior(Prior::around(2.5, 1000.0).doubted(0.002, 0.002));
        let found = best_age_believed(&belief, Costs::new(5.0, 1.0).unwrap());
        near(found.best_age.unwrap(), 493.047, 1e-3);
        // Doubt costs money: what is best on the whole is not best for the true law.
        let doubtful = best_age_believed(
            &Posterior::of_prior(Prior::around(2.5, 1000.0)),
            Costs::new(5.0, 1.0).unwrap(),
        );
        assert!(
            doubtful.cost_rate > found.cost_rate
                && doubtful.best_age.is_some_and(|age| (300.0..800.0).contains(&age))
        );
    }

    #[test]
    fn the_clock_that_matters_decides_and_both_together_shorten() {
        let costs = Costs::new(10.0, 1.0).unwrap();
        let hours = Life::Weibull { shape: 2.5, scale: 1000.0 };
        let years = Life::Weibull { shape: 3.0, scale: 9.0 };
        let both =
            |rate: f64| TwoClocks { first: hours, second: years, second_per_first: rate }.best_age(costs);
        near(both(1e-9).best_age.unwrap(), best_age(&hours, costs).best_age.unwrap(), 1e-4);
        let by_years = best_age(&years, costs).best_age.unwrap();
        near(both(10.0).best_age.unwrap() * 10.0, by_years, 1e-4);
        let mixed = both(0.01).best_age.unwrap();
        assert!(mixed < best_age(&hours, costs).best_age.unwrap() && mixed * 0.01 < by_years);
    }
}
