//! Checks: what can be looked at, tried or swapped to tell one cause from another.

use super::symptom::CauseChance;
use crate::care::MachineState;
use crate::id::{AccessId, CheckId, QuantityId, SlotId, SourceTag};
use crate::part::{Caution, Hand};
use crate::vocabulary::vocabulary;
use serde::Serialize;
use units::{Probability, Seconds};

vocabulary! {
    /// What is swapped in a check by swapping: if the trouble goes, it lay there.
    Swap {
        /// Another print or reel.
        Print = "print",
        /// Another projection lamp.
        Lamp = "lamp",
        /// Another exciter lamp or sound lamp.
        SoundLamp = "sound-lamp",
        /// Another cable.
        Cable = "cable",
        /// Another loudspeaker.
        Loudspeaker = "loudspeaker",
        /// Another spool.
        Spool = "spool",
        /// Another lens.
        Lens = "lens",
        /// Another mains socket or lead.
        Mains = "mains",
        /// The other machine.
        Machine = "machine",
    }
}

/// What must stand open, and what that costs once for everything that is done behind it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Access {
    /// Its name.
    pub id: AccessId,
    /// Its name in plain words.
    pub name: String,
    /// How it is opened and closed.
    pub words: String,
    /// How long opening and closing takes together, once the machine is in the state.
    pub takes: Seconds,
    /// The state in which the machine must be.
    pub state: MachineState,
    /// Who may open it.
    pub who: Hand,
    /// True if it needs a tool: then it stays shut while a show runs.
    pub needs_tool: bool,
    /// Cautions at the opening.
    pub cautions: Vec<Caution>,
    /// Where the figures come from.
    pub source: SourceTag,
}

/// The words of the two answers to a check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Answers {
    /// It points to the causes that the check tells of.
    pub found: String,
    /// It speaks against them.
    pub not_found: String,
}

/// A check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Check {
    /// Its name in logbooks.
    pub id: CheckId,
    /// Its name in plain words.
    pub name: String,
    /// What to do, in sentences, ending in the question.
    pub words: String,
    /// What the two answers are called.
    pub answers: Answers,
    /// How long it takes, without opening anything.
    pub takes: Seconds,
    /// The state in which the machine must be.
    pub state: MachineState,
    /// What must stand open.
    pub access: Option<AccessId>,
    /// Who may do it.
    pub who: Hand,
    /// The parts that are looked at or listened to.
    pub looks_at: Vec<SlotId>,
    /// The parts that a hand or a tool touches.
    pub touches: Vec<SlotId>,
    /// What is swapped, if it is a check by swapping.
    pub swap: Option<Swap>,
    /// The reading that it takes, if it takes one.
    pub reading: Option<QuantityId>,
    /// For each cause that it can find, the chance that it does when the cause is there.
    pub tells: Vec<CauseChance>,
    /// For each cause to which the other answer points, the chance of that answer when the cause is there.
    pub not_found_tells: Vec<CauseChance>,
    /// The chance of the first answer when none of them is there.
    pub false_alarm: Probability,
    /// Cautions to show at the step: its own first, then those of its parts that hold in its state.
    pub cautions: Vec<Caution>,
    /// Where the chances come from.
    pub source: SourceTag,
}

impl Check {
    /// The chance that it finds a cause which is there, by whichever answer points to it.
    pub fn finds(&self, cause: &str) -> Probability {
        let points = self.points_to().find(|(known, _)| known.cause.as_str() == cause);
        points.map_or(Probability::NEVER, |(known, _)| known.chance)
    }

    /// The causes to which its answers point, each with whether that is the first answer.
    pub fn points_to(&self) -> impl Iterator<Item = (&CauseChance, bool)> {
        let by_other = self.not_found_tells.iter().map(|tell| (tell, false));
        self.tells.iter().map(|tell| (tell, true)).chain(by_other)
    }

    /// How long it takes, in minutes.
    pub fn minutes(&self) -> f64 {
        self.takes.seconds() / 60.0
    }
}
