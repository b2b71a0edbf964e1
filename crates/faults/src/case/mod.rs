//! A case: what was noticed, what was answered, what was tried; a plain value that can be kept and read again.

mod beliefs;
mod exact;
mod findings;
mod hypotheses;
mod told;

pub(crate) use beliefs::Settled;
pub use beliefs::{Belief, Beliefs, beliefs};
pub(crate) use findings::{Situation, Source, split, with_slips, yes_chance};
pub(crate) use hypotheses::Hypotheses;
pub use told::{Shift, Told, what_changed};

use crate::model::{CauseId, CheckId, RemedyId, SymptomId};
use serde::{Deserialize, Serialize};

/// One case, from the first symptom to the last answer.
///
/// It holds only names: with an edited model it reads on, and what the model no longer knows is said and set aside.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// What was noticed.
    pub symptoms: Vec<SymptomId>,
    /// What the circumstances do to the odds.
    #[serde(default)]
    pub context: Vec<ContextFactor>,
    /// What was answered and tried, in order.
    #[serde(default)]
    pub answers: Vec<Answer>,
}

impl Case {
    /// A case that begins with one symptom.
    pub fn of(symptom: SymptomId) -> Self {
        Self { symptoms: vec![symptom], ..Self::default() }
    }

    /// The same with one more answer.
    #[must_use]
    pub fn with(&self, answer: Answer) -> Self {
        let mut next = self.clone();
        next.answers.push(answer);
        next
    }

    /// The same with the answer at this place taken back; nothing changes where there is none.
    #[must_use]
    pub fn without(&self, place: usize) -> Self {
        let mut next = self.clone();
        if place < next.answers.len() {
            next.answers.remove(place);
        }
        next
    }
}

/// What a circumstance does to the odds of one cause.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ContextFactor {
    /// The cause.
    pub cause: CauseId,
    /// By how much its odds are multiplied; above 1: likelier. Held between 1/1000 and 1000.
    pub factor: f64,
    /// Why: a key of a text that the faces know (`care-overdue`, `just-fitted`, `same-fault-last-month` …).
    pub reason: String,
}

/// One answer of a case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Answer {
    /// A question or check was answered.
    Checked {
        /// Which.
        check: CheckId,
        /// How.
        reply: Reply,
    },
    /// A remedy was tried.
    Tried {
        /// Which.
        remedy: RemedyId,
        /// Whether it helped. Where answers follow on a cure, it did not last and counts as none.
        result: Tried,
    },
    /// Another symptom was looked for.
    Noticed {
        /// Which.
        symptom: SymptomId,
        /// Whether it is there.
        there: bool,
    },
    /// The machine was stopped and made safe, as the symptom demanded.
    MadeSafe,
}

/// How a check was answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reply {
    /// Yes.
    Yes,
    /// No.
    No,
    /// It was looked at, and could not be told.
    CantTell,
    /// It was passed over.
    Skip,
}

/// What a remedy did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tried {
    /// The symptom is gone.
    Fixed,
    /// It is still there.
    NotFixed,
    /// It was done, and could not be tested.
    CantTell,
    /// It was passed over.
    Skip,
}

/// Something in a case that is not counted, and why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SetAside {
    /// What.
    pub what: Aside,
    /// Why.
    pub why: Why,
}

/// What is not counted.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Aside {
    /// The symptom at this place.
    Symptom(usize),
    /// The circumstance at this place.
    Context(usize),
    /// The answer at this place.
    Answer(usize),
}

/// Why something is not counted.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "why")]
pub enum Why {
    /// The model does not know this name; it may have been edited.
    NotKnown {
        /// The name.
        id: String,
    },
    /// The same check was answered again later, with nothing done in between.
    AnsweredAgain,
    /// It cannot be so together with these; of them all it is trusted least.
    Contradicts {
        /// What it contradicts.
        with: Vec<Aside>,
    },
}
