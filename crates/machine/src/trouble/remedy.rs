//! Remedies: what cures a cause.

use super::symptom::{CauseChance, chance_of};
use crate::care::MachineState;
use crate::id::{AccessId, RemedyId, SlotId, SourceTag, SpareId, TaskId};
use crate::part::{Caution, Hand};
use crate::vocabulary::vocabulary;
use serde::Serialize;
use units::{Probability, Seconds};

vocabulary! {
    /// What the hand does.
    RemedyKind {
        /// Works a control or laces anew; nothing of the machine changes.
        Handle = "handle",
        /// Cleans.
        Clean = "clean",
        /// Oils or greases, sparingly.
        Oil = "oil",
        /// Sets, tightens or aligns.
        Set = "set",
        /// Takes a part out and fits another.
        Fit = "fit",
        /// Works on the print: splices, cleans, rewinds.
        Print = "print",
        /// Changes something in the room.
        Room = "room",
    }
}

/// A remedy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remedy {
    /// Its name in logbooks.
    pub id: RemedyId,
    /// Its name in plain words.
    pub name: String,
    /// What to do, in sentences.
    pub words: String,
    /// What the hand does.
    pub kind: RemedyKind,
    /// How long it takes, without opening anything, with the trial afterwards.
    pub takes: Seconds,
    /// The state in which the machine must be.
    pub state: MachineState,
    /// What must stand open.
    pub access: Option<AccessId>,
    /// Who may do it.
    pub who: Hand,
    /// The parts that it works on.
    pub parts: Vec<SlotId>,
    /// For each cause, the chance that it is gone afterwards.
    pub cures: Vec<CauseChance>,
    /// The spare that is fitted and leaves the stock.
    pub spare: Option<SpareId>,
    /// The care that counts as done with it.
    pub care: Vec<TaskId>,
    /// True if it can be done while the audience waits.
    pub during_show: bool,
    /// Cautions to show at the step: its own first, then those of its parts that hold in its state.
    pub cautions: Vec<Caution>,
    /// Where the figures come from.
    pub source: SourceTag,
}

impl Remedy {
    /// The chance that it cures a cause.
    pub fn cures(&self, cause: &str) -> Probability {
        chance_of(&self.cures, cause)
    }

    /// How long it takes, in minutes.
    pub fn minutes(&self) -> f64 {
        self.takes.seconds() / 60.0
    }
}
