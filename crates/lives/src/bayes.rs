//! What is believed of a Weibull life, from a prior life and whatever lives are known: nothing, two failures, or a
//! thousand.
//!
//! # Method
//! The posterior density over ln shape and ln scale is summed on a grid that fits itself to it: equal steps in ln shape
//! between the places where the marginal density has fallen by e⁻²⁰, and for each of these equal steps in ln scale
//! between the places where the conditional density has. The density is smooth and falls to nothing at all edges, so that equal steps
//! (the trapezoid rule) converge faster than any power of the step; tests compare with grids sixteen times as fine.

mod column;
mod family;
mod spread;

use crate::{life::Life, record::Lives, weibull_terms::Terms};
use column::Column;
pub use family::Family;
use serde::Serialize;
use spread::Spread;
use units::Probability;

/// Standard deviation of ln scale around a prior life. Our choice, no source: with what tells one machine from another, the
/// life of nine parts in ten lies within twice and half of the type's figure.
pub const SCALE_LOG_SD: f64 = 0.35;
/// Standard deviation of ln shape around a prior life: nine in ten lie within about a quarter. Our choice, no source.
pub const SHAPE_LOG_SD: f64 = 0.15;
/// Standard deviation of ln scale between machines of one type. Our choice, no source.
pub const MACHINE_LOG_SD: f64 = 0.2;

/// What is believed of a life before any is known: ln shape and ln scale are normal and independent.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Prior {
    /// Median of the shape.
    pub shape: f64,
    /// Median of the scale.
    pub scale: f64,
    /// Standard deviation of ln shape.
    pub shape_log_sd: f64,
    /// Standard deviation of ln scale.
    pub scale_log_sd: f64,
}

impl Prior {
    /// The usual doubt around a type's prior life.
    pub const fn around(shape: f64, scale: f64) -> Self {
        Self { shape, scale, shape_log_sd: SHAPE_LOG_SD, scale_log_sd: SCALE_LOG_SD }
    }

    /// The same with another doubt.
    #[must_use]
    pub const fn doubted(self, shape_log_sd: f64, scale_log_sd: f64) -> Self {
        Self { shape_log_sd, scale_log_sd, ..self }
    }
}

/// A life whose age when the watch began is known only to lie in a band: a part already fitted when the log began.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct BandedLife {
    /// Youngest and oldest age at entry; every age between is held equally likely beforehand, and it had not failed by
    /// then.
    pub entered: (f64, f64),
    /// How long it was watched.
    pub watched: f64,
    /// True where it failed then; false where it was still good.
    pub failed: bool,
}

/// All that is known of the lives of a part in one place.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Known {
    /// Lives with a known age at entry.
    pub lives: Lives,
    /// Lives with a band of ages at entry.
    pub banded: Vec<BandedLife>,
}

impl Known {
    /// Nothing is known.
    pub fn nothing() -> Self {
        Self::default()
    }

    /// Failures among the lives.
    pub fn failures(&self) -> u64 {
        self.lives.failures() + self.banded.iter().filter(|life| life.failed).count() as u64
    }

    /// How many lives.
    pub fn n(&self) -> u64 {
        self.lives.n() + self.banded.len() as u64
    }
}

impl From<Lives> for Known {
    fn from(lives: Lives) -> Self {
        Self { lives, banded: Vec::new() }
    }
}

/// A Weibull law and how much belief it carries.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Believed {
    /// Shape of the law.
    pub shape: f64,
    /// Scale of the law.
    pub scale: f64,
    /// Its share of belief; all shares sum to 1.
    pub weight: f64,
}

impl Believed {
    /// The law itself.
    pub const fn life(&self) -> Life {
        Life::Weibull { shape: self.shape, scale: self.scale }
    }
}

/// A number that is not known exactly.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Estimate {
    /// Its mean.
    pub mean: f64,
    /// As likely to lie above as below.
    pub median: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

/// A chance that is not known exactly.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Chance {
    /// The chance to reckon with: the mean over all that is believed.
    pub chance: Probability,
    /// Lower end of the interval.
    pub low: Probability,
    /// Upper end of the interval.
    pub high: Probability,
}

/// Belief in the life of a part: Weibull laws with their weights.
#[derive(Clone, PartialEq, Debug)]
pub struct Posterior {
    laws: Vec<Believed>,
    prior: Prior,
    failures: u64,
    n: u64,
}

/// How finely the belief is laid out.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Fineness {
    /// Steps in ln shape.
    pub shapes: usize,
    /// Steps in ln scale, at least.
    pub scales: usize,
    /// Steps across a family's ln scale. The steps must stay below the width of a machine's own factor.
    pub family: usize,
    /// The rule by which a machine's own factor is averaged out.
    pub rule: &'static [(f64, f64)],
    /// At so many places what the other machines say is worked out, and laid through in between; none: everywhere.
    pub knots: Option<usize>,
}

impl Fineness {
    const USUAL: Self = Self { shapes: 40, scales: 60, family: 48, rule: &family::NINE, knots: None };
    /// For sums over a hundred parts at once: a small share of the work, and chances the same to a hundredth of themselves.
    const QUICK: Self = Self { shapes: 14, scales: 22, family: 18, rule: &family::FIVE, knots: Some(24) };
}

/// Laws that carry less than this share of the greatest weight are left out.
const NEGLIGIBLE: f64 = 1e-9;

impl Posterior {
    /// What is believed before anything is known.
    pub fn of_prior(prior: Prior) -> Self {
        Self::new(prior, &Known::nothing())
    }

    /// What is believed once these lives are known. Never fails: without failures the answer is wide.
    pub fn new(prior: Prior, known: &Known) -> Self {
        Self::with(prior, known, Fineness::USUAL)
    }

    pub(crate) fn with(prior: Prior, known: &Known, fineness: Fineness) -> Self {
        let terms = Terms::of(known.lives.records());
        let column =
            |shape: f64| Column::new(shape, prior.scale.ln(), prior.scale_log_sd, &terms, &known.banded);
        let laws = laid_out(prior, fineness, column);
        Self { laws, prior, failures: known.failures(), n: known.n() }
    }

    /// The laws, by shape and then scale. Weights sum to 1.
    pub fn laws(&self) -> &[Believed] {
        &self.laws
    }

    /// What was believed beforehand.
    pub const fn prior(&self) -> Prior {
        self.prior
    }

    /// Failures that the belief rests on, those of other machines of a family included.
    pub const fn failures(&self) -> u64 {
        self.failures
    }

    /// Lives that the belief rests on.
    pub const fn n(&self) -> u64 {
        self.n
    }

    /// Mean of anything over all that is believed.
    pub fn expect(&self, of: impl Fn(&Believed) -> f64) -> f64 {
        self.laws.iter().map(|law| law.weight * of(law)).sum()
    }

    /// Anything with its interval that holds with the given confidence (0.95: one case in forty lies beyond each end).
    /// Between neighbouring laws of one shape `of` must not turn back.
    pub fn estimate(&self, confidence: f64, of: impl Fn(&Believed) -> f64) -> Estimate {
        let values: Vec<f64> = self.laws.iter().map(of).collect();
        let mean = self.laws.iter().zip(&values).map(|(law, value)| law.weight * value).sum();
        let tail = 0.5 * (1.0 - confidence);
        let [low, median, high] = Spread::new(&self.laws, values).quantiles([tail, 0.5, 1.0 - tail]);
        Estimate { mean, median, low, high }
    }

    /// The scale.
    pub fn scale(&self, confidence: f64) -> Estimate {
        self.estimate(confidence, |law| law.scale)
    }

    /// The shape.
    pub fn shape(&self, confidence: f64) -> Estimate {
        let tail = 0.5 * (1.0 - confidence);
        let [low, median, high] = Spread::of_shapes(&self.laws).quantiles([tail, 0.5, 1.0 - tail]);
        Estimate { mean: self.expect(|law| law.shape), median, low, high }
    }

    /// Mean life.
    pub fn mean_life(&self, confidence: f64) -> Estimate {
        self.estimate(confidence, |law| law.life().mean())
    }

    /// The age by which a share has failed; 0.1 gives the B10 life.
    pub fn quantile_life(&self, share: f64, confidence: f64) -> Estimate {
        let gathered = (-(-share).ln_1p()).ln();
        self.estimate(confidence, |law| law.scale * (gathered / law.shape).exp())
    }

    /// Chance that a part which has reached an age fails within the next span. The part's own survival so far weighs
    /// in only if its life (censored at this age) is among those that are known.
    pub fn failure_chance(&self, age: f64, span: f64, confidence: f64) -> Chance {
        let (age, after) = (age.max(0.0).ln(), (age.max(0.0) + span.max(0.0)).ln());
        Chance::from(self.estimate(confidence, |law| -(-law.gathered_between(age, after)).exp_m1()))
    }

    /// The same as one number, without the interval: many times faster.
    pub fn mean_failure_chance(&self, age: f64, span: f64) -> Probability {
        let (age, after) = (age.max(0.0).ln(), (age.max(0.0) + span.max(0.0)).ln());
        Probability::clamped(self.expect(|law| -(-law.gathered_between(age, after)).exp_m1()))
    }

    /// Chance of living past an age, from new.
    pub fn survival(&self, age: f64, confidence: f64) -> Chance {
        Chance::from(self.estimate(confidence, |law| law.life().survival(age)))
    }

    /// The single law at the middle of the belief (medians of ln shape and ln scale are near enough its means), for
    /// drawing and for sums that need one law.
    pub fn middle(&self) -> Life {
        let shape = self.expect(|law| law.shape.ln()).exp();
        let scale = self.expect(|law| law.scale.ln()).exp();
        Life::Weibull { shape, scale }
    }

    /// How much of the doubt about ln scale the lives have removed: 0 where all rests on the prior, near 1 where all
    /// rests on data.
    pub fn share_from_data(&self) -> f64 {
        let mean = self.expect(|law| law.scale.ln());
        let variance = self.expect(|law| (law.scale.ln() - mean).powi(2));
        (1.0 - variance / self.prior.scale_log_sd.powi(2)).clamp(0.0, 1.0)
    }
}

impl Believed {
    /// Hazard gathered between two ages, given as logarithms.
    fn gathered_between(&self, ln_age: f64, ln_after: f64) -> f64 {
        let u = self.scale.ln();
        (self.shape * (ln_after - u)).exp() - (self.shape * (ln_age - u)).exp()
    }
}

impl From<Estimate> for Chance {
    fn from(estimate: Estimate) -> Self {
        Self {
            chance: Probability::clamped(estimate.mean),
            low: Probability::clamped(estimate.low),
            high: Probability::clamped(estimate.high),
        }
    }
}

/// A density over ln scale for one shape.
pub(crate) trait OverScale {
    /// ln of the integral over ln scale, roughly (Laplace).
    fn rough_ln_integral(&self) -> f64;
    /// Places in ln scale with ln of density times step.
    fn nodes(&self, at_least: usize) -> Vec<(f64, f64)>;
}

/// Lays the belief out over the shapes that matter.
fn laid_out<C: OverScale>(prior: Prior, fineness: Fineness, column: impl Fn(f64) -> C) -> Vec<Believed> {
    let (middle, sd) = (prior.shape.ln(), prior.shape_log_sd);
    let ln_prior = |y: f64| -0.5 * ((y - middle) / sd).powi(2);
    let rough = |y: f64| ln_prior(y) + column(y.exp()).rough_ln_integral();
    let (low, high) = where_it_matters(rough, middle - 8.0 * sd, middle + 8.0 * sd, sd);
    let step = (high - low) / fineness.shapes as f64;
    let mut laws = Vec::with_capacity((fineness.shapes + 1) * fineness.scales);
    for at in 0..=fineness.shapes {
        let y = low + step * at as f64;
        let shape = y.exp();
        let nodes = column(shape).nodes(fineness.scales);
        laws.extend(nodes.into_iter().map(|(u, ln)| Believed { shape, scale: u, weight: ln_prior(y) + ln }));
    }
    settled(laws)
}

/// Turns ln weights into shares and ln scales into scales; leaves out what carries nothing.
fn settled(mut laws: Vec<Believed>) -> Vec<Believed> {
    let top = laws.iter().map(|law| law.weight).fold(f64::NEG_INFINITY, f64::max);
    let least = top + NEGLIGIBLE.ln();
    laws.retain(|law| law.weight > least);
    let mut total = 0.0;
    for law in &mut laws {
        law.weight = (law.weight - top).exp();
        law.scale = law.scale.exp();
        total += law.weight;
    }
    for law in &mut laws {
        law.weight /= total;
    }
    laws
}

/// ln of density by which it must have fallen at the edges of a grid.
const FALLEN: f64 = 20.0;

/// Finds the stretch outside which a log density with one summit has fallen to nothing.
pub(crate) fn where_it_matters(f: impl Fn(f64) -> f64, low: f64, high: f64, width: f64) -> (f64, f64) {
    const LOOKS: usize = 24;
    let place = |at: usize| low + (high - low) * at as f64 / LOOKS as f64;
    let looks: Vec<f64> = (0..=LOOKS).map(|at| f(place(at))).collect();
    let best = (0..=LOOKS).max_by(|&a, &b| looks[a].total_cmp(&looks[b])).unwrap_or(0);
    let (left, right) = (place(best.saturating_sub(1)), place((best + 1).min(LOOKS)));
    let (top, height) = crate::root::summit(&f, left, right, 12);
    // A first step of the right order: how wide the summit is.
    let probe = 0.02 * width;
    let curve = (2.0 * height - f(top - probe) - f(top + probe)) / (probe * probe);
    let sd = if curve > 0.0 { curve.sqrt().recip() } else { width };
    (edge(&f, top, height, -sd), edge(&f, top, height, sd))
}

fn edge(f: impl Fn(f64) -> f64, top: f64, height: f64, first: f64) -> f64 {
    let (mut inside, mut step) = (top, first);
    let mut outside = top + step;
    for _ in 0..60 {
        if f(outside) < height - FALLEN {
            break;
        }
        inside = outside;
        step *= 1.7;
        outside += step;
    }
    for _ in 0..6 {
        let middle = 0.5 * (inside + outside);
        if f(middle) < height - FALLEN {
            outside = middle;
        } else {
            inside = middle;
        }
    }
    outside
}

#[cfg(test)]
mod tests;
