//! How often something happens: a rule of thumb at first, then what was seen.

use crate::chance::Chance;

/// A rule of thumb is believed as firmly as if the thing had been seen so many times: then the rate lies within twice
/// and half of the rule about nine times in ten (gamma law of shape 6). Our choice, no source.
pub const FIRMNESS: f64 = 6.0;
/// e^ψ(6), ψ being the digamma function, ψ(6) = 137/60 − γ. A rule of thumb is as likely too high as too low by the same
/// ratio: it is the mean by ratio (that of ln) of what is believed, not the mean, which lies 9 % above it.
const MEAN_BY_RATIO: f64 = 5.507_537_829_701_368;

/// How often something happens for each time that it could: a gamma belief, which stays one with all that is seen.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Rate {
    times: f64,
    of: f64,
}

impl Rate {
    /// The rule of thumb: once in so many.
    pub const fn once_in(of: f64) -> Self {
        Self { times: FIRMNESS, of: MEAN_BY_RATIO * of }
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
        // Worked by hand: 6 / 550.754, and then (6 + 30) / (550.754 + 649.246).
        assert!((rate.mean() - 0.010_894_1).abs() < 1e-7);
        rate.saw(30.0, 649.246);
        assert!((rate.mean() - 0.03).abs() < 1e-6);
    }

    /// 5 % of a gamma law of shape 6 lie under 2.613 and 95 % under 10.513 (half of the quantiles 5.226 and 21.026 of chi
    /// squared with 12 degrees of freedom: any table of chi squared); ψ(6) = 1 + 1/2 + 1/3 + 1/4 + 1/5 − γ.
    #[test]
    fn the_rule_is_good_to_a_factor_of_two_either_way() {
        use statrs::{
            consts::EULER_MASCHERONI,
            distribution::{ContinuousCDF, Gamma},
        };
        assert!((MEAN_BY_RATIO.ln() - (137.0 / 60.0 - EULER_MASCHERONI)).abs() < 1e-12);
        let law = Gamma::new(FIRMNESS, MEAN_BY_RATIO).unwrap();
        assert!((law.inverse_cdf(0.05) - 2.613 / MEAN_BY_RATIO).abs() < 1e-3);
        assert!((law.inverse_cdf(0.95) - 10.513 / MEAN_BY_RATIO).abs() < 1e-3);
        assert!((law.cdf(2.0) - law.cdf(0.5) - 0.9).abs() < 0.01);
    }

    #[test]
    fn a_small_chance_is_the_rate_and_never_more_than_certain() {
        let rate = Rate::once_in(100.0);
        assert!((rate.chance(1.0).mean().value() - rate.mean()).abs() < 1e-4);
        assert!(rate.chance(1.0).spread() > 0.003);
        assert!(rate.chance(1e9).mean().value() <= 1.0);
        assert_eq!(rate.chance(0.0).mean().value(), 0.0);
    }
}
