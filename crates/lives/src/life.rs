//! Laws of life: how long a part lasts.

use crate::{root, special};
use serde::{Deserialize, Serialize};
use units::Probability;

/// A law of life. Ages are on one clock of the caller's choice.
///
/// Parameters must be positive and finite (the location: not negative); [`Life::checked`] says so politely.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
#[serde(tag = "model", rename_all = "snake_case")]
pub enum Life {
    /// Failure strikes at any age alike.
    Exponential {
        /// Mean life.
        mean: f64,
    },
    /// Hazard grows (shape over 1) or falls (under 1) as a power of age.
    Weibull {
        /// How sharply wear sets in.
        shape: f64,
        /// The age by which 63 in 100 have failed.
        scale: f64,
    },
    /// A Weibull law that begins only at an age before which none fails.
    ShiftedWeibull {
        /// How sharply wear sets in.
        shape: f64,
        /// The age beyond the location by which 63 in 100 have failed.
        scale: f64,
        /// The age before which none fails.
        location: f64,
    },
    /// The logarithm of life is normal: hazard rises, then falls.
    Lognormal {
        /// The age by which half have failed.
        median: f64,
        /// Standard deviation of the logarithm of life.
        log_sd: f64,
    },
    /// The sum of several strokes of bad luck.
    Gamma {
        /// How many strokes, not necessarily whole.
        shape: f64,
        /// Mean time for a stroke.
        scale: f64,
    },
}

/// A parameter that cannot be.
#[derive(Clone, Copy, PartialEq, Debug, thiserror::Error)]
#[error("the {name} of a life must be a {wanted} number, not {value}")]
pub struct NotALife {
    /// Which parameter.
    pub name: &'static str,
    /// What it was.
    pub value: f64,
    /// What it must be.
    pub wanted: &'static str,
}

impl Life {
    /// A Weibull law; fails where a parameter is not a positive number.
    pub fn weibull(shape: f64, scale: f64) -> Result<Self, NotALife> {
        Self::Weibull { shape, scale }.checked()
    }

    /// An exponential law; fails where the mean is not a positive number.
    pub fn exponential(mean: f64) -> Result<Self, NotALife> {
        Self::Exponential { mean }.checked()
    }

    /// Returns the law itself where all its parameters can be.
    pub fn checked(self) -> Result<Self, NotALife> {
        let positive = |name, value: f64| {
            if value.is_finite() && value > 0.0 {
                Ok(())
            } else {
                Err(NotALife { name, value, wanted: "positive" })
            }
        };
        match self {
            Self::Exponential { mean } => positive("mean", mean)?,
            Self::Lognormal { median, log_sd } => {
                positive("median", median)?;
                positive("spread", log_sd)?;
            }
            Self::Weibull { shape, scale } | Self::Gamma { shape, scale } => {
                positive("shape", shape)?;
                positive("scale", scale)?;
            }
            Self::ShiftedWeibull { shape, scale, location } => {
                positive("shape", shape)?;
                positive("scale", scale)?;
                if !(location.is_finite() && location >= 0.0) {
                    return Err(NotALife {
                        name: "location",
                        value: location,
                        wanted: "finite, not negative",
                    });
                }
            }
        }
        Ok(self)
    }

    /// The shape as one number for every law: 1 for the exponential, the log-sd for the lognormal.
    pub const fn shape(&self) -> f64 {
        match *self {
            Self::Exponential { .. } => 1.0,
            Self::Weibull { shape, .. } | Self::ShiftedWeibull { shape, .. } | Self::Gamma { shape, .. } => {
                shape
            }
            Self::Lognormal { log_sd, .. } => log_sd,
        }
    }

    /// The scale as one number for every law: the mean of the exponential, the median of the lognormal.
    pub const fn scale(&self) -> f64 {
        match *self {
            Self::Exponential { mean } => mean,
            Self::Weibull { scale, .. } | Self::ShiftedWeibull { scale, .. } | Self::Gamma { scale, .. } => {
                scale
            }
            Self::Lognormal { median, .. } => median,
        }
    }

    /// The age before which none fails.
    pub const fn location(&self) -> f64 {
        if let Self::ShiftedWeibull { location, .. } = *self { location } else { 0.0 }
    }

    /// Hazard gathered up to an age: −ln of survival. Infinite only at infinity.
    pub fn cumulative_hazard(&self, age: f64) -> f64 {
        -self.ln_survival(age)
    }

    /// Natural logarithm of survival to an age.
    pub fn ln_survival(&self, age: f64) -> f64 {
        let age = age - self.location();
        if age <= 0.0 {
            return 0.0;
        }
        match *self {
            Self::Exponential { mean } => -age / mean,
            Self::Weibull { shape, scale } | Self::ShiftedWeibull { shape, scale, .. } => {
                -(age / scale).powf(shape)
            }
            Self::Lognormal { median, log_sd } => special::ln_normal_sf((age / median).ln() / log_sd),
            Self::Gamma { shape, scale } => special::ln_gamma_p_q(shape, age / scale).1,
        }
    }

    /// Chance of living past an age.
    pub fn survival(&self, age: f64) -> f64 {
        self.ln_survival(age).exp()
    }

    /// Chance of failing by an age; keeps its figures where it is small.
    pub fn cdf(&self, age: f64) -> f64 {
        let past = age - self.location();
        if past <= 0.0 {
            return 0.0;
        }
        match *self {
            Self::Lognormal { median, log_sd } => special::normal_cdf((past / median).ln() / log_sd),
            Self::Gamma { shape, scale } => special::gamma_p(shape, past / scale),
            _ => -self.ln_survival(age).exp_m1(),
        }
    }

    /// Natural logarithm of the density of life at an age.
    pub fn ln_pdf(&self, age: f64) -> f64 {
        let age = age - self.location();
        if age < 0.0 || age.is_nan() {
            return f64::NEG_INFINITY;
        }
        match *self {
            Self::Exponential { mean } => -mean.ln() - age / mean,
            Self::Weibull { shape, scale } | Self::ShiftedWeibull { shape, scale, .. } => {
                let x = (age / scale).ln();
                shape.ln() - scale.ln() + times_log(shape - 1.0, x) - (shape * x).exp()
            }
            Self::Lognormal { median, log_sd } => {
                if age == 0.0 {
                    return f64::NEG_INFINITY;
                }
                special::ln_normal_pdf((age / median).ln() / log_sd) - (log_sd * age).ln()
            }
            Self::Gamma { shape, scale } => {
                times_log(shape - 1.0, (age / scale).ln())
                    - age / scale
                    - scale.ln()
                    - special::ln_gamma(shape)
            }
        }
    }

    /// Density of life at an age, per unit of the clock.
    pub fn pdf(&self, age: f64) -> f64 {
        self.ln_pdf(age).exp()
    }

    /// Rate at which those that reached an age fail, per unit of the clock.
    pub fn hazard(&self, age: f64) -> f64 {
        match *self {
            Self::Exponential { mean } => 1.0 / mean,
            Self::Weibull { shape, scale } | Self::ShiftedWeibull { shape, scale, .. } => {
                let past = age - self.location();
                if past < 0.0 { 0.0 } else { shape / scale * (past / scale).powf(shape - 1.0) }
            }
            _ => (self.ln_pdf(age) - self.ln_survival(age)).exp(),
        }
    }

    /// The age by which a share has failed; `quantile(0.1)` is the B10 life.
    pub fn quantile(&self, share: f64) -> f64 {
        match *self {
            Self::Lognormal { median, log_sd } => median * (log_sd * special::normal_quantile(share)).exp(),
            Self::Gamma { shape, scale } => scale * special::gamma_p_inverse(shape, share),
            _ => self.age_at_hazard(-(-share).ln_1p()),
        }
    }

    /// The age at which so much hazard has gathered.
    fn age_at_hazard(&self, gathered: f64) -> f64 {
        match *self {
            Self::Exponential { mean } => mean * gathered,
            Self::Weibull { shape, scale } | Self::ShiftedWeibull { shape, scale, .. } => {
                self.location() + scale * gathered.powf(1.0 / shape)
            }
            Self::Lognormal { .. } | Self::Gamma { .. } => {
                if gathered < 0.5 {
                    return self.quantile(-(-gathered).exp_m1());
                }
                let over = |ln_age: f64| self.cumulative_hazard(ln_age.exp()) - gathered;
                root::rising(over, self.quantile(0.5).ln(), 0.3).map_or(f64::INFINITY, f64::exp)
            }
        }
    }

    /// Mean life.
    pub fn mean(&self) -> f64 {
        match *self {
            Self::Exponential { mean } => mean,
            Self::Weibull { shape, scale } | Self::ShiftedWeibull { shape, scale, .. } => {
                self.location() + scale * special::ln_gamma(1.0 + 1.0 / shape).exp()
            }
            Self::Lognormal { median, log_sd } => median * (0.5 * log_sd * log_sd).exp(),
            Self::Gamma { shape, scale } => shape * scale,
        }
    }

    /// Standard deviation of life.
    pub fn standard_deviation(&self) -> f64 {
        match *self {
            Self::Exponential { mean } => mean,
            Self::Weibull { shape, scale } | Self::ShiftedWeibull { shape, scale, .. } => {
                let first = special::ln_gamma(1.0 + 1.0 / shape);
                let second = special::ln_gamma(1.0 + 2.0 / shape);
                scale * first.exp() * (second - 2.0 * first).exp_m1().max(0.0).sqrt()
            }
            Self::Lognormal { log_sd, .. } => self.mean() * (log_sd * log_sd).exp_m1().sqrt(),
            Self::Gamma { shape, scale } => shape.sqrt() * scale,
        }
    }

    /// Mean time in service of a part that is changed on failure or at an age, whichever comes first: the integral of
    /// survival from 0 to the age.
    pub fn mean_until(&self, age: f64) -> f64 {
        let location = self.location();
        if age <= location {
            return age.max(0.0);
        }
        let past = age - location;
        location
            + match *self {
                Self::Exponential { mean } => -mean * (-past / mean).exp_m1(),
                Self::Weibull { shape, scale } | Self::ShiftedWeibull { shape, scale, .. } => {
                    let whole = self.mean() - location;
                    whole * special::gamma_p(1.0 / shape, (past / scale).powf(shape))
                }
                Self::Lognormal { median, log_sd } => {
                    let z = (past / median).ln() / log_sd;
                    past * special::normal_sf(z) + self.mean() * special::normal_cdf(z - log_sd)
                }
                Self::Gamma { shape, scale } => {
                    let x = past / scale;
                    past * special::gamma_q(shape, x) + shape * scale * special::gamma_p(shape + 1.0, x)
                }
            }
    }

    /// Mean life that is left to a part that has reached an age.
    pub fn mean_left(&self, age: f64) -> f64 {
        let location = self.location();
        if age <= location {
            return self.mean() - age;
        }
        let past = age - location;
        match *self {
            Self::Exponential { mean } => mean,
            Self::Weibull { shape, scale } | Self::ShiftedWeibull { shape, scale, .. } => {
                let x = (past / scale).powf(shape);
                let (_, ln_q) = special::ln_gamma_p_q(1.0 / shape, x);
                (self.mean() - location) * (ln_q + x).exp()
            }
            Self::Lognormal { median, log_sd } => {
                let z = (past / median).ln() / log_sd;
                let ratio = (special::ln_normal_sf(z - log_sd) - special::ln_normal_sf(z)).exp();
                self.mean() * ratio - past
            }
            Self::Gamma { shape, scale } => {
                let x = past / scale;
                let (_, above) = special::ln_gamma_p_q(shape + 1.0, x);
                let (_, at) = special::ln_gamma_p_q(shape, x);
                shape * scale * (above - at).exp() - past
            }
        }
    }

    /// Chance that a part which has reached an age fails within the next span.
    pub fn failure_chance(&self, age: f64, span: f64) -> Probability {
        Probability::clamped(-self.ln_survival_from(age, span).exp_m1())
    }

    /// Natural logarithm of the chance that a part which has reached an age lives through the next span.
    pub fn ln_survival_from(&self, age: f64, span: f64) -> f64 {
        self.ln_survival(age + span.max(0.0)) - self.ln_survival(age)
    }

    /// The age at which a part that has reached `age` fails, when its luck is the number `u` between 0 and 1: equal
    /// shares of `u` give equal shares of lives, so uniform random numbers give random lives.
    pub fn fails_at(&self, age: f64, u: f64) -> f64 {
        self.age_at_hazard(self.cumulative_hazard(age) - (-u).ln_1p()).max(age)
    }
}

/// a·x where nothing times infinity is nothing: the density of an exponential life at age 0.
fn times_log(a: f64, x: f64) -> f64 {
    if a == 0.0 { 0.0 } else { a * x }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const LAWS: [Life; 6] = [
        Life::Exponential { mean: 40.0 },
        Life::Weibull { shape: 2.5, scale: 55.0 },
        Life::Weibull { shape: 0.7, scale: 20.0 },
        Life::ShiftedWeibull { shape: 1.8, scale: 30.0, location: 12.0 },
        Life::Lognormal { median: 35.0, log_sd: 0.6 },
        Life::Gamma { shape: 3.3, scale: 11.0 },
    ];

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found - wanted).abs() <= within * wanted.abs().max(1e-12), "{found} is not {wanted}");
    }

    /// Simpson's rule, finely.
    fn integral(f: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
        let n = 40_000;
        let h = (to - from) / f64::from(n);
        let inner: f64 =
            (1..n).map(|i| f(from + h * f64::from(i)) * if i % 2 == 1 { 4.0 } else { 2.0 }).sum();
        h / 3.0 * (f(from) + inner + f(to))
    }

    #[test]
    fn density_hazard_survival_and_quantile_belong_together() {
        for law in LAWS {
            for age in [13.0, 25.0, 60.0, 140.0] {
                near(law.hazard(age), law.pdf(age) / law.survival(age), 1e-12);
                near(law.cdf(age) + law.survival(age), 1.0, 1e-13);
                near(law.cdf(age) - law.cdf(12.5), integral(|t| law.pdf(t), 12.5, age), 1e-9);
                near(law.quantile(law.cdf(age)), age, 1e-11);
                near(law.fails_at(0.0, law.cdf(age)), age, 1e-10);
            }
        }
    }

    #[test]
    fn mean_times_are_integrals_of_survival() {
        for law in LAWS {
            near(law.mean_until(70.0), integral(|t| law.survival(t), 0.0, 70.0), 1e-6);
            near(law.mean_until(1e9), law.mean(), 1e-12);
            for age in [5.0, 40.0, 90.0] {
                let left = integral(|t| law.survival(t), age, age + 3000.0) / law.survival(age);
                near(law.mean_left(age), left, 2e-6);
            }
            let square = integral(|t| 2.0 * t * law.survival(t), 0.0, 3000.0);
            near(law.standard_deviation(), (square - law.mean() * law.mean()).sqrt(), 1e-4);
        }
    }

    #[test]
    fn far_out_nothing_breaks() {
        for law in LAWS {
            let chance = law.failure_chance(1e4, 1.0).value();
            assert!(chance > 0.0 && chance <= 1.0, "{law:?} {chance}");
            assert!(law.mean_left(1e4).is_finite() && law.mean_left(1e4) > 0.0, "{law:?}");
            assert!(law.fails_at(500.0, 0.5) > 500.0);
        }
    }

    /// Weibull lamp of shape 4 and scale 55 h in a show of 1.9 h: chances at ages worked out with a pocket calculator.
    #[test]
    fn a_lamp_in_a_show() {
        let lamp = Life::weibull(4.0, 55.0).unwrap();
        for (age, percent) in [(10.0, 0.1), (20.0, 0.8), (30.0, 2.4), (40.0, 5.6), (50.0, 10.4)] {
            assert!((100.0 * lamp.failure_chance(age, 1.9).value() - percent).abs() < 0.06);
        }
    }

    #[test]
    fn impossible_parameters_are_refused() {
        assert!(Life::weibull(0.0, 5.0).is_err() && Life::exponential(f64::NAN).is_err());
        assert!(Life::ShiftedWeibull { shape: 1.0, scale: 1.0, location: -1.0 }.checked().is_err());
    }
}
