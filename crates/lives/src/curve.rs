//! Survival as the lives themselves draw it, no law assumed.

mod turnbull;

use crate::{
    fit::z_of,
    record::{Ending, Lives},
};
use serde::Serialize;
pub use turnbull::turnbull;

/// A step of a curve. It holds from this age until the next.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Step {
    /// The age at which it begins.
    pub age: f64,
    /// The estimate: survival, or gathered hazard.
    pub value: f64,
    /// Lower edge of the band.
    pub low: f64,
    /// Upper edge of the band.
    pub high: f64,
    /// Lives under watch just before that age.
    pub at_risk: f64,
    /// Failures at that age.
    pub failures: f64,
}

/// A curve that lives draw.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Curve {
    /// The steps by rising age; before the first survival is 1 and gathered hazard 0.
    pub steps: Vec<Step>,
    /// Ages at which a life left without failure; of use for drawing.
    pub censored: Vec<f64>,
    /// What to beware of.
    pub caveats: Vec<String>,
}

impl Curve {
    /// The value at an age; `before` is the value ahead of the first step.
    fn at(&self, age: f64, before: f64) -> f64 {
        let past = self.steps.partition_point(|step| step.age <= age);
        past.checked_sub(1).map_or(before, |at| self.steps[at].value)
    }

    /// Survival past an age, of a survival curve.
    pub fn survival(&self, age: f64) -> f64 {
        self.at(age, 1.0)
    }

    /// The age by which half have failed, of a survival curve; none where more than half outlived the watch.
    pub fn median(&self) -> Option<f64> {
        self.steps.iter().find(|step| step.value <= 0.5 + 1e-12).map(|step| step.age)
    }
}

/// A failure was not seen happening.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error(
    "some failures were found after the fact, between two looks; use Turnbull's curve, which allows for that"
)]
pub struct NotSeen;

/// Numbers at risk and failed at each age of failure.
struct AtRisk {
    age: f64,
    watched: f64,
    failed: f64,
}

/// A life is at risk at an age past its entry, up to its end.
fn at_risk(lives: &Lives) -> Result<Vec<AtRisk>, NotSeen> {
    if lives.records().iter().any(|record| record.window().is_some()) {
        return Err(NotSeen);
    }
    // Changes by age: failures, ends, entries. Ends count until their age, entries after theirs.
    let mut events: Vec<(f64, f64, f64, f64)> = Vec::with_capacity(2 * lives.records().len());
    for record in lives.records() {
        let count = record.count as f64;
        let failed = if record.is_failure() { count } else { 0.0 };
        events.push((record.last_age(), failed, count, 0.0));
        events.push((record.entered, 0.0, 0.0, count));
    }
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut under_watch = 0.0;
    let mut rows = Vec::new();
    for same in events.chunk_by(|a, b| a.0 == b.0) {
        let sum = |of: fn(&(f64, f64, f64, f64)) -> f64| same.iter().map(of).sum::<f64>();
        let failed = sum(|event| event.1);
        if failed > 0.0 {
            rows.push(AtRisk { age: same[0].0, watched: under_watch, failed });
        }
        under_watch += sum(|event| event.3) - sum(|event| event.2);
    }
    Ok(rows)
}

fn censored(lives: &Lives) -> Vec<f64> {
    let ends = lives.records().iter().filter_map(|record| match record.ending {
        Ending::Censored(age) if age > record.entered => Some(age),
        _ => None,
    });
    let mut ends: Vec<f64> = ends.collect();
    ends.sort_by(f64::total_cmp);
    ends
}

fn caveats(rows: &[AtRisk], lives: &Lives) -> Vec<String> {
    let late = lives.records().iter().any(|record| record.entered > 0.0);
    let emptied = rows.iter().any(|row| row.failed >= row.watched)
        && lives
            .records()
            .iter()
            .any(|record| rows.iter().any(|row| row.failed >= row.watched && record.last_age() > row.age));
    let mut caveats = Vec::new();
    if late && emptied {
        caveats.push("at an early age all lives then under watch failed, so the curve falls to nothing though others lived longer".to_owned());
    }
    caveats
}

/// Survival by Kaplan and Meier (1958), with Greenwood's variance on the scale of ln(−ln), which keeps the band between
/// 0 and 1. Late entry is allowed for. Fails where a failure was not seen happening.
pub fn kaplan_meier(lives: &Lives, confidence: f64) -> Result<Curve, NotSeen> {
    let rows = at_risk(lives)?;
    let z = z_of(confidence);
    let (mut survival, mut greenwood) = (1.0_f64, 0.0);
    let steps = rows.iter().map(|row| {
        survival *= 1.0 - row.failed / row.watched;
        greenwood += row.failed / (row.watched * (row.watched - row.failed));
        let (low, high) = log_log_band(survival, greenwood, z);
        Step { age: row.age, value: survival, low, high, at_risk: row.watched, failures: row.failed }
    });
    Ok(Curve { steps: steps.collect(), censored: censored(lives), caveats: caveats(&rows, lives) })
}

fn log_log_band(survival: f64, greenwood: f64, z: f64) -> (f64, f64) {
    if survival <= 0.0 || !greenwood.is_finite() {
        return (0.0, if survival <= 0.0 { 0.0 } else { 1.0 });
    }
    let factor = (z * greenwood.sqrt() / survival.ln().abs()).exp();
    (survival.powf(factor), survival.powf(factor.recip()))
}

/// Gathered hazard by Nelson (1969) and Aalen (1978), with a band on the logarithmic scale.
pub fn nelson_aalen(lives: &Lives, confidence: f64) -> Result<Curve, NotSeen> {
    let rows = at_risk(lives)?;
    let z = z_of(confidence);
    let (mut hazard, mut variance) = (0.0, 0.0_f64);
    let steps = rows.iter().map(|row| {
        hazard += row.failed / row.watched;
        variance += row.failed / (row.watched * row.watched);
        let factor = (z * variance.sqrt() / hazard).exp();
        Step {
            age: row.age,
            value: hazard,
            low: hazard / factor,
            high: hazard * factor,
            at_risk: row.watched,
            failures: row.failed,
        }
    });
    Ok(Curve { steps: steps.collect(), censored: censored(lives), caveats: caveats(&rows, lives) })
}

/// Resamples for the band of Turnbull's curve where it is only drawn.
const RESAMPLES: usize = 120;

/// The curve that fits the lives: Kaplan's and Meier's where all failures were seen, else Turnbull's.
pub fn turnbull_or_kaplan_meier(lives: &Lives, confidence: f64) -> Curve {
    kaplan_meier(lives, confidence).unwrap_or_else(|NotSeen| turnbull(lives, confidence, RESAMPLES, 16))
}

#[cfg(test)]
mod tests;
