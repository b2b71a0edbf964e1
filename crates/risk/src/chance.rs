//! A chance that is itself uncertain.

use serde::{Deserialize, Serialize};
use statrs::function::{
    beta::{beta_reg, inv_beta_reg},
    gamma::ln_gamma,
};
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

/// The quantile of a beta distribution.
///
/// The library's inverse is the start; bisection on the distribution function, which is sound over the whole range,
/// has the last word, for the inverse may stall where a shape is far below 1.
fn quantile(a: f64, b: f64, q: f64) -> f64 {
    let guess = inv_beta_reg(a, b, q);
    if (0.0..=1.0).contains(&guess) && (beta_reg(a, b, guess) - q).abs() < 1e-9 {
        return guess;
    }
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if beta_reg(a, b, middle) < q { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
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
