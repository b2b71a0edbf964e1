//! Whether chances that were given were right.

use super::{CONFIDENCE, Figure};
use crate::tally::Tally;
use serde::Serialize;
use statrs::distribution::{Binomial, DiscreteCDF};

/// How the given chances stood up.
///
/// A chance is given before each showing from all that was known then. If such chances are right, what is left of
/// outcome less chance has no memory, so that the bands need no allowance for showings of one booth being alike.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Calibration {
    /// Showings for which a chance was given.
    pub showings: usize,
    /// The mean of the given chances.
    pub mean_given: f64,
    /// The share of showings that stopped.
    pub came: f64,
    /// Mean square of chance less outcome (Brier 1950, Verification of forecasts expressed in terms of probability).
    pub brier: Figure,
    /// The Brier score of giving every showing the overall share: what there is to beat.
    pub brier_of_mean: f64,
    /// Minus the mean logarithm of the chance given to what came (Good 1952, Rational decisions).
    pub log_score: Figure,
    /// The log score of giving every showing the overall share.
    pub log_score_of_mean: f64,
    /// Tenths of the showings, the least chances first.
    pub steps: Vec<Step>,
    /// How many tenths lie within their bands.
    pub steps_within: usize,
    /// Of ten right tenths one lies outside its band of 95 % about four times in ten; outside these wider bands
    /// (99.5 %, so that all ten hold together with 95 %) none should.
    pub all_within_joint_band: bool,
}

/// A tenth of the showings.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Step {
    /// Showings in it.
    pub n: usize,
    /// The mean of the chances given.
    pub given: f64,
    /// The share that stopped.
    pub came: f64,
    /// If the chances are right, the share that stopped lies between this …
    pub low: f64,
    /// … and this, 95 times in 100.
    pub high: f64,
    /// It does.
    pub within: bool,
}

/// How many steps there are.
const STEPS: usize = 10;
/// A chance of nothing that came is scored as this.
const LEAST_CHANCE: f64 = 1e-9;

impl Calibration {
    pub(crate) fn of(tallies: &[&Tally]) -> Option<Self> {
        let mut given: Vec<(f64, bool)> =
            tallies.iter().flat_map(|tally| tally.given.iter().copied()).collect();
        if given.is_empty() {
            return None;
        }
        given.sort_by(|a, b| a.0.total_cmp(&b.0));
        let n = given.len();
        let came = given.iter().filter(|(_, came)| *came).count() as f64 / n as f64;
        let tenth = |at: usize| &given[at * n / STEPS..(at + 1) * n / STEPS];
        let tail = 1.0 - CONFIDENCE;
        let steps: Vec<Step> = (0..STEPS)
            .map(tenth)
            .filter(|tenth| !tenth.is_empty())
            .map(|tenth| Step::of(tenth, tail))
            .collect();
        let joint = (0..STEPS)
            .map(tenth)
            .filter(|tenth| !tenth.is_empty())
            .all(|tenth| Step::of(tenth, tail / STEPS as f64).within);
        let of_mean =
            |score: fn(f64, bool) -> f64| came * score(came, true) + (1.0 - came) * score(came, false);
        Some(Self {
            showings: n,
            mean_given: given.iter().map(|(chance, _)| chance).sum::<f64>() / n as f64,
            came,
            brier: over_booths(tallies, brier),
            brier_of_mean: of_mean(brier),
            log_score: over_booths(tallies, log_score),
            log_score_of_mean: of_mean(log_score),
            steps_within: steps.iter().filter(|step| step.within).count(),
            all_within_joint_band: joint,
            steps,
        })
    }
}

fn brier(chance: f64, came: bool) -> f64 {
    (chance - f64::from(u8::from(came))).powi(2)
}

fn log_score(chance: f64, came: bool) -> f64 {
    -(if came { chance } else { 1.0 - chance }).max(LEAST_CHANCE).ln()
}

/// The mean score with its interval over booths.
fn over_booths(tallies: &[&Tally], score: fn(f64, bool) -> f64) -> Figure {
    let sum = |tally: &&Tally| tally.given.iter().map(|&(chance, came)| score(chance, came)).sum();
    let sums: Vec<f64> = tallies.iter().map(sum).collect();
    let counts: Vec<f64> = tallies.iter().map(|tally| tally.given.len() as f64).collect();
    super::ratio(&sums, &counts, 1.0)
}

impl Step {
    /// The band is the binomial law's about the mean chance: a little wide, for unequal chances spread less.
    fn of(tenth: &[(f64, bool)], tail: f64) -> Self {
        let n = tenth.len();
        let given = tenth.iter().map(|(chance, _)| chance).sum::<f64>() / n as f64;
        let count = tenth.iter().filter(|(_, came)| *came).count() as u64;
        let (low, high) = Binomial::new(given.clamp(0.0, 1.0), n as u64)
            .map_or((0, n as u64), |law| (law.inverse_cdf(0.5 * tail), law.inverse_cdf(1.0 - 0.5 * tail)));
        let share = |count: u64| count as f64 / n as f64;
        Self {
            n,
            given,
            came: share(count),
            low: share(low),
            high: share(high),
            within: (low..=high).contains(&count),
        }
    }
}
