//! Drills for emergencies, the signs at which everything stops, and what preparation costs.

use super::symptom::PrintSort;
use crate::care::MachineState;
use crate::id::{DrillId, SourceTag};
use serde::Serialize;
use units::Seconds;

/// What is done at once, line by line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Drill {
    /// Its name.
    pub id: DrillId,
    /// Its name in plain words.
    pub name: String,
    /// Its lines, each a short order; few enough for a card in large type.
    pub steps: Vec<String>,
    /// Where it comes from.
    pub source: SourceTag,
}

/// A sign at which everything stops, whatever else is going on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StopSign {
    /// What is seen, heard, smelt or felt.
    pub words: String,
    /// The prints with which it stops the show; with all of them where people are in danger.
    pub prints: Vec<PrintSort>,
    /// The drill for it.
    pub drill: DrillId,
    /// Where it comes from.
    pub source: SourceTag,
}

/// What it costs, in time, to bring the machine into a state and to pass a fault on.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Preparing {
    /// To lace and run it.
    pub running: Seconds,
    /// To stop it.
    pub stopped: Seconds,
    /// To stop it and withdraw the plug.
    pub unplugged: Seconds,
    /// To stop it, withdraw the plug and let it cool.
    pub cooled: Seconds,
    /// What passing the fault on counts for: the worth of the days without the machine.
    pub referral: Seconds,
    /// Where the figures come from.
    pub source: SourceTag,
}

impl Preparing {
    /// What it costs to bring the machine into a state from running, or to run it from standing.
    pub const fn to_reach(&self, state: MachineState) -> Seconds {
        match state {
            MachineState::Running => self.running,
            MachineState::Stopped => self.stopped,
            MachineState::Unplugged => self.unplugged,
            MachineState::Cooled => self.cooled,
        }
    }
}
