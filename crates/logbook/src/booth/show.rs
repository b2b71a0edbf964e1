//! Programmes of reels, and what was marked while they ran.

use crate::{
    When,
    fact::{ProgrammeItem, ShowMark},
    ids::{EntryId, MachineId, PersonId, ShowingId},
};
use serde::{Deserialize, Serialize};
use units::Seconds;

/// A programme as it was last kept.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Programme {
    /// What it is called.
    pub title: String,
    /// What is shown, in order.
    pub items: Vec<ProgrammeItem>,
    /// The showings that it is for.
    pub showings: Vec<ShowingId>,
    /// The machines that show it; empty: those of the showing.
    pub machines: Vec<MachineId>,
    /// How long an incoming machine needs to reach speed.
    pub run_up: Option<Seconds>,
    /// How long lacing the next reel on the same machine takes.
    pub relace: Option<Seconds>,
    /// A pause between two items.
    pub interval: Option<Seconds>,
    /// Anything else.
    pub note: String,
    /// When it was kept, and the entry.
    pub kept: (When, EntryId),
}

/// One mark of a running show.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct ShowMarkRecord {
    /// When.
    pub at: When,
    /// What happened.
    pub mark: ShowMark,
    /// The reel that it speaks of, by its place in the programme from 1.
    pub reel: u32,
    /// The machine on which that reel is.
    pub machine: Option<MachineId>,
    /// Anything else.
    pub note: String,
    /// The entry.
    pub entry: EntryId,
    /// Who.
    pub by: PersonId,
}
