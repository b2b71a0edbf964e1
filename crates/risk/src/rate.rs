//! How often something happens: a rule of thumb at first, then what was seen.

use crate::chance::Chance;

/// A rule of thumb is believed as firmly as if the thing had been seen so many times: then the rate lies within twice
/// and half of the rule about nine times in ten (gamma law of shape 6). Our choice, no source.
pub const FIRMNESS: f64 = 6.0;

/// How often something happens for each time that it could: a gamma belief, which stays one with all that is seen.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Rate {
    times: f64,
    of: f64,
}

impl Rate {
    /// The rule of thumb: once in so many.
    pub const fn once_in(of: f64) -> Self {
        Self { times: FIRMNESS, of: FIRMNESS * of }
    }

    /// Learns that it happened so often in so many; shares of either where several things may be to blame.
    pub const fn saw(&mut self, times: f64, of: f64) {
        self.times += times;
        self.of += of;
    }

    /// The rate to reckon with.
    pub const fn mean(self) -> f64 {
        self.times / self.of
    }

    /// The chance that it happens at least once in so many.
    pub fn chance(self, in_so_many: f64) -> Chance {
        // Not at all in n, for a gamma law of shape a and rate b: (b / (b + n))^a.
        let not = |n: f64| (self.times * -(n / self.of).ln_1p()).exp();
        let (not_once, not_twice) = (not(in_so_many), not(2.0 * in_so_many));
        let mean = 1.0 - not_once;
        let square = 1.0 - 2.0 * not_once + not_twice;
        Chance::from_moments(mean, square.clamp(mean * mean, mean)).unwrap_or(Chance::NEVER)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_rule_holds_until_much_is_seen() {
        let mut rate = Rate::once_in(100.0);
        assert!((rate.mean() - 0.01).abs() < 1e-15);
        // Worked by hand: (6 + 30) / (600 + 600).
        rate.saw(30.0, 600.0);
        assert!((rate.mean() - 0.03).abs() < 1e-15);
    }

    /// A gamma law of shape 6 and mean 1: 5 % lie under 0.4355, 95 % under 1.7522 (half of the quantiles 5.226 and 21.026
    /// of chi squared with 12 degrees of freedom over 6: any table of chi squared).
    #[test]
    fn the_rule_is_good_to_a_factor_of_two_or_so() {
        use statrs::distribution::{ContinuousCDF, Gamma};
        let law = Gamma::new(FIRMNESS, FIRMNESS).unwrap();
        assert!(
            (law.inverse_cdf(0.05) - 0.4355).abs() < 1e-3 && (law.inverse_cdf(0.95) - 1.7522).abs() < 1e-3
        );
        assert!(law.cdf(2.0) - law.cdf(0.5) > 0.88);
    }

    #[test]
    fn a_small_chance_is_the_rate_and_never_more_than_certain() {
        let rate = Rate::once_in(100.0);
        assert!((rate.chance(1.0).mean().value() - 0.01).abs() < 1e-4);
        assert!(rate.chance(1.0).spread() > 0.003);
        assert!(rate.chance(1e9).mean().value() <= 1.0);
        assert_eq!(rate.chance(0.0).mean().value(), 0.0);
    }
}
