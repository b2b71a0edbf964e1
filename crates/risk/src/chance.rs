//! A chance that is itself uncertain.

use serde::{Deserialize, Serialize};
use statrs::function::{beta::beta_reg, gamma::ln_gamma};
use units::Probability;

/// A chance and how sure it is: the first two moments of a distribution over 0 to 1.
///
/// For independent chances the moments of a product are the products of the moments, so nothing is lost on the way
/// from a hundred parts to one programme. A band is read from the beta distribution with the same two moments.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Chance {
    mean: f64,
    square: f64,
}

/// Two numbers that cannot be the moments of a chance.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "no chance has mean {mean} and mean square {square}: the mean lies between 0 and 1, the mean square between the mean's square and the mean"
)]
pub struct NotAChance {
    /// The mean that was given.
    pub mean: f64,
    /// The mean of the square that was given.
    pub square: f64,
}

/// A spread below this share of the greatest possible one is no spread: rounding, not doubt.
const NO_SPREAD: f64 = 1e-12;

impl Chance {
    /// It cannot happen.
    pub const NEVER: Self = Self { mean: 0.0, square: 0.0 };

    /// A chance that is known exactly.
    pub fn known(chance: Probability) -> Self {
        Self { mean: chance.value(), square: chance.value() * chance.value() }
    }

    /// From the mean and the mean of the square; fails where no distribution over 0 to 1 has them.
    pub fn from_moments(mean: f64, square: f64) -> Result<Self, NotAChance> {
        let slack = 1e-9 * mean;
        let fits = (0.0..=1.0).contains(&mean) && (mean * mean - slack..=mean + slack).contains(&square);
        if !fits {
            return Err(NotAChance { mean, square });
        }
        Ok(Self { mean, square: square.clamp(mean * mean, mean) })
    }

    /// From chances with weights, such as the points of a posterior; weights need not sum to one.
    ///
    /// Fails if a weight is negative, if all are zero, or if a chance lies outside 0 to 1.
    pub fn weighed(points: impl IntoIterator<Item = (f64, f64)>) -> Result<Self, NotAChance> {
        let (mut weight, mut mean, mut square) = (0.0, 0.0, 0.0);
        for (w, p) in points {
            if !((0.0..=1.0).contains(&p) && w >= 0.0 && w.is_finite()) {
                return Err(NotAChance { mean: p, square: p * p });
            }
            weight += w;
            mean += w * p;
            square += w * p * p;
        }
        Self::from_moments(mean / weight, square / weight)
    }

    /// The chance to reckon with.
    pub fn mean(self) -> Probability {
        Probability::clamped(self.mean)
    }

    /// The mean of the chance's square.
    pub fn second_moment(self) -> f64 {
        self.square
    }

    /// The standard deviation of the chance.
    pub fn spread(self) -> f64 {
        (self.square - self.mean * self.mean).max(0.0).sqrt()
    }

    /// The chance that it does not happen.
    #[must_use]
    pub fn complement(self) -> Self {
        Self { mean: 1.0 - self.mean, square: 1.0 - 2.0 * self.mean + self.square }
    }

    /// The chance of both, where neither bears on the other and they are estimated from different things.
    #[must_use]
    pub fn and(self, independent: Self) -> Self {
        Self { mean: self.mean * independent.mean, square: self.square * independent.square }
    }

    /// The chance of at least one, where neither bears on the other.
    #[must_use]
    pub fn or(self, independent: Self) -> Self {
        self.complement().and(independent.complement()).complement()
    }

    /// The chance if only this share of the occasions is left.
    #[must_use]
    pub fn thinned(self, share: Probability) -> Self {
        let share = share.value();
        Self { mean: self.mean * share, square: self.square * share * share }
    }

    /// The chance if the hazard behind it were `factor` times as great all the while (proportional hazards).
    ///
    /// Surviving then has the chance `(1 - p)^factor`; its moments are those of a power of a beta variate. A factor
    /// that is negative or not a number is taken as 1.
    #[must_use]
    pub fn with_hazard_times(self, factor: f64) -> Self {
        if !(factor >= 0.0 && factor.is_finite()) {
            return self;
        }
        let survives = |power: f64| match self.shape() {
            None => (1.0 - self.mean).powf(power),
            Some((a, b)) => {
                (ln_gamma(b + power) + ln_gamma(a + b) - ln_gamma(b) - ln_gamma(a + b + power)).exp()
            }
        };
        let (mean, square) = (survives(factor), survives(2.0 * factor));
        Self { mean, square: square.clamp(mean * mean, mean) }.complement()
    }

    /// The equal-tailed band that holds the chance with the given level (0.9: nine in ten).
    pub fn band(self, level: f64) -> (Probability, Probability) {
        let Some((a, b)) = self.shape() else { return (self.mean(), self.mean()) };
        let tail = (1.0 - level.clamp(0.0, 1.0)) / 2.0;
        let at = |q: f64| Probability::clamped(quantile(a, b, q));
        (at(tail), at(1.0 - tail))
    }

    /// The two shapes of the beta distribution with these moments; none where the chance is as good as known.
    fn shape(self) -> Option<(f64, f64)> {
        let greatest = self.mean * (1.0 - self.mean);
        let variance = self.square - self.mean * self.mean;
        if variance <= NO_SPREAD * greatest || greatest <= 0.0 {
            return None;
        }
        let sum = greatest / variance - 1.0;
        (sum > 0.0).then_some((self.mean * sum, (1.0 - self.mean) * sum))
    }
}

/// No chance below this is told from none: e to this power is the least double that keeps its digits.
const LEAST_LN: f64 = -700.0;
/// Newton's steps double the digits; from the worst start halving the bracket comes to the same in so many.
const MOST_STEPS: usize = 120;

/// The quantile of a beta distribution, in a bounded number of steps for every shape.
///
/// # Method
/// Newton's on the logarithm of the distribution function over the logarithm of the chance, in which the lower tail is
/// a straight line however small its shape; the bracket is halved where a step would leave it. The library's own
/// inverse never ends for some shapes far below 1.
fn quantile(a: f64, b: f64, q: f64) -> f64 {
    const HALF: f64 = 0.5;
    if beta_reg(a, b, HALF) >= q { lower_quantile(a, b, q) } else { 1.0 - lower_quantile(b, a, 1.0 - q) }
}

/// The same, where it lies at a half or below.
fn lower_quantile(a: f64, b: f64, q: f64) -> f64 {
    let ln_beta = ln_gamma(a) + ln_gamma(b) - ln_gamma(a + b);
    let (mut low, mut high) = (LEAST_LN, 0.5_f64.ln());
    let mut ln_x = (a / (a + b)).ln().clamp(low, high);
    for _ in 0..MOST_STEPS {
        let x = ln_x.exp();
        let below = beta_reg(a, b, x);
        if below < q {
            low = ln_x;
        } else {
            high = ln_x;
        }
        let slope = (a * ln_x + (b - 1.0) * (-x).ln_1p() - ln_beta).exp() / below;
        let newton = ln_x - (below / q).ln() / slope;
        let next = if newton > low && newton < high { newton } else { f64::midpoint(low, high) };
        if (next - ln_x).abs() < 1e-12 * ln_x.abs().max(1.0) {
            break;
        }
        ln_x = next;
    }
    if ln_x - LEAST_LN < 1.0 { 0.0 } else { ln_x.exp() }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn near(a: f64, b: f64, within: f64) -> bool {
        (a - b).abs() <= within
    }

    #[test]
    fn a_known_chance_has_no_band() {
        let chance = Chance::known(Probability::new(0.25).unwrap());
        assert_eq!(chance.band(0.9), (chance.mean(), chance.mean()));
        assert_eq!(chance.spread(), 0.0);
    }

    #[test]
    fn a_flat_chance_has_the_flat_band() {
        // The uniform distribution has the moments 1/2 and 1/3.
        let (low, high) = Chance::from_moments(0.5, 1.0 / 3.0).unwrap().band(0.9);
        assert!(near(low.value(), 0.05, 1e-9) && near(high.value(), 0.95, 1e-9));
    }

    /// scipy 1.x, `scipy.stats.beta.ppf(q, a, b)`; below 1e-300 it says its least number, and we say none.
    #[test]
    fn quantiles_agree_with_scipy_over_every_shape() {
        for line in include_str!("beta_quantiles.csv").lines().skip(1) {
            let [a, b, q, expected] =
                line.split(',').map(|figure| figure.parse::<f64>().unwrap()).collect::<Vec<_>>()[..]
            else {
                panic!("{line}")
            };
            let expected = if expected < 1e-300 { 0.0 } else { expected };
            let found = quantile(a, b, q);
            // ln gamma of a million is some ten million, so that nine digits are left of it; a shape of a hundredth
            // divides by itself what is wrong there.
            let apart = (found - expected).abs();
            assert!(apart <= 1e-6 * expected.min(1.0 - expected).max(1e-9), "{line}: {found}");
        }
    }

    /// Half a minute of a part that lasts for years: shapes so far below 1 that the library's inverse never came back.
    #[test]
    fn a_chance_of_next_to_nothing_has_a_band_at_once() {
        for mean in [1e-5_f64, 1e-9, 1e-14] {
            for spread in [0.5, 3.0, 40.0, 1e4] {
                let square = (mean * mean * (1.0 + spread * spread)).min(mean);
                let (low, high) = Chance::from_moments(mean, square).unwrap().band(0.9);
                assert!((0.0..=1.0).contains(&low.value()) && low <= high, "{mean} {spread}");
            }
        }
    }

    #[test]
    fn a_band_agrees_with_the_closed_form_of_beta_with_one_shape_of_one() {
        // Beta(1, b) has the distribution function 1 - (1 - x)^b: no failure in b - 1 showings, flat prior.
        let b = 40.0;
        let mean = 1.0 / (1.0 + b);
        let square = 2.0 / ((1.0 + b) * (2.0 + b));
        let (low, high) = Chance::from_moments(mean, square).unwrap().band(0.9);
        assert!(near(low.value(), 1.0 - 0.95_f64.powf(1.0 / b), 1e-9));
        assert!(near(high.value(), 1.0 - 0.05_f64.powf(1.0 / b), 1e-9));
    }

    #[test]
    fn a_band_stays_sound_where_nearly_all_weight_lies_at_nothing() {
        let chance = Chance::weighed([(0.999, 1e-9), (0.001, 0.9)]).unwrap();
        let (low, high) = chance.band(0.9);
        assert!(low <= high && high.value() < 0.05, "{low:?} {high:?}");
    }

    #[test]
    fn impossible_moments_are_refused() {
        for (mean, square) in
            [(0.5, 0.2), (0.5, 0.6), (-0.1, 0.1), (1.1, 1.1), (f64::NAN, 0.1), (0.1, f64::NAN)]
        {
            assert!(Chance::from_moments(mean, square).is_err(), "{mean} {square}");
        }
        assert!(Chance::weighed([]).is_err());
        assert!(Chance::weighed([(1.0, 1.5)]).is_err());
        assert!(Chance::weighed([(-1.0, 0.5)]).is_err());
    }

    #[test]
    fn a_hazard_twice_as_great_squares_the_chance_to_survive() {
        let chance = Chance::known(Probability::new(0.1).unwrap());
        assert!(near(chance.with_hazard_times(2.0).mean().value(), 1.0 - 0.81, 1e-12));
        // For Beta(2, 3) surviving is Beta(3, 2), whose square has the mean 3*4/(5*6).
        let beta = Chance::from_moments(0.4, 2.0 * 3.0 / (5.0 * 6.0)).unwrap();
        assert!(near(beta.with_hazard_times(2.0).mean().value(), 1.0 - 0.4, 1e-12));
        assert_eq!(beta.with_hazard_times(f64::NAN), beta);
    }

    proptest::proptest! {
        #[test]
        fn moments_stay_moments(a in 0.0..1.0_f64, x in 0.0..1.0_f64, b in 0.0..1.0_f64, y in 0.0..1.0_f64, f in 0.0..9.0_f64) {
            let chance = |mean: f64, share: f64| Chance::from_moments(mean, mean * mean + share * (mean - mean * mean)).unwrap();
            let (one, other) = (chance(a, x), chance(b, y));
            for made in [one.and(other), one.or(other), one.complement(), one.with_hazard_times(f)] {
                proptest::prop_assert!(Chance::from_moments(made.mean, made.square).is_ok(), "{:?}", made);
            }
        }

        #[test]
        fn a_wider_level_gives_a_wider_band(mean in 0.001..0.999_f64, share in 0.001..0.5_f64) {
            let chance = Chance::from_moments(mean, mean * mean + share * (mean - mean * mean)).unwrap();
            let (narrow, wide) = (chance.band(0.5), chance.band(0.95));
            proptest::prop_assert!(wide.0 <= narrow.0 && narrow.0 <= narrow.1 && narrow.1 <= wide.1);
        }
    }
}
