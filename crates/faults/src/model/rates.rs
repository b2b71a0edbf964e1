//! From what a trouble table says (how often a symptom comes up, and the odds of its causes) to priors and links.

use super::ids::{CauseId, SymptomId};
use super::parts::{Link, Symptom};
use std::collections::BTreeMap;
use units::{Hours, Probability};

/// The odds of one cause, given one symptom.
#[derive(Debug, Clone, PartialEq)]
pub struct Odds {
    /// The cause.
    pub cause: CauseId,
    /// Its share; only the ratios within a symptom matter.
    pub share: f64,
}

/// One symptom, as a trouble table has it.
#[derive(Debug, Clone, PartialEq)]
pub struct RatedSymptom {
    /// Its name.
    pub id: SymptomId,
    /// How often it comes up in a thousand hours of running.
    pub per_thousand_hours: f64,
    /// Its causes with their odds, in printed order.
    pub odds: Vec<Odds>,
    /// The share of cases in which it was none of these, between 0 and 1.
    pub unlisted: Probability,
}

/// What [`from_rates`] gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Rated {
    /// How likely each cause has come up within the window.
    pub priors: BTreeMap<CauseId, Probability>,
    /// How often each cause comes up in a thousand hours.
    pub per_thousand_hours: BTreeMap<CauseId, f64>,
    /// The symptoms with their links.
    pub symptoms: Vec<Symptom>,
}

/// Returns priors and links that give back the table's odds.
///
/// # Method
/// A cause c shows the symptom s at the joint rate r(s)·o(c|s). A cause comes up at least as often as it shows any one
/// symptom, so its own rate is the largest of these, p(c) = max over s; and the link's strength is the joint rate over
/// it, r(s)·o(c|s) / p(c), which is at most 1. Over a window of hours (since the machine last ran well) a rate λ per
/// hour becomes the chance 1 − exp(−λ·hours). As long as these are small, so that two causes at once are rare, the
/// posterior of the causes given one symptom is the table's.
///
/// Odds or rates of zero or below, and windows without length, give the smallest chance that still counts.
pub fn from_rates(symptoms: &[RatedSymptom], window: Hours) -> Rated {
    let mut per_thousand_hours: BTreeMap<CauseId, f64> = BTreeMap::new();
    for symptom in symptoms {
        for (odds, joint) in joint_rates(symptom) {
            let most = per_thousand_hours.entry(odds.cause.clone()).or_insert(0.0);
            *most = most.max(joint);
        }
    }
    let priors = per_thousand_hours
        .iter()
        .map(|(cause, &rate)| {
            (cause.clone(), Probability::clamped(within(rate, window).max(f64::MIN_POSITIVE)))
        })
        .collect();
    let symptoms = symptoms
        .iter()
        .map(|symptom| Symptom {
            id: symptom.id.clone(),
            leak: Probability::clamped(within(symptom.per_thousand_hours * symptom.unlisted.value(), window)),
            links: joint_rates(symptom)
                .map(|(odds, joint)| Link {
                    cause: odds.cause.clone(),
                    strength: Probability::clamped(joint / per_thousand_hours[&odds.cause]),
                })
                .collect(),
            stop_now: std::collections::BTreeSet::new(),
        })
        .collect();
    Rated { priors, per_thousand_hours, symptoms }
}

/// The rate at which each cause shows this symptom.
fn joint_rates(symptom: &RatedSymptom) -> impl Iterator<Item = (&Odds, f64)> {
    let all: f64 = symptom.odds.iter().map(|odds| odds.share).sum();
    let listed = symptom.per_thousand_hours * symptom.unlisted.complement().value();
    symptom.odds.iter().map(move |odds| (odds, listed * odds.share / all))
}

/// The chance that something of this rate comes up within the window.
pub fn within(per_thousand_hours: f64, window: Hours) -> f64 {
    -(-per_thousand_hours / 1000.0 * window.hours()).exp_m1()
}
