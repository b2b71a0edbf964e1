//! The Weibull law with a location: an age before which none fails.
//!
//! Its likelihood has no summit at all where the location may come as near to the first failure as it likes and the
//! shape may be under 1: it grows without end there. What is wanted is the highest summit short of that; where there is
//! none, that is said.

use super::{Fit, FitError, Intervals, Model, interval, made, numeric, weibull, z_of};
use crate::life::Life;
use crate::record::{Ending, LifeRecord, Lives};
use crate::root;
use crate::weibull_terms::Terms;

/// Looks over the location, from nothing to the first failure less e^−14 of it.
const LOOKS: usize = 70;
const NEAREST: f64 = 14.0;

/// The records as seen from a location; those that ended before it say nothing.
fn seen_from(location: f64, records: &[LifeRecord]) -> Vec<LifeRecord> {
    let past = |age: f64| (age - location).max(0.0);
    records
        .iter()
        .filter(|record| record.last_age() > location)
        .map(|record| LifeRecord {
            entered: past(record.entered),
            ending: match record.ending {
                Ending::Failed(age) => Ending::Failed(past(age)),
                Ending::Censored(age) => Ending::Censored(past(age)),
                Ending::Between(good, failed) => Ending::Between(past(good), past(failed)),
                Ending::FailedBefore(age) => Ending::FailedBefore(past(age)),
            },
            count: record.count,
        })
        .collect()
}

fn terms(location: f64, lives: &Lives) -> Terms {
    Terms::of(&seen_from(location, lives.records()))
}

/// Log-likelihood with the best shape and scale for a location.
fn height(location: f64, lives: &Lives) -> f64 {
    let terms = terms(location, lives);
    weibull::summit(&terms).map_or(f64::NEG_INFINITY, |(shape, u)| terms.ln_likelihood(shape, u))
}

fn first_failure(lives: &Lives) -> f64 {
    let failures = lives.records().iter().filter(|record| record.is_failure());
    failures.map(LifeRecord::last_age).fold(f64::INFINITY, f64::min)
}

/// The law at the summit, without intervals.
pub(super) fn law_alone(lives: &Lives) -> Result<Life, FitError> {
    let (location, _) = found(lives)?;
    let terms = terms(location, lives);
    let (shape, u) = weibull::summit(&terms)?;
    Ok(made(Model::ShiftedWeibull, shape, (u + terms.shift).exp(), location))
}

pub(super) fn fit(lives: &Lives, confidence: f64) -> Result<Fit, FitError> {
    let (location, caveats) = found(lives)?;
    told(location, lives, first_failure(lives), confidence, caveats)
}

/// The best location, and what to beware of.
fn found(lives: &Lives) -> Result<(f64, Vec<String>), FitError> {
    let first = first_failure(lives);
    // The location as 1 − e^−w of the first failure: looks grow dense towards it.
    let location = |w: f64| -first * (-w).exp_m1();
    let place = |at: usize| NEAREST * at as f64 / LOOKS as f64;
    let looks: Vec<f64> = (0..=LOOKS).map(|at| height(location(place(at)), lives)).collect();
    let inner = (1..LOOKS).filter(|&at| looks[at] >= looks[at - 1] && looks[at] > looks[at + 1]);
    let best = inner.max_by(|&a, &b| looks[a].total_cmp(&looks[b]));
    let rises_at_end = looks[LOOKS] > looks[LOOKS - 1];
    let mut caveats = Vec::new();
    let at = match best.filter(|&at| looks[at] >= looks[0]) {
        Some(at) => {
            refined(|w| height(location(w), lives), place(at - 1), place(at + 1)).map_or(place(at), |w| w)
        }
        None if looks[0] >= looks[1] => {
            caveats.push("nothing speaks for an age before which none fails: the location is 0".to_owned());
            0.0
        }
        None => {
            return Err(FitError::NoSummit {
                model: "shifted Weibull",
                parameter: "location",
                towards: "the first failure",
            });
        }
    };
    if rises_at_end {
        caveats.push("the likelihood grows without end as the location nears the first failure; this is the highest summit short of that".to_owned());
    }
    Ok((location(at), caveats))
}

/// Where the slope, by differences, is nothing.
fn refined(f: impl Fn(f64) -> f64, low: f64, high: f64) -> Option<f64> {
    let (at, _) = root::summit(&f, low, high, 40);
    let step = 1e-3 * at.min(1.0);
    let falling = |w: f64| (f(w - step) - f(w + step)) * 8.0 - (f(w - 2.0 * step) - f(w + 2.0 * step));
    let (left, right) = (at - step, at + step);
    let (f_left, f_right) = (falling(left), falling(right));
    (f_left < 0.0 && f_right > 0.0).then(|| root::between(falling, (left, f_left), (right, f_right)))
}

fn told(
    location: f64,
    lives: &Lives,
    first: f64,
    confidence: f64,
    caveats: Vec<String>,
) -> Result<Fit, FitError> {
    let terms_here = terms(location, lives);
    let (shape, u) = weibull::summit(&terms_here)?;
    let scale = (u + terms_here.shift).exp();
    let best = terms_here.ln_likelihood(shape, u);
    let z = z_of(confidence);
    let unit = scale;
    let f = |at: &[f64; 3]| {
        let law = made(Model::ShiftedWeibull, at[0].exp(), at[1].exp(), (location + at[2] * unit).max(0.0));
        super::smooth::ln_likelihood(&law, lives.records())
    };
    let covariance = covariance(&f, shape, scale, location > 0.0, unit);
    let sds = [0, 1, 2].map(|i: usize| covariance[i][i].max(0.0).sqrt());
    let fall = 0.5 * z * z;
    let likelihood_ratio = by_falls(lives, first, best, (shape, scale, location), sds, fall);
    Ok(Fit {
        life: made(Model::ShiftedWeibull, shape, scale, location),
        model: Model::ShiftedWeibull,
        ln_likelihood: best,
        n: 0,
        failures: 0,
        confidence,
        wald: Intervals {
            shape: Some(interval::wald(shape, sds[0], z)),
            scale: Some(interval::wald(scale, sds[1], z)),
            location: Some(interval::Interval {
                low: (location - z * sds[2]).max(0.0),
                high: (location + z * sds[2]).min(first),
            }),
        },
        likelihood_ratio,
        corrected: likelihood_ratio,
        caveats,
        covariance,
    })
}

/// Covariance of ln shape, ln scale, location; with the location at its bound of 0, of the other two alone.
fn covariance(f: &impl Fn(&[f64; 3]) -> f64, shape: f64, scale: f64, free: bool, unit: f64) -> [[f64; 3]; 3] {
    let start = [shape.ln(), scale.ln(), 0.0];
    if free {
        let summit = numeric::arrive(f, start);
        if let Some(mut inverse) = numeric::inverse(summit.curvature) {
            for row in &mut inverse {
                row[2] *= unit;
            }
            for value in &mut inverse[2] {
                *value *= unit;
            }
            return inverse;
        }
    }
    let two = |at: &[f64; 2]| f(&[at[0], at[1], 0.0]);
    let inverse = numeric::inverse(numeric::arrive(&two, [start[0], start[1]]).curvature).unwrap_or_default();
    let mut wide = [[0.0; 3]; 3];
    for (i, row) in inverse.iter().enumerate() {
        wide[i][..2].copy_from_slice(row);
    }
    wide
}

/// Intervals by the fall: for a held shape or scale the location is searched between 0 and just under the first
/// failure.
fn by_falls(
    lives: &Lives,
    first: f64,
    best: f64,
    (shape, scale, location): (f64, f64, f64),
    sds: [f64; 3],
    fall: f64,
) -> Intervals {
    let over_location = |held: &dyn Fn(&Terms) -> f64| {
        let at = |w: f64| held(&terms(-first * (-w).exp_m1(), lives));
        root::summit(at, 0.0, 6.0, 36).1.max(at(0.0))
    };
    let of_shape = |y: f64| {
        let held = |terms: &Terms| weibull::profile(terms, y.exp()).map_or(f64::NEG_INFINITY, |(_, ln)| ln);
        best - over_location(&held)
    };
    let of_scale = |y: f64| {
        let held = |terms: &Terms| weibull::best_at_scale(terms, y - terms.shift, shape).1;
        best - over_location(&held)
    };
    let below = |location: f64| best - height(location, lives) - fall;
    let low =
        if below(0.0) <= 0.0 { 0.0 } else { root::between(below, (0.0, below(0.0)), (location, -fall)) };
    let last = first * (1.0 - (-NEAREST).exp());
    let high =
        if below(last) <= 0.0 { first } else { root::between(below, (location, -fall), (last, below(last))) };
    Intervals {
        shape: Some(interval::by_fall(of_shape, shape.ln(), sds[0].max(0.05), fall)),
        scale: Some(interval::by_fall(of_scale, scale.ln(), sds[1].max(0.02), fall)),
        location: Some(interval::Interval { low, high }),
    }
}
