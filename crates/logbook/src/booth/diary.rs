//! What stands in the diary: showings, and how they were interrupted.

use crate::{
    When,
    ids::{EntryId, MachineId, PlaceId, PrintId, ShowingId},
};
use jiff::ZonedDateTime;
use serde::{Deserialize, Serialize};
use units::{Hours, Seconds};

/// Where a showing stands.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub enum ShowingState {
    /// It stands in the diary.
    Planned,
    /// It took place.
    Held {
        /// When it started.
        started: When,
        /// How long it lasted, in minutes.
        lasted_minutes: f64,
    },
    /// It will not take place.
    Cancelled {
        /// Why.
        why: String,
    },
}

/// One showing.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Showing {
    /// What is shown.
    pub title: String,
    /// When it starts, on the clock of its place.
    pub starts: ZonedDateTime,
    /// How long the programme runs, in minutes.
    pub length_minutes: f64,
    /// Where.
    pub place: Option<PlaceId>,
    /// On which machines, with the hours each will run.
    pub machines: Vec<(MachineId, Hours)>,
    /// Which prints.
    pub prints: Vec<PrintId>,
    /// Anything else.
    pub note: String,
    /// Where it stands.
    pub state: ShowingState,
    /// The entry that last planned it.
    pub entry: EntryId,
}

impl Showing {
    /// Returns when the programme ends, by absolute time: a night on which clocks change is as long as it is.
    pub fn ends(&self) -> jiff::Timestamp {
        let length = jiff::SignedDuration::try_from_secs_f64(self.length_minutes * 60.0)
            .unwrap_or(jiff::SignedDuration::ZERO);
        self.starts.timestamp().saturating_add(length).unwrap_or(self.starts.timestamp())
    }
}

/// A stoppage.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct StoppageRecord {
    /// When.
    pub at: When,
    /// The showing.
    pub showing: Option<ShowingId>,
    /// The machine.
    pub machine: Option<MachineId>,
    /// For how long.
    pub dark: Seconds,
    /// What happened.
    pub what: String,
    /// The entry.
    pub entry: EntryId,
}
