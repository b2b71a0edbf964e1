//! The fault desk's knowledge: what may be noticed, what may be the cause, how to tell, and what cures.

mod cause;
mod check;
mod drill;
mod remedy;
mod symptom;

pub use cause::{Cause, CauseKind, Condition, ConditionChance, Refer, ReferTo};
pub use check::{Access, Answers, Check, Swap};
pub use drill::{Drill, Preparing, StopSign};
pub use remedy::{Remedy, RemedyKind};
pub use symptom::{CauseChance, During, ForPrint, Noticed, PrintSort, RunOn, Symptom};

use crate::id::{AccessId, CauseId, CheckId, ConditionId, DrillId, RemedyId, SlotId, SymptomId};
use crate::machine_type::places;
use rustc_hash::FxHashMap;
use serde::Serialize;
use units::Probability;

/// Everything that a machine type knows of its troubles; all lists are empty where it knows none.
///
/// A symptom has a rate and the odds of its causes; a cause's own rate is the largest that any symptom gives it, and a
/// symptom is tied to its cause as strongly as its share of that rate (see [`Trouble::rate_of`], [`Trouble::strength`]).
#[derive(Debug, Clone, Default, Serialize)]
pub struct Trouble {
    /// What may be noticed, in the order of the file.
    pub symptoms: Vec<Symptom>,
    /// What may be the cause.
    pub causes: Vec<Cause>,
    /// Circumstances with which a cause goes, asked before anything is touched.
    pub conditions: Vec<Condition>,
    /// What can be looked at, tried or measured.
    pub checks: Vec<Check>,
    /// What cures.
    pub remedies: Vec<Remedy>,
    /// What must stand open for some checks and remedies.
    pub accesses: Vec<Access>,
    /// What is done at once, line by line, in an emergency.
    pub drills: Vec<Drill>,
    /// The signs at which everything stops.
    pub stop_signs: Vec<StopSign>,
    /// What it costs to bring the machine into a state, and to pass a fault on.
    pub preparing: Preparing,
    #[serde(skip)]
    pub(crate) index: Index,
}

/// Where each id stands in its list, and what leads back to a cause.
#[derive(Debug, Clone, Default)]
pub(crate) struct Index {
    symptoms: FxHashMap<SymptomId, usize>,
    causes: FxHashMap<CauseId, usize>,
    conditions: FxHashMap<ConditionId, usize>,
    checks: FxHashMap<CheckId, usize>,
    remedies: FxHashMap<RemedyId, usize>,
    accesses: FxHashMap<AccessId, usize>,
    drills: FxHashMap<DrillId, usize>,
    symptoms_of: FxHashMap<CauseId, Vec<usize>>,
    checks_of: FxHashMap<CauseId, Vec<usize>>,
    remedies_of: FxHashMap<CauseId, Vec<usize>>,
}

impl Trouble {
    /// Builds the indexes over the lists.
    pub(crate) fn indexed(mut self) -> Self {
        self.index = Index {
            symptoms: places(&self.symptoms, |symptom| symptom.id.clone()),
            causes: places(&self.causes, |cause| cause.id.clone()),
            conditions: places(&self.conditions, |condition| condition.id.clone()),
            checks: places(&self.checks, |check| check.id.clone()),
            remedies: places(&self.remedies, |remedy| remedy.id.clone()),
            accesses: places(&self.accesses, |access| access.id.clone()),
            drills: places(&self.drills, |drill| drill.id.clone()),
            symptoms_of: places_of(self.symptoms.iter().map(|symptom| symptom.causes.as_slice())),
            checks_of: places_of(self.checks.iter().map(|check| check.points_to().map(|(tell, _)| tell))),
            remedies_of: places_of(self.remedies.iter().map(|remedy| remedy.cures.as_slice())),
        };
        self
    }

    /// True if the type knows no trouble at all.
    pub fn is_empty(&self) -> bool {
        self.symptoms.is_empty()
    }

    /// A symptom.
    pub fn symptom(&self, id: &str) -> Option<&Symptom> {
        self.index.symptoms.get(id).map(|at| &self.symptoms[*at])
    }

    /// A cause.
    pub fn cause(&self, id: &str) -> Option<&Cause> {
        self.index.causes.get(id).map(|at| &self.causes[*at])
    }

    /// A condition.
    pub fn condition(&self, id: &str) -> Option<&Condition> {
        self.index.conditions.get(id).map(|at| &self.conditions[*at])
    }

    /// A check.
    pub fn check(&self, id: &str) -> Option<&Check> {
        self.index.checks.get(id).map(|at| &self.checks[*at])
    }

    /// A remedy.
    pub fn remedy(&self, id: &str) -> Option<&Remedy> {
        self.index.remedies.get(id).map(|at| &self.remedies[*at])
    }

    /// An access: what must stand open.
    pub fn access(&self, id: &str) -> Option<&Access> {
        self.index.accesses.get(id).map(|at| &self.accesses[*at])
    }

    /// A drill.
    pub fn drill(&self, id: &str) -> Option<&Drill> {
        self.index.drills.get(id).map(|at| &self.drills[*at])
    }

    /// Where a cause stands in the list.
    pub fn cause_position(&self, id: &str) -> Option<usize> {
        self.index.causes.get(id).copied()
    }

    /// The symptoms that show at a part, in the order of the file.
    pub fn symptoms_at(&self, slot: &SlotId) -> impl Iterator<Item = &Symptom> {
        self.symptoms.iter().filter(move |symptom| symptom.shows_at.contains(slot))
    }

    /// The symptoms of one group, in the order of the file.
    pub fn symptoms_noticed(&self, noticed: Noticed) -> impl Iterator<Item = &Symptom> {
        self.symptoms.iter().filter(move |symptom| symptom.noticed == noticed)
    }

    /// The symptoms that a cause may show.
    pub fn symptoms_of(&self, cause: &str) -> impl Iterator<Item = &Symptom> {
        self.index.symptoms_of.get(cause).into_iter().flatten().map(|at| &self.symptoms[*at])
    }

    /// The checks that tell something of a cause.
    pub fn checks_of(&self, cause: &str) -> impl Iterator<Item = &Check> {
        self.index.checks_of.get(cause).into_iter().flatten().map(|at| &self.checks[*at])
    }

    /// The remedies that may cure a cause.
    pub fn remedies_of(&self, cause: &str) -> impl Iterator<Item = &Remedy> {
        self.index.remedies_of.get(cause).into_iter().flatten().map(|at| &self.remedies[*at])
    }

    /// How often a cause comes up, per 1000 hours of running, before anything is known of the machine: the largest of
    /// rate times odds over its symptoms. Nought for a cause that is not in the table.
    pub fn rate_of(&self, cause: &str) -> f64 {
        self.symptoms_of(cause).map(|symptom| symptom.rate_with(cause)).fold(0.0, f64::max)
    }

    /// The chance that a cause, once there, shows as this symptom: rate of the symptom times odds of the cause, over
    /// the cause's own rate. Nought if they have nothing to do with each other.
    pub fn strength(&self, symptom: &str, cause: &str) -> Probability {
        let rate = self.rate_of(cause);
        let shown = self.symptom(symptom).map_or(0.0, |symptom| symptom.rate_with(cause));
        if rate > 0.0 { Probability::clamped(shown / rate) } else { Probability::NEVER }
    }
}

/// For each cause, where in a list the things stand that have to do with it.
fn places_of<'l>(
    list: impl Iterator<Item = impl IntoIterator<Item = &'l CauseChance>>,
) -> FxHashMap<CauseId, Vec<usize>> {
    let mut at: FxHashMap<CauseId, Vec<usize>> = FxHashMap::default();
    for (position, chances) in list.enumerate() {
        for chance in chances {
            at.entry(chance.cause.clone()).or_default().push(position);
        }
    }
    at
}
