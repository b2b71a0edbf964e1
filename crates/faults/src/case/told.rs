//! What changed the odds: circumstance by circumstance, answer by answer.

use super::{Aside, Beliefs, Case, beliefs};
use crate::model::{CauseId, TroubleModel};
use serde::Serialize;
use units::Probability;

/// How one cause's chance moved.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shift {
    /// The cause.
    pub cause: CauseId,
    /// Its chance before.
    pub before: Probability,
    /// Its chance after.
    pub after: Probability,
}

/// What one circumstance or answer changed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Told {
    /// Which.
    pub what: Aside,
    /// The causes whose chance it moved, the furthest first.
    pub shifts: Vec<Shift>,
    /// The causes that it ruled out: likely enough to think of before, next to nothing after.
    pub ruled_out: Vec<CauseId>,
}

/// Shifts smaller than this are not told.
const LEAST_SHIFT: f64 = 0.005;
/// A cause counts as ruled out when its chance falls below this …
const RULED_OUT: f64 = 0.01;
/// … from above this.
const WAS_THOUGHT_OF: f64 = 0.03;

/// Returns what each circumstance and each answer of a case changed, in their order.
pub fn what_changed(model: &TroubleModel, case: &Case, slip: Probability) -> Vec<Told> {
    let mut so_far = Case { symptoms: case.symptoms.clone(), ..Case::default() };
    let mut before = beliefs(model, &so_far, slip);
    let mut told = Vec::new();
    for (place, context) in case.context.iter().enumerate() {
        so_far.context.push(context.clone());
        let after = beliefs(model, &so_far, slip);
        told.push(compare(Aside::Context(place), &before, &after));
        before = after;
    }
    for (place, answer) in case.answers.iter().enumerate() {
        so_far.answers.push(answer.clone());
        let after = beliefs(model, &so_far, slip);
        told.push(compare(Aside::Answer(place), &before, &after));
        before = after;
    }
    told
}

fn compare(what: Aside, before: &Beliefs, after: &Beliefs) -> Told {
    let mut shifts: Vec<Shift> = after
        .causes
        .iter()
        .map(|belief| Shift {
            cause: belief.cause.clone(),
            before: before.now(&belief.cause),
            after: belief.now,
        })
        .filter(|shift| shift.size() >= LEAST_SHIFT)
        .collect();
    shifts.sort_by(|a, b| b.size().total_cmp(&a.size()).then_with(|| a.cause.cmp(&b.cause)));
    let ruled_out = shifts
        .iter()
        .filter(|shift| shift.before.value() > WAS_THOUGHT_OF && shift.after.value() < RULED_OUT)
        .map(|shift| shift.cause.clone())
        .collect();
    Told { what, shifts, ruled_out }
}

impl Shift {
    fn size(&self) -> f64 {
        (self.after.value() - self.before.value()).abs()
    }
}
