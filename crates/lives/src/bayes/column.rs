//! The belief about scale for one shape.

use super::{BandedLife, OverScale, where_it_matters};
use crate::weibull_terms::Terms;

/// Places and weights of the five-point Gauss-Legendre rule on −1 to 1 (Abramowitz and Stegun, table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

/// ln of prior times likelihood as a function of ln scale, one shape held.
pub(crate) struct Column<'a> {
    pub shape: f64,
    middle: f64,
    sd: f64,
    terms: &'a Terms,
    power: f64,
    banded: &'a [BandedLife],
}

impl<'a> Column<'a> {
    pub fn new(shape: f64, middle: f64, sd: f64, terms: &'a Terms, banded: &'a [BandedLife]) -> Self {
        Self { shape, middle, sd, terms, power: terms.power(shape), banded }
    }

    /// ln of the likelihood at ln scale.
    pub fn ln_likelihood(&self, u: f64) -> f64 {
        self.terms.ln_likelihood_at(self.shape, u - self.terms.shift, self.power) + self.of_banded(u)
    }

    fn of_banded(&self, u: f64) -> f64 {
        self.banded.iter().map(|life| banded(life, self.shape, u)).sum()
    }

    /// ln of the density.
    pub fn at(&self, u: f64) -> f64 {
        let z = (u - self.middle) / self.sd;
        self.ln_likelihood(u) - 0.5 * z * z
    }

    /// Where scale can lie at all: far from the prior in either direction, or where the data put it.
    fn bounds(&self) -> (f64, f64) {
        let (mut low, mut high) = (self.middle - 8.0 * self.sd, self.middle + 8.0 * self.sd);
        if self.terms.exact > 0.0 && self.power > 0.0 {
            let likely = self.terms.shift + (self.power / self.terms.exact).ln() / self.shape;
            (low, high) = (low.min(likely), high.max(likely));
        }
        (low, high)
    }
}

/// ln of the likelihood of a life whose age at entry lies in a band: for each age the chance to go on as it did, once
/// that age was reached, averaged over the band.
fn banded(life: &BandedLife, shape: f64, u: f64) -> f64 {
    let (low, high) = life.entered;
    let chance = |entered: f64| {
        let left = entered + life.watched;
        let (at, from) = ((shape * (left.ln() - u)).exp(), (shape * (entered.ln() - u)).exp());
        let hazard = if life.failed { shape / left * at } else { 1.0 };
        hazard * (from - at).exp()
    };
    if high <= low {
        return chance(low).ln();
    }
    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
    let mean: f64 = GAUSS.iter().map(|(place, weight)| 0.5 * weight * chance(middle + half * place)).sum();
    mean.max(f64::MIN_POSITIVE).ln()
}

impl OverScale for Column<'_> {
    fn rough_ln_integral(&self) -> f64 {
        let (low, high) = self.bounds();
        let (top, height) = crate::root::summit(|u| self.at(u), low, high, 26);
        let probe = 0.02 * self.sd;
        let curve = (2.0 * height - self.at(top - probe) - self.at(top + probe)) / (probe * probe);
        height - 0.5 * curve.max(1e-6).ln()
    }

    fn nodes(&self, at_least: usize) -> Vec<(f64, f64)> {
        let (low, high) = self.bounds();
        let (from, to) = where_it_matters(|u| self.at(u), low, high, self.sd);
        // Without failures the density drops like a double exponential of width 1/shape: steps must see that.
        let needed = ((to - from) * self.shape / 0.7).ceil() as usize;
        let steps = at_least.max(needed.min(4 * at_least));
        let step = (to - from) / steps as f64;
        let ln_step = step.ln();
        (0..=steps).map(|at| from + step * at as f64).map(|u| (u, self.at(u) + ln_step)).collect()
    }
}
