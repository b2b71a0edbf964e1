//! What makes parts fail sooner: care overdue, the machine, the batch, how often it was switched on.

use crate::{
    fit::{Interval, z_of},
    linear::Cholesky,
    special,
};
use serde::Serialize;

/// A life with what was special about it.
#[derive(Clone, PartialEq, Debug)]
pub struct Subject {
    /// Age when the watch began.
    pub entered: f64,
    /// Age at the end.
    pub left: f64,
    /// True where it failed then.
    pub failed: bool,
    /// The covariates, as many for each life.
    pub covariates: Vec<f64>,
}

/// Why no effect can be told.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum HazardError {
    /// Too little data.
    #[error("nothing failed, so nothing can be said of what makes parts fail")]
    NoFailures,
    /// A row is off.
    #[error(
        "row {row}: each life needs as many covariates as the first, all finite, and an end after its beginning"
    )]
    Row {
        /// Which, from 1.
        row: usize,
    },
    /// Effects cannot be separated.
    #[error(
        "the effects cannot be told apart, or one of them goes to infinity: a covariate is the same for all, follows from others, or parts the failures from the rest perfectly"
    )]
    NotSeparable,
}

/// The effect of a covariate.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Effect {
    /// By how much ln hazard grows with one unit of it.
    pub coefficient: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// By how much the hazard is multiplied.
    pub hazard_ratio: f64,
    /// Interval of the hazard ratio.
    pub hazard_ratio_interval: Interval,
    /// Chance of an effect so far from none, either way, if there is none (Wald).
    pub p_value: f64,
}

/// Effects of covariates on hazard.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Effects {
    /// One for each covariate.
    pub effects: Vec<Effect>,
    /// Natural logarithm of the partial likelihood (Cox) or likelihood (Weibull).
    pub ln_likelihood: f64,
    /// The same without covariates.
    pub ln_likelihood_without: f64,
    /// Chance of so much better a fit if no covariate mattered (likelihood ratio).
    pub p_value: f64,
    /// Failures it rests on.
    pub failures: usize,
    /// What to beware of.
    pub caveats: Vec<String>,
}

fn checked(subjects: &[Subject]) -> Result<usize, HazardError> {
    let p = subjects.first().map_or(0, |subject| subject.covariates.len());
    for (at, subject) in subjects.iter().enumerate() {
        let right = subject.entered >= 0.0 && subject.left.is_finite() && subject.left > subject.entered;
        if !right || subject.covariates.len() != p || !subject.covariates.iter().all(|x| x.is_finite()) {
            return Err(HazardError::Row { row: at + 1 });
        }
    }
    if subjects.iter().any(|subject| subject.failed) { Ok(p) } else { Err(HazardError::NoFailures) }
}

/// Value, slope and minus second derivatives of a log-likelihood.
struct Around {
    value: f64,
    slope: Vec<f64>,
    curvature: Vec<Vec<f64>>,
}

/// Cox's proportional hazards (1972), ties by Efron (1977), late entry allowed for. Covariates are taken about their
/// means, which changes no effect. Fails where effects cannot be told apart.
pub fn cox(subjects: &[Subject], confidence: f64) -> Result<Effects, HazardError> {
    let p = checked(subjects)?;
    let centred = centred(subjects, p);
    let around = |b: &[f64]| partial(&centred, b);
    let without = around(&vec![0.0; p]).value;
    let (b, best) = newton(around, vec![0.0; p])?;
    told(&b, &best, 0, without, subjects, confidence)
}

fn centred(subjects: &[Subject], p: usize) -> Vec<Subject> {
    let mean = |at: usize| {
        subjects.iter().map(|subject| subject.covariates[at]).sum::<f64>() / subjects.len() as f64
    };
    let means: Vec<f64> = (0..p).map(mean).collect();
    let moved = |subject: &Subject| Subject {
        covariates: subject.covariates.iter().zip(&means).map(|(x, mean)| x - mean).collect(),
        ..subject.clone()
    };
    let mut out: Vec<Subject> = subjects.iter().map(moved).collect();
    out.sort_by(|a, b| b.left.total_cmp(&a.left));
    out
}

/// Sums over lives of e^(x·b), of that times x, of that times x x'.
#[derive(Clone)]
struct Sums {
    s0: f64,
    s1: Vec<f64>,
    s2: Vec<Vec<f64>>,
}

impl Sums {
    fn new(p: usize) -> Self {
        Self { s0: 0.0, s1: vec![0.0; p], s2: vec![vec![0.0; p]; p] }
    }

    fn add(&mut self, x: &[f64], weight: f64) {
        self.s0 += weight;
        for i in 0..x.len() {
            self.s1[i] += weight * x[i];
            for j in 0..=i {
                self.s2[i][j] += weight * x[i] * x[j];
            }
        }
    }

    fn less(&self, other: &Self, share: f64) -> Self {
        let mut out = self.clone();
        out.s0 -= share * other.s0;
        for i in 0..out.s1.len() {
            out.s1[i] -= share * other.s1[i];
            for j in 0..=i {
                out.s2[i][j] -= share * other.s2[i][j];
            }
        }
        out
    }
}

fn dot(x: &[f64], b: &[f64]) -> f64 {
    x.iter().zip(b).map(|(x, b)| x * b).sum()
}

/// The partial likelihood; subjects by falling age at the end.
fn partial(subjects: &[Subject], b: &[f64]) -> Around {
    let p = b.len();
    let mut out = Around { value: 0.0, slope: vec![0.0; p], curvature: vec![vec![0.0; p]; p] };
    let late = subjects.iter().any(|subject| subject.entered > 0.0);
    let mut ended_later = Sums::new(p);
    for same in subjects.chunk_by(|a, b| a.left == b.left) {
        let mut failed = Sums::new(p);
        for subject in same {
            let weight = dot(&subject.covariates, b).exp();
            ended_later.add(&subject.covariates, weight);
            if subject.failed {
                failed.add(&subject.covariates, weight);
                out.value += dot(&subject.covariates, b);
                for (slope, x) in out.slope.iter_mut().zip(&subject.covariates) {
                    *slope += x;
                }
            }
        }
        let n = same.iter().filter(|subject| subject.failed).count();
        if n == 0 {
            continue;
        }
        let age = same[0].left;
        let at_risk = if late { under_watch(subjects, b, age) } else { ended_later.clone() };
        for k in 0..n {
            let sums = at_risk.less(&failed, k as f64 / n as f64);
            out.value -= sums.s0.ln();
            for i in 0..p {
                let mean = sums.s1[i] / sums.s0;
                out.slope[i] -= mean;
                for j in 0..=i {
                    out.curvature[i][j] += sums.s2[i][j] / sums.s0 - mean * sums.s1[j] / sums.s0;
                    out.curvature[j][i] = out.curvature[i][j];
                }
            }
        }
    }
    out
}

fn under_watch(subjects: &[Subject], b: &[f64], age: f64) -> Sums {
    let mut sums = Sums::new(b.len());
    for subject in subjects.iter().filter(|subject| subject.entered < age && subject.left >= age) {
        sums.add(&subject.covariates, dot(&subject.covariates, b).exp());
    }
    sums
}

/// Newton steps, halved where they go down.
fn newton(around: impl Fn(&[f64]) -> Around, start: Vec<f64>) -> Result<(Vec<f64>, Around), HazardError> {
    let mut at = start;
    let mut here = around(&at);
    for _ in 0..60 {
        let step = Cholesky::of(&here.curvature).ok_or(HazardError::NotSeparable)?.solve(&here.slope);
        let gain = dot(&step, &here.slope);
        if gain.abs() < 1e-20 * (1.0 + here.value.abs()) || step.is_empty() {
            break;
        }
        let mut factor = 1.0;
        let next = loop {
            let next: Vec<f64> = at.iter().zip(&step).map(|(at, step)| at + factor * step).collect();
            let there = around(&next);
            if there.value >= here.value - 1e-12 * (1.0 + here.value.abs()) {
                break Some((next, there));
            }
            factor *= 0.5;
            if factor < 1e-6 {
                break None;
            }
        };
        let Some((next, there)) = next else { break };
        (at, here) = (next, there);
        if at.iter().any(|b| b.abs() > 200.0) {
            return Err(HazardError::NotSeparable);
        }
        if gain < 1e-18 {
            break;
        }
    }
    Ok((at, here))
}

fn told(
    at: &[f64],
    best: &Around,
    skip: usize,
    without: f64,
    subjects: &[Subject],
    confidence: f64,
) -> Result<Effects, HazardError> {
    let covariance = Cholesky::of(&best.curvature).ok_or(HazardError::NotSeparable)?.inverse();
    let z = z_of(confidence);
    let effects: Vec<Effect> = (skip..at.len())
        .map(|i| {
            let (b, sd) = (at[i], covariance[i][i].sqrt());
            Effect {
                coefficient: b,
                standard_error: sd,
                hazard_ratio: b.exp(),
                hazard_ratio_interval: Interval { low: (b - z * sd).exp(), high: (b + z * sd).exp() },
                p_value: 2.0 * special::normal_sf((b / sd).abs()),
            }
        })
        .collect();
    if effects.iter().any(|effect| effect.standard_error > 50.0 * (1.0 + effect.coefficient.abs())) {
        return Err(HazardError::NotSeparable);
    }
    let failures = subjects.iter().filter(|subject| subject.failed).count();
    let few = failures < 10 * effects.len();
    let caveat = "rests on fewer than ten failures for each covariate: the effects are easily overstated";
    Ok(Effects {
        p_value: special::chi_squared_sf(2.0 * (best.value - without), effects.len() as f64),
        effects,
        ln_likelihood: best.value,
        ln_likelihood_without: without,
        failures,
        caveats: few.then(|| caveat.to_owned()).into_iter().collect(),
    })
}

/// Weibull law with proportional hazards: hazard is shape/scale·(t/scale)^(shape−1)·e^(x·b), x the covariates as they
/// are.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct WeibullEffects {
    /// Shape.
    pub shape: f64,
    /// Scale of a life whose covariates are all 0.
    pub scale: f64,
    /// The effects.
    pub effects: Effects,
}

/// Fits the Weibull law with proportional hazards.
pub fn weibull_proportional(subjects: &[Subject], confidence: f64) -> Result<WeibullEffects, HazardError> {
    let p = checked(subjects)?;
    let unit = subjects.iter().map(|subject| subject.left).fold(0.0, f64::max);
    let bare: Vec<Subject> =
        subjects.iter().map(|subject| Subject { covariates: Vec::new(), ..subject.clone() }).collect();
    let failures = subjects.iter().filter(|subject| subject.failed).count() as f64;
    let exposure: f64 = subjects.iter().map(|subject| (subject.left - subject.entered) / unit).sum();
    let start = vec![0.0, (failures / exposure).ln()];
    let (bare_at, bare_best) = newton(|at| whole(&bare, at, unit), start)?;
    let mut start = bare_at;
    start.resize(p + 2, 0.0);
    let (at, best) = newton(|at| whole(subjects, at, unit), start)?;
    let shape = at[0].exp();
    let effects = told(&at, &best, 2, bare_best.value, subjects, confidence)?;
    Ok(WeibullEffects { shape, scale: unit * (-at[1] / shape).exp(), effects })
}

/// The whole likelihood at ln shape, ln rate, effects; ages in units of the greatest.
fn whole(subjects: &[Subject], at: &[f64], unit: f64) -> Around {
    let n = at.len();
    let shape = at[0].exp();
    let mut out = Around { value: 0.0, slope: vec![0.0; n], curvature: vec![vec![0.0; n]; n] };
    for subject in subjects {
        let linear = at[1] + dot(&subject.covariates, &at[2..]);
        let gathered = |age: f64| {
            if age <= 0.0 {
                return (0.0, 0.0, 0.0);
            }
            let x = shape * (age / unit).ln();
            let power = (x + linear).exp();
            // By ln shape: x, then x + x².
            (power, power * x, power * (x + x * x))
        };
        let (end, begin) = (gathered(subject.left), gathered(subject.entered));
        let (h, h1, h2) = (end.0 - begin.0, end.1 - begin.1, end.2 - begin.2);
        let x = shape * (subject.left / unit).ln();
        let mut by_shape = -h1;
        let mut by_linear = -h;
        out.value -= h;
        out.curvature[0][0] += h2;
        if subject.failed {
            out.value += at[0] + x - subject.left.ln() + linear;
            by_shape += 1.0 + x;
            by_linear += 1.0;
            out.curvature[0][0] -= x;
        }
        out.slope[0] += by_shape;
        let one = std::iter::once(1.0).chain(subject.covariates.iter().copied()).collect::<Vec<f64>>();
        for (i, a) in one.iter().enumerate() {
            out.slope[i + 1] += by_linear * a;
            out.curvature[0][i + 1] += h1 * a;
            out.curvature[i + 1][0] += h1 * a;
            for (j, b) in one.iter().enumerate() {
                out.curvature[i + 1][j + 1] += h * a * b;
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn subject(left: f64, failed: bool, covariates: &[f64]) -> Subject {
        Subject { entered: 0.0, left, failed, covariates: covariates.to_vec() }
    }

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
    }

    /// Freireich et al. 1963, 6-MP against placebo: survival texts print the effect of placebo as 1.57 with Efron's
    /// ties and 1.51 with Breslow's (from memory).
    #[test]
    fn cox_agrees_with_the_textbooks_remission_example() {
        let placebo = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23];
        let failed = [6, 6, 6, 7, 10, 13, 16, 22, 23];
        let censored = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35];
        let mut subjects: Vec<Subject> =
            placebo.iter().map(|&week| subject(f64::from(week), true, &[1.0])).collect();
        subjects.extend(failed.iter().map(|&week| subject(f64::from(week), true, &[0.0])));
        subjects.extend(censored.iter().map(|&week| subject(f64::from(week), false, &[0.0])));
        let found = cox(&subjects, 0.95).unwrap();
        near(found.effects[0].coefficient, 1.57, 5e-3);
        near(found.effects[0].standard_error, 0.412, 1e-3);
        let weibull = weibull_proportional(&subjects, 0.95).unwrap();
        near(weibull.effects.effects[0].coefficient, 1.731, 2e-3);
        near(weibull.shape, 1.366, 2e-3);
    }

    fn invented(late: bool) -> Vec<Subject> {
        (0..300)
            .map(|at| {
                let u = (f64::from(at) * 0.618_033_988_749_895 + 0.37).fract();
                let (x, y) = (f64::from(at % 2), f64::from(at % 7) / 7.0);
                let entered = if late && at % 3 == 0 { 20.0 } else { 0.0 };
                let scale = 60.0 * (-(0.9 * x - 0.5 * y) / 2.0).exp();
                let age = crate::Life::Weibull { shape: 2.0, scale }.fails_at(entered, u);
                let until = entered + 70.0;
                Subject { entered, left: age.min(until), failed: age <= until, covariates: vec![x, y] }
            })
            .collect()
    }

    #[test]
    fn effects_that_were_put_in_come_out_of_both_models() {
        for late in [false, true] {
            let subjects = invented(late);
            let (cox, weibull) =
                (cox(&subjects, 0.95).unwrap(), weibull_proportional(&subjects, 0.95).unwrap());
            for found in [&cox, &weibull.effects] {
                assert!(found.effects[0].hazard_ratio_interval.holds(0.9_f64.exp()), "{found:?}");
                assert!(found.effects[1].hazard_ratio_interval.holds((-0.5_f64).exp()));
                assert!(found.p_value < 1e-4 && found.caveats.is_empty());
            }
            near(weibull.shape, 2.0, 0.25);
        }
    }

    #[test]
    fn what_cannot_be_told_apart_is_refused() {
        let twins: Vec<Subject> = invented(false)
            .into_iter()
            .map(|s| Subject { covariates: vec![s.covariates[0]; 2], ..s })
            .collect();
        assert_eq!(cox(&twins, 0.9).unwrap_err(), HazardError::NotSeparable);
        assert_eq!(cox(&[subject(1.0, false, &[1.0])], 0.9).unwrap_err(), HazardError::NoFailures);
        assert_eq!(cox(&[subject(1.0, true, &[f64::NAN])], 0.9).unwrap_err(), HazardError::Row { row: 1 });
    }
}
