//! Causes, and the circumstances with which they go.

use crate::id::{CauseId, ConditionId, SlotId, SourceTag, TaskId};
use crate::part::{Caution, Hand};
use crate::vocabulary::vocabulary;
use serde::Serialize;
use units::{Probability, Seconds};

vocabulary! {
    /// Where a cause lies.
    CauseKind {
        /// In the machine.
        Machine = "machine",
        /// In the print.
        Print = "print",
        /// In the room: mains, light, sound, table, damp.
        Room = "room",
        /// In what somebody did or left undone.
        People = "people",
    }
}

vocabulary! {
    /// To whom a fault is passed on.
    ReferTo {
        /// A qualified technician.
        Technician = "technician",
        /// A licensed electrician, for what lies in the building.
        Electrician = "electrician",
        /// Whoever lent the print.
        Lender = "lender",
        /// A film archive.
        Archive = "archive",
        /// Whoever answers for the hall.
        Hall = "hall",
    }
}

impl ReferTo {
    /// The person, with an article.
    pub const fn in_words(self) -> &'static str {
        match self {
            Self::Technician => "a qualified technician",
            Self::Electrician => "a licensed electrician",
            Self::Lender => "the lender of the print",
            Self::Archive => "a film archive",
            Self::Hall => "whoever answers for the hall",
        }
    }
}

/// To whom a cause is passed on, and with what words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refer {
    /// To whom.
    pub to: ReferTo,
    /// What they are asked to do.
    pub words: String,
}

/// A circumstance with its chance, given a cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConditionChance {
    /// The circumstance.
    pub condition: ConditionId,
    /// The chance that it holds when this is the cause.
    pub chance: Probability,
}

/// A circumstance that a person can tell without touching anything: only at the start, only with one print.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Condition {
    /// Its name in logbooks.
    pub id: ConditionId,
    /// The question, to be answered by yes, no or cannot tell.
    pub asks: String,
    /// How long it takes to find out.
    pub takes: Seconds,
    /// The chance that it holds with a cause that says nothing of it.
    pub otherwise: Probability,
    /// Where the chances come from.
    pub source: SourceTag,
}

/// Something that may be wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cause {
    /// Its name in logbooks.
    pub id: CauseId,
    /// What is wrong, in plain words.
    pub name: String,
    /// Where it lies.
    pub kind: CauseKind,
    /// The part that is at fault, if it is one.
    pub part: Option<SlotId>,
    /// Who may mend it.
    pub who: Hand,
    /// What hurts when one deals with it: its own cautions, then those of its part.
    pub cautions: Vec<Caution>,
    /// The circumstances with which it goes.
    pub goes_with: Vec<ConditionChance>,
    /// True if it comes with the age of its part, so that the part's prior life bears on it.
    pub wears: bool,
    /// The care that keeps it away; overdue, it makes the cause likelier.
    pub care: Vec<TaskId>,
    /// To whom it is passed on, where an operator does not cure it.
    pub refer: Option<Refer>,
    /// Where what is said of it comes from.
    pub source: SourceTag,
}

impl Cause {
    /// The chance that a condition holds with this cause, if it says anything of it.
    pub fn chance_with(&self, condition: &str) -> Option<Probability> {
        let entry = self.goes_with.iter().find(|entry| entry.condition.as_str() == condition);
        entry.map(|entry| entry.chance)
    }
}
