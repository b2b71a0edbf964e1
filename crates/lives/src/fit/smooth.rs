//! Lognormal and gamma laws.

use super::{Fit, FitError, Intervals, Model, interval, made, numeric, z_of};
use crate::{
    life::Life,
    record::{Ending, LifeRecord, Lives},
};

/// Log-likelihood of records under any law.
pub(super) fn ln_likelihood(life: &Life, records: &[LifeRecord]) -> f64 {
    records.iter().map(|record| record.count as f64 * of_one(life, record)).sum()
}

fn of_one(life: &Life, record: &LifeRecord) -> f64 {
    let entered = if record.entered > 0.0 { life.ln_survival(record.entered) } else { 0.0 };
    let ending = match (record.window(), record.ending) {
        (Some((good, failed)), _) => {
            let at_good = life.ln_survival(good);
            at_good + crate::special::ln_complement((life.ln_survival(failed) - at_good).min(0.0))
        }
        (None, Ending::Failed(age)) => life.ln_pdf(age),
        (None, ending) => life.ln_survival(LifeRecord::new(ending).last_age()),
    };
    ending - entered
}

/// The numbers in which the summit is nearly round: lognormal ln median and ln spread; gamma ln mean and ln shape.
fn law(model: Model, at: &[f64; 2], unit: f64) -> Life {
    let second = at[1].exp();
    match model {
        Model::Gamma => made(model, second, unit * (at[0] - at[1]).exp(), 0.0),
        _ => made(model, second, unit * at[0].exp(), 0.0),
    }
}

/// ln age to start from, and its spread, every end taken for a failure.
fn start(model: Model, records: &[LifeRecord], unit: f64) -> [f64; 2] {
    let ends: Vec<(f64, f64)> = records
        .iter()
        .filter(|record| record.last_age() > 0.0)
        .map(|record| ((record.last_age() / unit).ln(), record.count as f64))
        .collect();
    let total: f64 = ends.iter().map(|end| end.1).sum();
    let mean = ends.iter().map(|end| end.0 * end.1).sum::<f64>() / total;
    let spread =
        (ends.iter().map(|end| (end.0 - mean).powi(2) * end.1).sum::<f64>() / total).sqrt().clamp(0.05, 3.0);
    if model == Model::Gamma { [mean, -2.0 * spread.ln()] } else { [mean, spread.ln()] }
}

/// ln of spread or shape beyond which a summit counts as run away.
const FARTHEST: f64 = 12.0;

/// The greatest age: ages are looked at in parts of it.
fn unit_of(records: &[LifeRecord]) -> f64 {
    records.iter().map(LifeRecord::last_age).fold(0.0, f64::max)
}

/// The law at the summit, without intervals.
pub(super) fn law_alone(model: Model, lives: &Lives) -> Result<Life, FitError> {
    let records = lives.records();
    let unit = unit_of(records);
    Ok(law(model, &summit(model, records, unit)?.0.at, unit))
}

pub(super) fn fit(model: Model, lives: &Lives, confidence: f64) -> Result<Fit, FitError> {
    let records = lives.records();
    let unit = unit_of(records);
    let (summit, covariance) = summit(model, records, unit)?;
    let f = |at: &[f64; 2]| ln_likelihood(&law(model, at, unit), records);
    Ok(told(model, &f, &summit, covariance, unit, confidence))
}

/// The summit with the covariance there, unless it runs away.
fn summit(
    model: Model,
    records: &[LifeRecord],
    unit: f64,
) -> Result<(numeric::Summit<2>, [[f64; 2]; 2]), FitError> {
    spread_or_refuse(records)?;
    let f = |at: &[f64; 2]| ln_likelihood(&law(model, at, unit), records);
    let summit = numeric::climb(&f, start(model, records, unit), 0.3);
    let covariance = numeric::inverse(summit.curvature);
    let (Some(covariance), true) = (covariance, summit.at[1].abs() < FARTHEST && summit.height.is_finite())
    else {
        let (parameter, towards) = match (model, summit.at[1] > 0.0) {
            (Model::Gamma, true) => ("shape", "infinity"),
            (Model::Gamma, false) => ("shape", "0"),
            (_, true) => ("spread", "infinity"),
            (_, false) => ("spread", "0"),
        };
        return Err(FitError::NoSummit { model: model.name(), parameter, towards });
    };
    Ok((summit, covariance))
}

/// All failures at one age that no survivor passed: the law shrinks to that age.
fn spread_or_refuse(records: &[LifeRecord]) -> Result<(), FitError> {
    let seen =
        records.iter().filter(|record| matches!(record.ending, Ending::Failed(_))).map(LifeRecord::last_age);
    let first = seen.fold(f64::INFINITY, f64::min);
    let last = records.iter().map(LifeRecord::last_age).fold(0.0, f64::max);
    if first >= last { Err(FitError::NoSpread { age: last }) } else { Ok(()) }
}

fn told(
    model: Model,
    f: &impl Fn(&[f64; 2]) -> f64,
    summit: &numeric::Summit<2>,
    covariance: [[f64; 2]; 2],
    unit: f64,
    confidence: f64,
) -> Fit {
    let life = law(model, &summit.at, unit);
    // ln shape and ln scale from the numbers used here: a gamma's scale is its mean over its shape.
    let back = if model == Model::Gamma { [[0.0, 1.0], [1.0, -1.0]] } else { [[0.0, 1.0], [1.0, 0.0]] };
    let mut wide = [[0.0; 3]; 3];
    for i in 0..2 {
        for j in 0..2 {
            for k in 0..2 {
                for l in 0..2 {
                    wide[i][j] += back[i][k] * covariance[k][l] * back[j][l];
                }
            }
        }
    }
    let (sd_shape, sd_scale) = (wide[0][0].sqrt(), wide[1][1].sqrt());
    let z = z_of(confidence);
    let fall = 0.5 * z * z;
    // The summit over the other number when ln shape, or ln scale, is held.
    let ln_scale = (life.scale() / unit).ln();
    let of_shape = |y: f64| {
        let free = |at: &[f64; 1]| f(&[at[0], y]);
        summit.height - numeric::climb(&free, [summit.at[0]], 0.1).height
    };
    let of_scale = |y: f64| {
        let free = |at: &[f64; 1]| f(&[if model == Model::Gamma { y + at[0] } else { y }, at[0]]);
        summit.height - numeric::climb(&free, [summit.at[1]], 0.1).height
    };
    let by_fall = |fall: f64| {
        let scale = interval::by_fall(of_scale, ln_scale, sd_scale, fall);
        Intervals {
            shape: Some(interval::by_fall(of_shape, life.shape().ln(), sd_shape, fall)),
            scale: Some(interval::Interval { low: scale.low * unit, high: scale.high * unit }),
            location: None,
        }
    };
    let likelihood_ratio = by_fall(fall);
    Fit {
        life,
        model,
        ln_likelihood: summit.height,
        n: 0,
        failures: 0,
        confidence,
        wald: Intervals {
            shape: Some(interval::wald(life.shape(), sd_shape, z)),
            scale: Some(interval::wald(life.scale(), sd_scale, z)),
            location: None,
        },
        likelihood_ratio,
        corrected: likelihood_ratio,
        caveats: Vec::new(),
        covariance: wide,
    }
}
