//! Systems that are mended and go on: how often stoppages come, and whether more or less often than before.

use crate::{
    fit::{self, FitError, Interval},
    special,
    weibull_terms::Terms,
};
use serde::Serialize;

/// One system under watch.
#[derive(Clone, PartialEq, Debug)]
pub struct System {
    /// Its age when the watch began.
    pub from: f64,
    /// Its age when the watch ended.
    pub until: f64,
    /// Ages at which it failed and was mended, rising.
    pub failures: Vec<f64>,
    /// True where the watch ended with the last failure, because of it.
    pub ended_by_failure: bool,
}

/// A system whose watch cannot be.
#[derive(Clone, Copy, PartialEq, Debug, thiserror::Error)]
#[error("system {system}: {what}")]
pub struct SystemFault {
    /// Which, from 1.
    pub system: usize,
    /// What is wrong.
    pub what: &'static str,
}

/// Systems whose watch has been checked.
#[derive(Clone, PartialEq, Debug)]
pub struct Systems(Vec<System>);

impl Systems {
    /// Checks the systems; fails with the first that cannot be.
    pub fn new(systems: Vec<System>) -> Result<Self, SystemFault> {
        for (at, system) in systems.iter().enumerate() {
            let fault = |what| Err(SystemFault { system: at + 1, what });
            if !(system.from >= 0.0 && system.until.is_finite() && system.from < system.until) {
                return fault("the watch must begin at an age of 0 or more and end later");
            }
            if !system.failures.is_sorted() {
                return fault("failures must stand in order of age");
            }
            if system.failures.iter().any(|age| !(*age > system.from && *age <= system.until)) {
                return fault("each failure must lie after the beginning of the watch and not after its end");
            }
            if system.ended_by_failure && system.failures.last() != Some(&system.until) {
                return fault("a watch that ended by failure must end at the last failure");
            }
        }
        Ok(Self(systems))
    }

    /// The systems.
    pub fn each(&self) -> &[System] {
        &self.0
    }

    /// Failures of all.
    pub fn failures(&self) -> usize {
        self.0.iter().map(|system| system.failures.len()).sum()
    }
}

/// A step of the mean number of failures for a system.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct MeanStep {
    /// The age.
    pub age: f64,
    /// Mean number of failures of a system by that age.
    pub mean: f64,
    /// Lower edge of the band.
    pub low: f64,
    /// Upper edge of the band.
    pub high: f64,
    /// Variance if a system's stretches had nothing to do with each other.
    pub variance_of_stretches: f64,
    /// Variance that allows for systems which differ for good.
    pub variance: f64,
}

/// Mean number of failures for a system by age (Nelson 2003, Recurrent Events Data Analysis), with a band on the
/// logarithmic scale from the variance of Lawless and Nadeau (1995), which assumes nothing of how failures come.
pub fn mean_failures(systems: &Systems, confidence: f64) -> Vec<MeanStep> {
    let z = fit::z_of(confidence);
    let all = systems.each();
    let mut ages: Vec<f64> = all.iter().flat_map(|system| system.failures.iter().copied()).collect();
    ages.sort_by(f64::total_cmp);
    ages.dedup();
    let (mut mean, mut apart) = (0.0, 0.0);
    let mut sums = vec![0.0; all.len()];
    let mut steps = Vec::with_capacity(ages.len());
    for age in ages {
        let watched: Vec<bool> = all.iter().map(|system| system.from < age && age <= system.until).collect();
        let n = watched.iter().filter(|watched| **watched).count() as f64;
        let each: Vec<f64> =
            all.iter().map(|system| system.failures.iter().filter(|at| **at == age).count() as f64).collect();
        let rise = each.iter().sum::<f64>() / n;
        mean += rise;
        for (at, sum) in sums.iter_mut().enumerate().filter(|(at, _)| watched[*at]) {
            *sum += (each[at] - rise) / n;
            apart += (each[at] - rise).powi(2) / (n * n);
        }
        let variance: f64 = sums.iter().map(|sum| sum * sum).sum();
        let factor = (z * variance.max(apart).sqrt() / mean).exp();
        steps.push(MeanStep {
            age,
            mean,
            low: mean / factor,
            high: mean * factor,
            variance_of_stretches: apart,
            variance,
        });
    }
    steps
}

/// Failures that come at a rate which grows or falls as a power of age: expected number by age t is (t/scale)^shape.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct PowerLaw {
    /// Over 1: failures come ever faster; under 1: ever more slowly.
    pub shape: f64,
    /// The age by which one failure is expected of a new system.
    pub scale: f64,
    /// Interval of the shape: exact where all systems were watched from new to one age, else by the fall of the
    /// likelihood.
    pub shape_interval: Interval,
    /// Interval of the scale by the fall of the likelihood.
    pub scale_interval: Interval,
    /// The shape freed of its bias in small samples, where the exact interval holds.
    pub unbiased_shape: Option<f64>,
    /// Natural logarithm of the likelihood.
    pub ln_likelihood: f64,
    /// Failures it rests on.
    pub failures: usize,
}

impl PowerLaw {
    /// Expected number of failures of a system between two ages.
    pub fn expected(&self, from: f64, to: f64) -> f64 {
        (to / self.scale).powf(self.shape) - (from / self.scale).powf(self.shape)
    }

    /// Rate of failures at an age.
    pub fn rate(&self, age: f64) -> f64 {
        self.shape / self.scale * (age / self.scale).powf(self.shape - 1.0)
    }
}

/// Fits the power law to like systems by maximum likelihood (Crow 1974; IEC 61164). Fails where there is no best law.
pub fn power_law(systems: &Systems, confidence: f64) -> Result<PowerLaw, FitError> {
    let failures = systems.failures();
    if failures == 0 {
        return Err(FitError::NoFailures { lives: systems.each().len() as u64 });
    }
    // The likelihood is that of a Weibull law whose every stretch begins at the entry and ends at the end of watch.
    let ages: Vec<f64> = systems.each().iter().flat_map(|system| system.failures.iter().copied()).collect();
    let stretches: Vec<(f64, f64)> =
        systems.each().iter().map(|system| (system.from, system.until)).collect();
    let found = fit::weibull_of(&Terms::of_stretches(&ages, &stretches), confidence)?;
    let exact = exact_shape(systems, confidence, found.life.shape());
    let by_fall = found.likelihood_ratio;
    let none = Interval { low: 0.0, high: f64::INFINITY };
    Ok(PowerLaw {
        shape: found.life.shape(),
        scale: found.life.scale(),
        shape_interval: exact.map(|exact| exact.1).or(by_fall.shape).unwrap_or(none),
        scale_interval: by_fall.scale.unwrap_or(none),
        unbiased_shape: exact.map(|exact| exact.0),
        ln_likelihood: found.ln_likelihood,
        failures,
    })
}

/// Unbiased shape and exact interval: 2·n·shape/estimate is chi-squared with 2n degrees, two less for each watch that
/// ended by failure.
fn exact_shape(systems: &Systems, confidence: f64, shape: f64) -> Option<(f64, Interval)> {
    let first = systems.each().first()?;
    let alike = systems.each().iter().all(|system| system.from == 0.0 && system.until == first.until);
    let n = systems.failures() as f64;
    let ended = systems.each().iter().filter(|system| system.ended_by_failure).count() as f64;
    let degrees = 2.0 * (n - ended);
    if !alike || degrees < 2.0 {
        return None;
    }
    let tail = 0.5 * (1.0 - confidence);
    let end = |share: f64| shape * special::chi_squared_quantile(share, degrees) / (2.0 * n);
    Some(((0.5 * degrees - 1.0) / n * shape, Interval { low: end(tail), high: end(1.0 - tail) }))
}

/// Whether failures come ever faster or more slowly.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct TrendTest {
    /// The statistic.
    pub statistic: f64,
    /// Chance of one so far out, either way, if there is no trend.
    pub p_value: f64,
    /// True where failures come ever faster, as far as these show.
    pub growing: bool,
}

/// The failures that count in a trend test: one that ended the watch had no choice of when to come.
fn free(system: &System) -> &[f64] {
    let last = system.failures.len() - usize::from(system.ended_by_failure);
    &system.failures[..last]
}

/// Laplace's trend test: whether failures lie late in the watch on the whole. None where there is no failure to tell.
pub fn laplace_test(systems: &Systems) -> Option<TrendTest> {
    let (mut sum, mut variance) = (0.0, 0.0);
    for system in systems.each() {
        let (middle, span) = (0.5 * (system.from + system.until), system.until - system.from);
        sum += free(system).iter().map(|age| age - middle).sum::<f64>();
        variance += free(system).len() as f64 * span * span / 12.0;
    }
    (variance > 0.0).then(|| {
        let statistic = sum / variance.sqrt();
        TrendTest { statistic, p_value: 2.0 * special::normal_sf(statistic.abs()), growing: statistic > 0.0 }
    })
}

/// The trend test of the power law (IEC 61164): 2 Σ ln(end of watch/age of failure) is chi-squared if there is no
/// trend; best against a shape other than 1. None where a watch began later than new, or nothing failed.
pub fn power_law_trend_test(systems: &Systems) -> Option<TrendTest> {
    if systems.each().iter().any(|system| system.from > 0.0) {
        return None;
    }
    let (mut statistic, mut n) = (0.0, 0.0);
    for system in systems.each() {
        statistic += 2.0 * free(system).iter().map(|age| (system.until / age).ln()).sum::<f64>();
        n += free(system).len() as f64;
    }
    (n > 0.0).then(|| {
        let above = special::chi_squared_sf(statistic, 2.0 * n);
        TrendTest {
            statistic,
            p_value: (2.0 * above.min(1.0 - above)).min(1.0),
            growing: statistic < 2.0 * n,
        }
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
    }

    fn system(until: f64, failures: &[f64]) -> System {
        System { from: 0.0, until, failures: failures.to_vec(), ended_by_failure: false }
    }

    /// Five machines whose last entry is the end of the watch; mean and variance as the open library `reliability`
    /// 0.9.0 gives them.
    #[test]
    fn mean_failures_agree_with_the_library_reliability() {
        let systems = Systems::new(vec![
            system(17.0, &[5.0, 10.0, 15.0]),
            system(19.0, &[6.0, 13.0, 17.0]),
            system(26.0, &[12.0, 20.0, 25.0]),
            system(24.0, &[13.0, 15.0]),
            system(28.0, &[16.0, 22.0, 25.0]),
        ])
        .unwrap();
        let steps = mean_failures(&systems, 0.95);
        let at = |age: f64| *steps.iter().rfind(|step| step.age <= age).unwrap();
        near(at(17.0).mean, 2.0, 1e-12);
        near(at(20.0).mean, 2.3333, 5e-5);
        near(at(22.0).mean, 2.6667, 5e-5);
        near(at(25.0).mean, 3.6667, 5e-5);
        // The library counts failures at one age (13, 15, 25) one after the other, here they are one step: that takes
        // 2 × (0.064 − 0.048) before 22 from its 0.718148 − 0.25.
        near(at(22.0).variance_of_stretches, 0.718_148 - 0.25 - 0.032, 1e-6);
        assert!(steps.iter().all(|step| step.low <= step.mean && step.mean <= step.high));
    }

    /// The 52 failures in 1000 hours of Crow's example, which IEC 61164 takes up (from memory): shape 0.5623 when freed
    /// of bias.
    const CROW: [f64; 52] = [
        2.0, 4.0, 10.0, 15.0, 18.0, 19.0, 20.0, 25.0, 39.0, 41.0, 43.0, 45.0, 47.0, 66.0, 88.0, 97.0, 104.0,
        105.0, 120.0, 196.0, 217.0, 219.0, 257.0, 260.0, 281.0, 283.0, 289.0, 307.0, 329.0, 357.0, 372.0,
        374.0, 393.0, 403.0, 466.0, 521.0, 556.0, 571.0, 621.0, 628.0, 642.0, 684.0, 732.0, 735.0, 754.0,
        792.0, 803.0, 805.0, 832.0, 836.0, 873.0, 975.0,
    ];

    #[test]
    fn power_law_agrees_with_iec_61164_type_i_example_from_memory() {
        let systems = Systems::new(vec![system(1000.0, &CROW)]).unwrap();
        let found = power_law(&systems, 0.9).unwrap();
        let plain = 52.0 / CROW.iter().map(|age| (1000.0 / age).ln()).sum::<f64>();
        near(found.shape, plain, 1e-12);
        near(found.unbiased_shape.unwrap(), 0.5623, 6e-4);
        near(found.expected(0.0, 1000.0), 52.0, 1e-9);
        assert!(found.shape_interval.high < 1.0, "failures come ever more slowly");
        let trend = power_law_trend_test(&systems).unwrap();
        assert!(!trend.growing && trend.p_value < 0.001 && !laplace_test(&systems).unwrap().growing);
    }

    #[test]
    fn a_watch_that_begins_late_is_the_rest_of_one_from_new() {
        let late =
            System { from: 200.0, until: 1000.0, failures: CROW[20..].to_vec(), ended_by_failure: false };
        let found = power_law(&Systems::new(vec![late]).unwrap(), 0.9).unwrap();
        near(found.expected(200.0, 1000.0), 32.0, 1e-8);
        assert!(found.unbiased_shape.is_none() && found.shape_interval.holds(found.shape));
    }

    /// Laplace by hand: three failures at 70, 80, 90 of 100: (240 − 150)/(100·√(3/12)) = 1.8.
    #[test]
    fn laplace_by_hand() {
        let systems = Systems::new(vec![system(100.0, &[70.0, 80.0, 90.0])]).unwrap();
        near(laplace_test(&systems).unwrap().statistic, 1.8, 1e-12);
        assert!(laplace_test(&Systems::new(vec![system(100.0, &[])]).unwrap()).is_none());
    }

    #[test]
    fn a_watch_that_cannot_be_is_refused() {
        assert!(Systems::new(vec![system(10.0, &[12.0])]).is_err());
        assert!(Systems::new(vec![system(10.0, &[5.0, 3.0])]).is_err());
        assert!(Systems::new(vec![system(f64::NAN, &[])]).is_err());
    }
}
