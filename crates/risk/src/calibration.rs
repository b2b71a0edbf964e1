//! Whether chances that were given were right.

use crate::figure::{CONFIDENCE, Figure, ratio};
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
    /// The showings in steps of equal size, the least chances first: tenths, as a rule.
    pub steps: Vec<Step>,
    /// How many steps lie within their bands.
    pub steps_within: usize,
    /// Of ten right tenths one lies outside its band of 95 % about four times in ten. Outside the wider bands that all keep
    /// together 95 times in 100 none should lie: what may stray is shared out evenly among the steps (Bonferroni's
    /// inequality), so that ten have 99.5 % each.
    pub all_within_joint_band: bool,
}

/// A step of the showings.
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
    /// If the chances are right, the shares of all steps lie between this …
    pub joint_low: f64,
    /// … and this, each its own, 95 times in 100.
    pub joint_high: f64,
    /// This one does.
    pub within_joint: bool,
}

/// A chance of nothing that came is scored as this.
const LEAST_CHANCE: f64 = 1e-9;

impl Calibration {
    /// Looks at chances that were given and whether it came, in groups that are independent of each other, by so many
    /// steps of equal size; none where no chance was given.
    pub fn of(groups: &[&[(f64, bool)]], steps: usize) -> Option<Self> {
        let mut given: Vec<(f64, bool)> = groups.iter().flat_map(|group| group.iter().copied()).collect();
        if given.is_empty() {
            return None;
        }
        given.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (n, n_steps) = (given.len(), steps.max(1));
        let came = given.iter().filter(|(_, came)| *came).count() as f64 / n as f64;
        let step = |at: usize| &given[at * n / n_steps..(at + 1) * n / n_steps];
        let all = || (0..n_steps).map(step).filter(|step| !step.is_empty());
        let steps: Vec<Step> = all().map(|step| Step::of(step, n_steps)).collect();
        let of_mean =
            |score: fn(f64, bool) -> f64| came * score(came, true) + (1.0 - came) * score(came, false);
        Some(Self {
            showings: n,
            mean_given: given.iter().map(|(chance, _)| chance).sum::<f64>() / n as f64,
            came,
            brier: over_groups(groups, brier),
            brier_of_mean: of_mean(brier),
            log_score: over_groups(groups, log_score),
            log_score_of_mean: of_mean(log_score),
            steps_within: steps.iter().filter(|step| step.within).count(),
            all_within_joint_band: steps.iter().all(|step| step.within_joint),
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

/// The mean score with its interval over groups.
fn over_groups(groups: &[&[(f64, bool)]], score: fn(f64, bool) -> f64) -> Figure {
    let sum = |group: &&[(f64, bool)]| group.iter().map(|&(chance, came)| score(chance, came)).sum();
    let sums: Vec<f64> = groups.iter().map(sum).collect();
    let counts: Vec<f64> = groups.iter().map(|group| group.len() as f64).collect();
    ratio(&sums, &counts, 1.0)
}

impl Step {
    /// The bands are the binomial law's about the mean chance: a little wide, for unequal chances spread less.
    fn of(step: &[(f64, bool)], n_steps: usize) -> Self {
        let n = step.len();
        let given = step.iter().map(|(chance, _)| chance).sum::<f64>() / n as f64;
        let count = step.iter().filter(|(_, came)| *came).count() as u64;
        let tail = 0.5 * (1.0 - CONFIDENCE);
        let [(low, high), (joint_low, joint_high)] = [tail, tail / n_steps as f64].map(|tail| {
            Binomial::new(given.clamp(0.0, 1.0), n as u64)
                .map_or((0, n as u64), |law| (law.inverse_cdf(tail), law.inverse_cdf(1.0 - tail)))
        });
        let share = |count: u64| count as f64 / n as f64;
        Self {
            n,
            given,
            came: share(count),
            low: share(low),
            high: share(high),
            within: (low..=high).contains(&count),
            joint_low: share(joint_low),
            joint_high: share(joint_high),
            within_joint: (joint_low..=joint_high).contains(&count),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn scores_are_those_of_the_papers() {
        // By hand: Brier 1950, ((0.8 - 1)^2 + (0.4 - 0)^2) / 2; logarithms of 0.8 and 0.6.
        let given = [(0.8, true), (0.4, false)];
        let found = Calibration::of(&[&given[..1], &given[1..]], 2).unwrap();
        assert!((found.brier.value - 0.1).abs() < 1e-12);
        assert!((found.log_score.value + f64::midpoint(0.8_f64.ln(), 0.6_f64.ln())).abs() < 1e-12);
        assert_eq!((found.steps.len(), found.steps[0].n), (2, 1));
        assert!((found.mean_given - 0.6).abs() < 1e-12 && (found.came - 0.5).abs() < 1e-12);
        assert!(Calibration::of(&[], 10).is_none());
    }

    #[test]
    fn chances_that_are_wrong_leave_their_bands() {
        let given: Vec<(f64, bool)> = (0..1000).map(|at| (0.02, at % 10 == 0)).collect();
        let groups: Vec<&[(f64, bool)]> = given.chunks(1).collect();
        let found = Calibration::of(&groups, 10).unwrap();
        assert!(!found.all_within_joint_band && found.steps_within < 10, "{found:?}");
        let right: Vec<(f64, bool)> = given.iter().map(|(_, came)| (0.1, *came)).collect();
        let groups: Vec<&[(f64, bool)]> = right.chunks(1).collect();
        assert_eq!(Calibration::of(&groups, 10).unwrap().steps_within, 10);
    }

    /// Binomial law of 1,000 showings at 0.1, worked out with scipy's `binom.ppf` at 0.025 and 0.975, 0.0025 and 0.9975.
    #[test]
    fn the_band_of_all_steps_together_is_the_wider_one() {
        let given: Vec<(f64, bool)> = (0..10_000).map(|at| (0.1, at % 10 == 0)).collect();
        let found = Calibration::of(&[&given], 10).unwrap();
        for step in &found.steps {
            assert_eq!((step.low, step.high), (0.082, 0.119));
            assert_eq!((step.joint_low, step.joint_high), (0.074, 0.128));
        }
    }
}
