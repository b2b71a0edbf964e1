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

/// ln of prior times likelihood as a function of ln scale u, one shape β held.
///
/// With t = e^(−βu) the likelihood of lives whose ages are known is t^d·e^(−S·t) up to a constant (d failures, S the
/// power sum), and that of a life whose age at entry is known only within a band is a mean of such terms over the band.
/// So one exponential at a place serves all of them.
pub(crate) struct Column<'a> {
    pub shape: f64,
    middle: f64,
    sd: f64,
    terms: &'a Terms,
    power: f64,
    /// ln of the likelihood of ages that are known, where t is 1 and nothing is gathered.
    constant: f64,
    banded: Vec<BandedTerms>,
}

impl<'a> Column<'a> {
    pub fn new(shape: f64, middle: f64, sd: f64, terms: &'a Terms, banded: &[BandedLife]) -> Self {
        let constant = if terms.exact > 0.0 {
            terms.exact * (shape.ln() - terms.shift) + (shape - 1.0) * terms.sum_x
        } else {
            0.0
        };
        let banded = banded.iter().map(|life| BandedTerms::new(life, shape, terms.shift)).collect();
        Self { shape, middle, sd, terms, power: terms.power(shape), constant, banded }
    }

    /// ln of the likelihood at ln scale.
    pub fn ln_likelihood(&self, u: f64) -> f64 {
        let u = u - self.terms.shift;
        let t = (-self.shape * u).exp();
        let seen = self.constant - self.terms.exact * self.shape * u - self.power * t;
        seen + ln_of_product(self.banded.iter().map(|life| life.mean(t)))
            + self.terms.windows_at(self.shape, u)
    }

    /// Slope and curve of ln of the likelihood at ln scale, failures in windows left out: enough to find the summit by.
    pub fn slope_and_curve(&self, u: f64) -> (f64, f64) {
        let u = u - self.terms.shift;
        let t = (-self.shape * u).exp();
        let gathered = self.power * t;
        // By ln t; ln t falls by β where u rises by 1.
        let (mut slope, mut curve) = (self.terms.exact - gathered, -gathered);
        for life in &self.banded {
            let (first, second) = life.bends(t);
            slope += first;
            curve += second;
        }
        (-self.shape * slope, self.shape * self.shape * curve)
    }

    /// Newton's way to the summit of the likelihood times a normal law about `middle`, and the curve there; failures in
    /// windows left out.
    pub fn summit_and_curve(&self, middle: f64, sd: f64) -> (f64, f64) {
        let tight = 1.0 / (sd * sd);
        let mut at = middle;
        let mut curve = tight;
        for _ in 0..24 {
            let (slope, bend) = self.slope_and_curve(at);
            curve = (tight - bend).max(0.5 * tight);
            let step = ((slope - (at - middle) * tight) / curve).clamp(-sd, sd);
            at += step;
            // What is laid about the summit need not be laid about it exactly.
            if step.abs() < 1e-2 * sd {
                break;
            }
        }
        (at, curve)
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

/// ln of a product that may be far too small for a number, with as few logarithms as that takes.
fn ln_of_product(factors: impl Iterator<Item = f64>) -> f64 {
    const SMALL: f64 = 1e-150;
    let (mut ln, mut product) = (0.0, 1.0_f64);
    for factor in factors {
        product *= factor.max(SMALL);
        if product < SMALL {
            ln += product.ln();
            product = 1.0;
        }
    }
    ln + product.ln()
}

/// The likelihood of a life whose age at entry lies in a band: for each age the chance to go on as it did, once that
/// age was reached, averaged over the band. Each is weight·t^a·e^(−gathered·t), a being 1 for a failure.
struct BandedTerms {
    failed: bool,
    /// Weight (a failure's density included) and what is gathered for t = 1.
    at: [(f64, f64); GAUSS.len()],
}

impl BandedTerms {
    fn new(life: &BandedLife, shape: f64, shift: f64) -> Self {
        let (low, high) = life.entered;
        let (middle, half) = (0.5 * (low + high), 0.5 * (high - low).max(0.0));
        let power = |age: f64| (shape * (age.ln() - shift)).exp();
        let at = GAUSS.map(|(place, weight)| {
            let entered = middle + half * place;
            let left = entered + life.watched;
            let density = if life.failed { shape / left * power(left) } else { 1.0 };
            (0.5 * weight * density, power(left) - power(entered))
        });
        Self { failed: life.failed, at }
    }

    fn mean(&self, t: f64) -> f64 {
        let sum: f64 = self.at.iter().map(|(weight, gathered)| weight * (-gathered * t).exp()).sum();
        if self.failed { sum * t } else { sum }
    }

    /// First and second derivative of ln of the mean by ln t.
    fn bends(&self, t: f64) -> (f64, f64) {
        let a = f64::from(u8::from(self.failed));
        let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
        for (weight, gathered) in self.at {
            let gathered = gathered * t;
            let f = weight * (-gathered).exp();
            let by = a - gathered;
            sum += f;
            first += f * by;
            second += f * (by * by - gathered);
        }
        let mean = first / sum.max(f64::MIN_POSITIVE);
        (mean, second / sum.max(f64::MIN_POSITIVE) - mean * mean)
    }
}

impl OverScale for Column<'_> {
    fn rough_ln_integral(&self) -> f64 {
        if self.terms.windows.is_empty() {
            let (top, curve) = self.summit_and_curve(self.middle, self.sd);
            return self.at(top) - 0.5 * curve.ln();
        }
        let (low, high) = self.bounds();
        let (top, height) = crate::root::summit(|u| self.at(u), low, high, 16);
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
