//! Notes, and what takes an entry back or puts another in its place.

use super::{Fact, is_default};
use crate::ids::{EntryId, MachineId, PartId, PlaceId, PrintId, ShowingId};
use serde::{Deserialize, Serialize};

wire_structs! {
    /// A note in plain words.
    struct Noted {
        /// What about.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        about: Option<About>,
        /// The words.
        words: String,
        /// Photos, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "is_default")]
        photos: Vec<String>,
    }
    /// Takes an entry back: from here on it counts as never written, but stays readable.
    struct Withdraws {
        /// The entry.
        entry: EntryId,
        /// Why.
        why: String,
    }
}

/// What a note is about.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum About {
    /// A machine.
    Machine(MachineId),
    /// A part.
    Part(PartId),
    /// A print.
    Print(PrintId),
    /// A place.
    Place(PlaceId),
    /// A showing.
    Showing(ShowingId),
}

/// Puts another fact in the place of an earlier entry's.
#[derive(Clone, PartialEq, Debug)]
pub struct Corrects {
    /// The entry that was wrong (or an earlier correction of it).
    pub entry: EntryId,
    /// What it should have said.
    pub with: Box<Fact>,
    /// When it really happened; absent: as the first entry said.
    pub happened: Option<crate::When>,
    /// Why it is corrected.
    pub why: String,
}
