//! Learning: what was confirmed, and how checks and remedies turned out, brings a model up to date.
//!
//! # Method
//! Every figure of a model is the mean of a conjugate prior, as heavy as so many cases: a rate is the mean of a gamma
//! distribution, worth `hours` of running; each chance of a check or remedy is the mean of a beta distribution, worth
//! `cases`. Counts are added, and the new figure is the new mean. So a model learnt from all machines of a kind can
//! itself be the prior of one machine: call [`learn`] twice.
//!
//! # Reference
//! Raiffa and Schlaifer, *Applied Statistical Decision Theory*, 1961 (conjugate families): from memory.

use crate::model::{CauseId, CheckId, ModelError, RemedyId, TroubleModel, within};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use units::{Hours, Probability};

/// How heavily the figures weigh from which one learns.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Strength {
    /// The priors of the causes stand for so many hours of running.
    pub hours: Hours,
    /// Each chance of a check or remedy stands for so many cases.
    pub cases: f64,
}

/// One thing that a finished case taught.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Lesson {
    /// This cause was confirmed.
    Confirmed {
        /// Which.
        cause: CauseId,
    },
    /// A check was answered, in a case whose cause was confirmed to be this.
    Checked {
        /// Which check.
        check: CheckId,
        /// The cause of the case.
        cause: CauseId,
        /// Whether the answer was yes.
        yes: bool,
    },
    /// A remedy was tried while this cause was there.
    Tried {
        /// Which remedy.
        remedy: RemedyId,
        /// The cause of the case.
        cause: CauseId,
        /// Whether it cured it.
        cured: bool,
    },
}

/// A yes here, a no there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Count {
    /// How often it was so.
    pub yes: u32,
    /// How often it was not.
    pub no: u32,
}

/// A figure of the model, before and after, and what was counted for it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Learnt {
    /// Which figure.
    pub figure: Figure,
    /// As it was.
    pub before: Probability,
    /// As it is now.
    pub after: Probability,
    /// Eight cases of ten lie between these, for chances of checks and remedies by the normal approximation.
    pub between: (Probability, Probability),
    /// What was counted; for the prior of a cause, `yes` is how often it came up.
    pub count: Count,
}

/// Which figure of a model was learnt.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Figure {
    /// The prior of a cause.
    Prior(CauseId),
    /// How a check answers when this cause is there.
    Yes(CheckId, CauseId),
    /// How a check answers when none of its causes is there.
    Otherwise(CheckId),
    /// How surely a remedy cures a cause.
    Success(RemedyId, CauseId),
}

/// Returns the model brought up to date with what was learnt in so many hours of running, and every figure that moved
/// with what was counted for it. `window` is the time over which the model's priors are meant; lessons about what the
/// model does not know change nothing. Fails only where the result would be no sound model.
pub fn learn(
    model: &TroubleModel,
    lessons: &[Lesson],
    ran: Hours,
    window: Hours,
    strength: Strength,
) -> Result<(TroubleModel, Vec<Learnt>), Vec<ModelError>> {
    let counts = counts(model, lessons);
    let mut parts = model.parts().clone();
    let mut learnt = Vec::new();
    let mut set = |figure: Figure, value: &mut Probability, count: Count| {
        let (before, (after, between)) = (*value, beta(*value, count, strength.cases));
        *value = after;
        learnt.push(Learnt { figure, before, after, between, count });
    };
    for check in &mut parts.checks {
        for answers in &mut check.answers {
            let figure = Figure::Yes(check.id.clone(), answers.cause.clone());
            if let Some(&count) = counts.get(&figure) {
                set(figure, &mut answers.yes, count);
            }
        }
        let figure = Figure::Otherwise(check.id.clone());
        if let Some(&count) = counts.get(&figure) {
            set(figure, &mut check.otherwise, count);
        }
    }
    for remedy in &mut parts.remedies {
        for cure in &mut remedy.cures {
            let figure = Figure::Success(remedy.id.clone(), cure.cause.clone());
            if let Some(&count) = counts.get(&figure) {
                set(figure, &mut cure.success, count);
            }
        }
    }
    if ran > Hours::ZERO {
        for cause in &mut parts.causes {
            let figure = Figure::Prior(cause.id.clone());
            let count = counts.get(&figure).copied().unwrap_or_default();
            let before = cause.prior;
            let (after, between) = gamma(before, count.yes, ran, window, strength.hours);
            cause.prior = after;
            if count.yes > 0 {
                learnt.push(Learnt { figure, before, after, between, count });
            }
        }
    }
    Ok((TroubleModel::new(parts)?, learnt))
}

fn counts(model: &TroubleModel, lessons: &[Lesson]) -> BTreeMap<Figure, Count> {
    let mut counts: BTreeMap<Figure, Count> = BTreeMap::new();
    for lesson in lessons {
        let (figure, yes) = match lesson {
            Lesson::Confirmed { cause } => (Figure::Prior(cause.clone()), true),
            Lesson::Checked { check, cause, yes } => {
                let listed = model
                    .check(check)
                    .is_some_and(|known| known.answers.iter().any(|one| one.cause == *cause));
                let figure = if listed {
                    Figure::Yes(check.clone(), cause.clone())
                } else {
                    Figure::Otherwise(check.clone())
                };
                (figure, *yes)
            }
            Lesson::Tried { remedy, cause, cured } => {
                (Figure::Success(remedy.clone(), cause.clone()), *cured)
            }
        };
        let count = counts.entry(figure).or_default();
        if yes {
            count.yes += 1;
        } else {
            count.no += 1;
        }
    }
    counts
}

/// Eight cases of ten lie within so many standard deviations of a normal distribution.
const EIGHT_OF_TEN: f64 = 1.281_551_565_544_6;

/// A chance worth so many cases, after more of them.
fn beta(before: Probability, count: Count, cases: f64) -> (Probability, (Probability, Probability)) {
    let n = cases + f64::from(count.yes) + f64::from(count.no);
    if n <= 0.0 {
        return (before, (before, before));
    }
    let mean = (before.value() * cases + f64::from(count.yes)) / n;
    let spread = (mean * (1.0 - mean) / (n + 1.0)).sqrt() * EIGHT_OF_TEN;
    let at = |value: f64| Probability::clamped(value);
    (at(mean), (at(mean - spread), at(mean + spread)))
}

/// A rate worth so many hours, after more of them, as the chance within a window.
fn gamma(
    before: Probability,
    came_up: u32,
    ran: Hours,
    window: Hours,
    worth: Hours,
) -> (Probability, (Probability, Probability)) {
    let per_hour = -(-before.value()).ln_1p() / window.hours();
    let (shape, hours) = (per_hour * worth.hours() + f64::from(came_up), worth.hours() + ran.hours());
    let (rate, spread) = (shape / hours, shape.sqrt() / hours * EIGHT_OF_TEN);
    let at = |per_hour: f64| {
        Probability::clamped(within(per_hour.max(0.0) * 1000.0, window).max(f64::MIN_POSITIVE))
    };
    (at(rate), (at(rate - spread), at(rate + spread)))
}
