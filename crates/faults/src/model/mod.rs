//! The trouble model of a kind of machine: causes, symptoms, checks, remedies, and what each takes.

mod ids;
mod parts;
mod rates;
mod sound;
mod whole;

pub use ids::{AccessId, CauseId, CheckId, RemedyId, SymptomId};
pub use parts::{
    Access, Answers, Cause, CauseKind, Check, CheckKind, Cure, Hazard, Level, Link, MachineState, ModelParts,
    Preparation, Remedy, Symptom, Work,
};
pub use rates::{Odds, Rated, RatedSymptom, from_rates, within};
pub use sound::ModelError;

use std::collections::HashMap;

/// A checked model; every one that exists is sound.
#[derive(Debug, Clone, PartialEq)]
pub struct TroubleModel {
    parts: ModelParts,
    causes: HashMap<CauseId, usize>,
    symptoms: HashMap<SymptomId, usize>,
    checks: HashMap<CheckId, usize>,
    remedies: HashMap<RemedyId, usize>,
}

impl TroubleModel {
    /// Checks the parts and makes a model of them; fails with everything that is wrong at once.
    pub fn new(parts: ModelParts) -> Result<Self, Vec<ModelError>> {
        let errors = sound::errors(&parts);
        if !errors.is_empty() {
            return Err(errors);
        }
        Ok(Self {
            causes: places(parts.causes.iter().map(|cause| &cause.id)),
            symptoms: places(parts.symptoms.iter().map(|symptom| &symptom.id)),
            checks: places(parts.checks.iter().map(|check| &check.id)),
            remedies: places(parts.remedies.iter().map(|remedy| &remedy.id)),
            parts,
        })
    }

    /// The parts; change a copy and make a new model of it.
    pub fn parts(&self) -> &ModelParts {
        &self.parts
    }

    /// What can be wrong.
    pub fn causes(&self) -> &[Cause] {
        &self.parts.causes
    }

    /// What is noticed.
    pub fn symptoms(&self) -> &[Symptom] {
        &self.parts.symptoms
    }

    /// What can be asked and looked at.
    pub fn checks(&self) -> &[Check] {
        &self.parts.checks
    }

    /// What may cure.
    pub fn remedies(&self) -> &[Remedy] {
        &self.parts.remedies
    }

    /// A cause by its name.
    pub fn cause(&self, id: &CauseId) -> Option<&Cause> {
        self.cause_place(id).map(|place| &self.parts.causes[place])
    }

    /// A symptom by its name.
    pub fn symptom(&self, id: &SymptomId) -> Option<&Symptom> {
        self.symptoms.get(id).map(|&place| &self.parts.symptoms[place])
    }

    /// A check by its name.
    pub fn check(&self, id: &CheckId) -> Option<&Check> {
        self.checks.get(id).map(|&place| &self.parts.checks[place])
    }

    /// A remedy by its name.
    pub fn remedy(&self, id: &RemedyId) -> Option<&Remedy> {
        self.remedies.get(id).map(|&place| &self.parts.remedies[place])
    }

    /// The chance that at least one of the remedies that somebody may do cures a cause.
    pub(crate) fn cure_chance(&self, cause: usize, who: Level) -> f64 {
        let id = &self.parts.causes[cause].id;
        let own = self.parts.remedies.iter().filter(|remedy| remedy.work.level <= who);
        let cures = own.flat_map(|remedy| &remedy.cures).filter(|cure| cure.cause == *id);
        1.0 - cures.map(|cure| 1.0 - cure.success.value()).product::<f64>()
    }

    pub(crate) fn cause_place(&self, id: &CauseId) -> Option<usize> {
        self.causes.get(id).copied()
    }

    /// The place of a cause that a sound model is known to have.
    pub(crate) fn known(&self, id: &CauseId) -> usize {
        self.cause_place(id).expect("a sound model names only causes that it has")
    }
}

fn places<'a, Id: Clone + Eq + std::hash::Hash + 'a>(
    ids: impl Iterator<Item = &'a Id>,
) -> HashMap<Id, usize> {
    ids.enumerate().map(|(place, id)| (id.clone(), place)).collect()
}
