//! Whether a fitted law can be the law of the lives that were seen.
//!
//! # Method
//! The curve that the lives draw by themselves (Kaplan and Meier, late entry allowed for) is held against the law, on the
//! scale u of the share that has failed by the law. Two distances are measured, as far as the last life was watched:
//!
//! - Anderson's and Darling's A² = n ∫ (Fₙ(u) − u)² / (u(1 − u)) du, which looks hard at the earliest and latest
//!   failures; for complete lives it is the usual statistic, for lives all watched to the same age that of Pettitt and
//!   Stephens (1976);
//! - Kolmogorov's D, the greatest gap between the two.
//!
//! How great a distance chance alone brings depends on the law, its fitted numbers and the censoring, so that no table
//! serves. It is found by drawing lives from the fitted law, censoring them as these were (Davison and Hinkley 1997,
//! Bootstrap Methods and their Application, section 3.5: a life that was censored keeps its age of censoring, for one that
//! failed an age is drawn from the curve of censoring past its failure), fitting the law anew and measuring again.

mod draw;

use crate::{
    curve::{self, NotSeen, Step},
    fit::{self, Fit, Model},
    life::Life,
    record::{LifeRecord, Lives},
    special,
};
use draw::Watch;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use serde::Serialize;

/// More lives than this are not judged: each resample is fitted anew.
pub const MOST_LIVES: u64 = 20_000;

/// How far the curve of the lives lies from a law.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Distances {
    /// Anderson's and Darling's A².
    pub anderson_darling: f64,
    /// Kolmogorov's D.
    pub kolmogorov: f64,
}

/// What is to be thought of a fitted law.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Judgement {
    /// The distances.
    pub distances: Distances,
    /// Chance of an A² at least so great if the law is right.
    pub anderson_darling_p: f64,
    /// Chance of a D at least so great if the law is right.
    pub kolmogorov_p: f64,
    /// How nearly the failures lie on a line on the law's probability paper; 1: exactly. None with fewer than three ages.
    pub plot_correlation: Option<f64>,
    /// How many sets of lives were drawn.
    pub resamples: usize,
}

/// Why a law cannot be judged.
#[derive(Clone, Copy, PartialEq, Debug, thiserror::Error)]
pub enum NotJudged {
    /// There is no plain curve to hold against it.
    #[error(
        "some failures were found after the fact, between two looks, so no distance from the law can be measured"
    )]
    NotSeen,
    /// It would take too long.
    #[error("{lives} lives are more than the {MOST_LIVES} that are drawn anew to judge a law")]
    TooMany {
        /// How many lives there are.
        lives: u64,
    },
    /// Lives drawn from the law are too few to fit it.
    #[error("most sets of lives drawn from the law have too few failures to fit it again")]
    TooFew,
}

impl From<NotSeen> for NotJudged {
    fn from(NotSeen: NotSeen) -> Self {
        Self::NotSeen
    }
}

/// Judges a fitted law by so many sets of lives drawn from it; the same seed draws the same sets.
pub fn judge(fit: &Fit, lives: &Lives, resamples: usize, seed: u64) -> Result<Judgement, NotJudged> {
    let seen = distances(&fit.life, lives)?;
    if lives.n() > MOST_LIVES {
        return Err(NotJudged::TooMany { lives: lives.n() });
    }
    let watch = Watch::of(lives)?;
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (mut drawn, mut as_far, mut as_wide) = (0, 0, 0);
    // A set without failures, or with all at one age, has no law; it could not have been judged, and is drawn again.
    for _ in 0..2 * resamples {
        if drawn == resamples {
            break;
        }
        let again = watch.draw(&fit.life, &mut rng);
        let Ok(law) = fit::law_alone(fit.model, &again) else { continue };
        let found = distances(&law, &again)?;
        drawn += 1;
        as_far += usize::from(found.anderson_darling >= seen.anderson_darling);
        as_wide += usize::from(found.kolmogorov >= seen.kolmogorov);
    }
    if drawn < resamples {
        return Err(NotJudged::TooFew);
    }
    let share = |count: usize| (count + 1) as f64 / (drawn + 1) as f64;
    Ok(Judgement {
        distances: seen,
        anderson_darling_p: share(as_far),
        kolmogorov_p: share(as_wide),
        plot_correlation: plot_correlation(&fit.life, fit.model, lives)?,
        resamples: drawn,
    })
}

/// Measures how far the curve of the lives lies from a law. Fails where a failure was not seen happening.
pub fn distances(life: &Life, lives: &Lives) -> Result<Distances, NotSeen> {
    let steps = curve::kaplan_meier(lives, 0.95)?.steps;
    let scale = Scale::of(life, lives.records());
    let last = lives.records().iter().map(LifeRecord::last_age).fold(0.0, f64::max);
    let (mut area, mut gap) = (0.0, 0.0_f64);
    let (mut from, mut share) = (Place::NEW, 0.0);
    for Step { age, value, .. } in steps {
        let to = scale.place(age);
        area += weighed(share, from, to);
        gap = gap.max((share - to.failed).abs());
        (from, share) = (to, 1.0 - value);
        gap = gap.max((share - to.failed).abs());
    }
    let end = if share >= 1.0 { Place::OLD } else { scale.place(last) };
    area += weighed(share, from, end);
    gap = gap.max((share - end.failed).abs());
    Ok(Distances { anderson_darling: lives.n() as f64 * area, kolmogorov: gap })
}

/// A place on the scale of the law: share failed, and the logarithms of that and of the share left.
#[derive(Clone, Copy)]
struct Place {
    failed: f64,
    ln_failed: f64,
    ln_left: f64,
}

impl Place {
    const NEW: Self = Self { failed: 0.0, ln_failed: f64::NEG_INFINITY, ln_left: 0.0 };
    const OLD: Self = Self { failed: 1.0, ln_failed: 0.0, ln_left: f64::NEG_INFINITY };
}

/// The law as the lives could show it: from the youngest age at which one was watched.
struct Scale<'a> {
    life: &'a Life,
    ln_at_first: f64,
}

impl<'a> Scale<'a> {
    fn of(life: &'a Life, records: &[LifeRecord]) -> Self {
        let first = records.iter().map(|record| record.entered).fold(f64::INFINITY, f64::min);
        Self { life, ln_at_first: if first.is_finite() { life.ln_survival(first) } else { 0.0 } }
    }

    fn place(&self, age: f64) -> Place {
        let ln_left = (self.life.ln_survival(age) - self.ln_at_first).min(0.0);
        Place { failed: -ln_left.exp_m1(), ln_failed: special::ln_complement(ln_left), ln_left }
    }
}

/// The integral of (c − u)²/(u(1 − u)) = c²/u + (1 − c)²/(1 − u) − 1 between two places.
fn weighed(c: f64, from: Place, to: Place) -> f64 {
    // A share of nothing takes no part, however far its logarithm goes.
    let part = |weight: f64, low: f64, high: f64| if weight == 0.0 { 0.0 } else { weight * (high - low) };
    part(c * c, from.ln_failed, to.ln_failed)
        - part((1.0 - c).powi(2), from.ln_left, to.ln_left)
        - (to.failed - from.failed)
}

/// How nearly the failures lie on a line on the law's probability paper: the correlation of their ages (of the logarithms,
/// where the law is one of logarithms) with those that the law gives to the curve of the lives half-way down each step
/// (Filliben 1975; for censored lives Meeker and Escobar 1998, section 6.4).
pub fn plot_correlation(life: &Life, model: Model, lives: &Lives) -> Result<Option<f64>, NotSeen> {
    let steps = curve::kaplan_meier(lives, 0.95)?.steps;
    let logarithmic = matches!(model, Model::Weibull | Model::ShiftedWeibull | Model::Lognormal);
    let shown = |age: f64| if logarithmic { (age - life.location()).ln() } else { age };
    let mut before = 1.0;
    let points: Vec<(f64, f64)> = steps
        .iter()
        .map(|step| {
            let half_way = 0.5 * (before + step.value);
            before = step.value;
            (shown(step.age), shown(life.quantile(1.0 - half_way)))
        })
        .collect();
    Ok(if points.len() < 3 { None } else { correlation(&points) })
}

fn correlation(points: &[(f64, f64)]) -> Option<f64> {
    let n = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(|point| point.0), mean(|point| point.1));
    let sum =
        |of: &dyn Fn(f64, f64) -> f64| points.iter().map(|point| of(point.0 - x, point.1 - y)).sum::<f64>();
    let found = sum(&|x, y| x * y) / (sum(&|x, _| x * x) * sum(&|_, y| y * y)).sqrt();
    found.is_finite().then_some(found)
}

#[cfg(test)]
mod tests;
