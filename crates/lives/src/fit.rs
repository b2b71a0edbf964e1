//! Maximum likelihood: the law under which the lives that are known were least surprising, with intervals.
//!
//! Complete, censored (right, left, in windows) and late-entered lives go into one likelihood; see [`Ending`].
//!
//! # Method
//! Weibull: the scale is eliminated in closed form (Newton where there are windows), the slope of what remains is zero
//! at the best shape, found by a bracketed root; where late entries or windows can make several summits, all roots over
//! a wide stretch of shapes are compared. Exponential: the same with the shape held at 1. Lognormal and gamma: simplex,
//! then Newton. Weibull with a location: the location is scanned, the rest eliminated.
//!
//! [`Ending`]: crate::Ending

mod interval;
mod numeric;
mod shifted;
mod smooth;
mod weibull;

use crate::{life::Life, record::Lives, special, weibull_terms::Terms};
pub use interval::{Interval, IntervalMethod};
use serde::Serialize;

/// Which law to fit.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Model {
    /// [`Life::Exponential`].
    Exponential,
    /// [`Life::Weibull`].
    Weibull,
    /// [`Life::ShiftedWeibull`].
    ShiftedWeibull,
    /// [`Life::Lognormal`].
    Lognormal,
    /// [`Life::Gamma`].
    Gamma,
}

impl Model {
    /// Every law, the simplest first.
    pub const ALL: [Self; 5] =
        [Self::Exponential, Self::Weibull, Self::Lognormal, Self::Gamma, Self::ShiftedWeibull];

    /// How many numbers it has.
    pub const fn parameters(self) -> usize {
        match self {
            Self::Exponential => 1,
            Self::Weibull | Self::Lognormal | Self::Gamma => 2,
            Self::ShiftedWeibull => 3,
        }
    }

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Exponential => "exponential",
            Self::Weibull => "weibull",
            Self::ShiftedWeibull => "shifted-weibull",
            Self::Lognormal => "lognormal",
            Self::Gamma => "gamma",
        }
    }
}

/// Why there is no best law.
#[derive(Clone, Copy, PartialEq, Debug, thiserror::Error)]
pub enum FitError {
    /// There is no life at all.
    #[error("there are no lives to fit")]
    NoLives,
    /// Nothing failed.
    #[error(
        "none of the {lives} lives ended in failure, so no life is too long to be true; a prior life and these lives together still say something"
    )]
    NoFailures {
        /// How many lives there are.
        lives: u64,
    },
    /// The failures do not spread.
    #[error(
        "every failure came at the greatest age in the data ({age}), so a sharper wear-out always fits better and there is no best shape; lives of different lengths are needed, or a prior life"
    )]
    NoSpread {
        /// The age at which all failed.
        age: f64,
    },
    /// The likelihood has no summit.
    #[error(
        "the likelihood of the {model} law has no summit here: it keeps growing as the {parameter} goes to {towards}"
    )]
    NoSummit {
        /// Which law.
        model: &'static str,
        /// Which of its numbers runs away.
        parameter: &'static str,
        /// Where it runs.
        towards: &'static str,
    },
}

/// Intervals of a law's numbers; those that the law does not have are left out.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize)]
pub struct Intervals {
    /// Of [`Life::shape`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shape: Option<Interval>,
    /// Of [`Life::scale`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scale: Option<Interval>,
    /// Of [`Life::location`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub location: Option<Interval>,
}

/// A fitted law.
#[derive(Clone, PartialEq, Debug)]
pub struct Fit {
    /// The law.
    pub life: Life,
    /// Its kind.
    pub model: Model,
    /// Natural logarithm of the likelihood at the law.
    pub ln_likelihood: f64,
    /// How many lives it rests on.
    pub n: u64,
    /// How many of them failed.
    pub failures: u64,
    /// The confidence of the intervals.
    pub confidence: f64,
    /// From the curvature at the summit, on the logarithm of each number (the location as it is): quick, too short for
    /// small samples.
    pub wald: Intervals,
    /// From how far each number may go before the likelihood falls too low.
    pub likelihood_ratio: Intervals,
    /// The same, the fall stretched by what small samples are known to need.
    pub corrected: Intervals,
    /// What to beware of.
    pub caveats: Vec<String>,
    covariance: Covariance,
}

/// Covariance of ln shape, ln scale and location.
type Covariance = [[f64; 3]; 3];

impl Fit {
    /// Akaike's criterion, corrected for small samples by the number of failures: the smaller, the better. None where
    /// there are too few failures for so many numbers.
    pub fn corrected_criterion(&self) -> Option<f64> {
        let (k, n) = (self.model.parameters() as f64, self.failures as f64);
        let room = n - k - 1.0;
        (room > 0.0).then(|| 2.0 * k - 2.0 * self.ln_likelihood + 2.0 * k * (k + 1.0) / room)
    }

    /// Akaike's criterion (1974): the smaller, the better.
    pub fn criterion(&self) -> f64 {
        2.0 * self.model.parameters() as f64 - 2.0 * self.ln_likelihood
    }

    /// Schwarz's criterion (1978), with the number of failures for the size of the sample, as Volinsky and Raftery (2000)
    /// advise for censored lives: the smaller, the better. It is harder on laws with many numbers.
    pub fn bayes_criterion(&self) -> f64 {
        self.model.parameters() as f64 * (self.failures as f64).ln() - 2.0 * self.ln_likelihood
    }

    /// The intervals that hold best: see [`IntervalMethod`].
    pub fn intervals(&self, method: IntervalMethod) -> Intervals {
        match method {
            IntervalMethod::Wald => self.wald,
            IntervalMethod::LikelihoodRatio => self.likelihood_ratio,
            IntervalMethod::Corrected => self.corrected,
        }
    }

    /// Interval of any positive number that follows from the law (mean life, B10 life), by the curvature at the summit
    /// and on the logarithm of that number.
    pub fn interval_of(&self, of: impl Fn(&Life) -> f64) -> Interval {
        let here = of(&self.life).ln();
        let step = 1e-5;
        let slope =
            |at: usize| (of(&self.moved(at, step)).ln() - of(&self.moved(at, -step)).ln()) / (2.0 * step);
        let slopes = [slope(0), slope(1), if self.model == Model::ShiftedWeibull { slope(2) } else { 0.0 }];
        let variance: f64 = (0..3)
            .flat_map(|i| (0..3).map(move |j| (i, j)))
            .map(|(i, j)| slopes[i] * slopes[j] * self.covariance[i][j])
            .sum();
        let reach = z_of(self.confidence) * variance.max(0.0).sqrt();
        Interval { low: (here - reach).exp(), high: (here + reach).exp() }
    }

    /// The law with ln shape, ln scale or location moved.
    fn moved(&self, which: usize, by: f64) -> Life {
        let (shape, scale) = (self.life.shape(), self.life.scale());
        let shape = if which == 0 { shape * by.exp() } else { shape };
        let scale = if which == 1 { scale * by.exp() } else { scale };
        let location = self.life.location() + if which == 2 { by } else { 0.0 };
        made(self.model, shape, scale, location)
    }
}

/// The law of a kind from shape, scale and location as [`Life`] gives them.
pub(crate) const fn made(model: Model, shape: f64, scale: f64, location: f64) -> Life {
    match model {
        Model::Exponential => Life::Exponential { mean: scale },
        Model::Weibull => Life::Weibull { shape, scale },
        Model::ShiftedWeibull => Life::ShiftedWeibull { shape, scale, location },
        Model::Lognormal => Life::Lognormal { median: scale, log_sd: shape },
        Model::Gamma => Life::Gamma { shape, scale },
    }
}

/// Half the width of an interval in standard deviations.
pub(crate) fn z_of(confidence: f64) -> f64 {
    special::normal_quantile(0.5 + 0.5 * confidence)
}

/// How far each fit of the same lives is to be believed beside the others, by Akaike's corrected criterion: shares that
/// sum to 1 (Burnham and Anderson 2002). Fits from too few failures for the criterion get none; where that is so of all,
/// those with the fewest numbers share.
pub fn shares(fits: &[Fit]) -> Vec<f64> {
    let fewest = fits.iter().map(|fit| fit.model.parameters()).min();
    let all_in_doubt = fits.iter().all(|fit| fit.corrected_criterion().is_none());
    let weighed = |fit: &Fit| match fit.corrected_criterion() {
        Some(criterion) => criterion,
        None if all_in_doubt && Some(fit.model.parameters()) == fewest => 0.0,
        None => f64::INFINITY,
    };
    let best = fits.iter().map(weighed).fold(f64::INFINITY, f64::min);
    let shares: Vec<f64> = fits.iter().map(|fit| (-0.5 * (weighed(fit) - best)).exp()).collect();
    let total: f64 = shares.iter().sum();
    shares.into_iter().map(|share| share / total).collect()
}

/// Fits a law to lives, with intervals of the confidence asked for (0.95 is usual); fails where there is no best law.
pub fn fit(model: Model, lives: &Lives, confidence: f64) -> Result<Fit, FitError> {
    some_failed(lives)?;
    let mut fit = match model {
        Model::Exponential => weibull::fit_exponential(&Terms::of(lives.records()), confidence)?,
        Model::Weibull => weibull::fit(&Terms::of(lives.records()), confidence)?,
        Model::ShiftedWeibull => shifted::fit(lives, confidence)?,
        Model::Lognormal | Model::Gamma => smooth::fit(model, lives, confidence)?,
    };
    fit.n = lives.n();
    fit.failures = lives.failures();
    fit.caveats.extend(said_of_size(fit.failures, model));
    Ok(fit)
}

fn some_failed(lives: &Lives) -> Result<(), FitError> {
    if lives.records().is_empty() {
        return Err(FitError::NoLives);
    }
    if lives.failures() == 0 {
        return Err(FitError::NoFailures { lives: lives.n() });
    }
    Ok(())
}

/// The law alone, as [`fit()`] finds it, without the intervals: many times faster.
pub fn law_alone(model: Model, lives: &Lives) -> Result<Life, FitError> {
    some_failed(lives)?;
    let terms = || Terms::of(lives.records());
    match model {
        Model::Exponential => weibull::exponential_alone(&terms()),
        Model::Weibull => weibull::law_alone(&terms()),
        Model::ShiftedWeibull => shifted::law_alone(lives),
        Model::Lognormal | Model::Gamma => smooth::law_alone(model, lives),
    }
}

/// The Weibull law of terms that were summed elsewhere; counts are the caller's.
pub(crate) fn weibull_of(terms: &Terms, confidence: f64) -> Result<Fit, FitError> {
    weibull::fit(terms, confidence)
}

/// The exponential law of terms that were summed elsewhere; counts are the caller's.
pub(crate) fn exponential_of(terms: &Terms, confidence: f64) -> Result<Fit, FitError> {
    weibull::fit_exponential(terms, confidence)
}

/// What must be said of a fit from few failures.
pub(crate) fn said_of_size(failures: u64, model: Model) -> Option<String> {
    let few = 5 * model.parameters() as u64;
    (failures < few).then(|| {
        let noun = if failures == 1 { "failure" } else { "failures" };
        format!("rests on {failures} {noun} only: the intervals are wide, and the kind of law cannot be told")
    })
}

/// Natural logarithm of the likelihood of lives under a law.
pub fn ln_likelihood(life: &Life, lives: &Lives) -> f64 {
    smooth::ln_likelihood(life, lives.records())
}

#[cfg(test)]
mod tests;
