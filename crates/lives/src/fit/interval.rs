//! Intervals.

use crate::root;
use serde::{Serialize, Serializer};

/// From a low to a high value.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end; infinite where nothing bounds it.
    pub high: f64,
}

impl Interval {
    /// True where a value lies within.
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// Written as a pair; an end that nothing bounds as null.
impl Serialize for Interval {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        [self.low, self.high].map(|end| end.is_finite().then_some(end)).serialize(serializer)
    }
}

/// How intervals are found.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum IntervalMethod {
    /// By the curvature at the summit of the likelihood.
    Wald,
    /// By the fall of the likelihood.
    LikelihoodRatio,
    /// By the fall of the likelihood, corrected for small samples.
    Corrected,
}

impl IntervalMethod {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Wald => "wald",
            Self::LikelihoodRatio => "likelihood-ratio",
            Self::Corrected => "corrected",
        }
    }
}

/// By the curvature: a number and the standard deviation of its logarithm.
pub(super) fn wald(value: f64, log_sd: f64, z: f64) -> Interval {
    let factor = (z * log_sd).exp();
    Interval { low: value / factor, high: value * factor }
}

/// By the fall of the likelihood: `below` is how far the summit over all other numbers lies below the best when this
/// number's logarithm is held. Where the fall is never reached the end is 0 or infinity.
pub(super) fn by_fall(below: impl Fn(f64) -> f64, ln_value: f64, log_sd: f64, fall: f64) -> Interval {
    // The root of the fall rises nearly in proportion, which the search likes.
    let wanted = fall.sqrt();
    let side = |sign: f64| {
        let risen =
            |d: f64| if d == 0.0 { -wanted } else { below(ln_value + sign * d).max(0.0).sqrt() - wanted };
        let first = log_sd.clamp(1e-12, 10.0) * (2.0 * fall).sqrt();
        reach(risen, first).map(|d| ln_value + sign * d)
    };
    Interval { low: side(-1.0).map_or(0.0, f64::exp), high: side(1.0).map_or(f64::INFINITY, f64::exp) }
}

/// Where a function that starts below nothing and rises crosses it, if within e⁴⁰.
fn reach(f: impl Fn(f64) -> f64, first: f64) -> Option<f64> {
    let (mut near, mut f_near, mut far) = (0.0, f(0.0), first);
    while far < 40.0 {
        let f_far = f(far);
        if f_far >= 0.0 {
            return Some(root::between(f, (near, f_near), (far, f_far)));
        }
        if f_far.is_nan() {
            return None;
        }
        (near, f_near) = (far, f_far);
        far *= 1.6;
    }
    None
}
