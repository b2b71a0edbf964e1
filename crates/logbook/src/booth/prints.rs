//! Prints: their reels, what was found along them, what was done with them, and where they ran.

use crate::{
    When,
    fact::{
        EdgePrint, Fade, FilmBase, Found, PrintDeed, PrintStanding, Reel, RunKind, ShrinkageTaken, Wound,
    },
    ids::{EntryId, MachineId, PersonId, ShowingId},
};
use serde::{Deserialize, Serialize};
use units::{Hours, Metres};

/// One print.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct Print {
    /// Its title.
    pub title: String,
    /// Its gauge as written (`16mm`).
    pub gauge: String,
    /// Its reels.
    pub reels: Vec<Reel>,
    /// Whose it is.
    pub lender: String,
    /// Is there another copy, and is this one lent? Absent: nobody said.
    pub standing: Option<PrintStanding>,
    /// When its film was made, if known.
    pub made_year: Option<i16>,
    /// Anything else.
    pub note: String,
    /// Passes through a machine: the clock of a looped print.
    pub passes: u32,
    /// Hours in a machine.
    pub hours: Hours,
    /// Each run through a machine, in order of time.
    pub runs: Vec<PrintRun>,
    /// Each inspection of a reel, in order of time.
    pub inspections: Vec<Inspection>,
    /// What was done with it, in order of time.
    pub handled: Vec<Handling>,
    /// When it entered.
    pub added: Option<(When, EntryId)>,
}

impl Print {
    /// Returns the length of all reels.
    pub fn length(&self) -> Metres {
        self.reels.iter().map(|reel| reel.length_m).sum()
    }

    /// Returns the inspections of one reel, in order of time.
    pub fn inspections_of(&self, reel: u32) -> impl DoubleEndedIterator<Item = &Inspection> {
        self.inspections.iter().filter(move |inspection| inspection.reel == reel)
    }

    /// Returns what was done with one reel, in order of time.
    pub fn handlings_of(&self, reel: u32) -> impl DoubleEndedIterator<Item = &Handling> {
        self.handled.iter().filter(move |deed| deed.reels.is_empty() || deed.reels.contains(&reel))
    }
}

/// One run of a print through a machine.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct PrintRun {
    /// When it began.
    pub at: When,
    /// Through which machine.
    pub machine: MachineId,
    /// What for.
    pub run: RunKind,
    /// The showing, if it was one.
    pub showing: Option<ShowingId>,
    /// How often it went through.
    pub passes: u32,
    /// Hours in the machine.
    pub hours: Hours,
    /// The entry.
    pub entry: EntryId,
}

/// One inspection of one reel. What nobody looked at is absent.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Inspection {
    /// When.
    pub at: When,
    /// The reel, by its number in the print.
    pub reel: u32,
    /// Its length, as measured.
    pub length: Option<Metres>,
    /// What it is made of.
    pub base: Option<FilmBase>,
    /// What its edge says.
    pub edge: Option<EdgePrint>,
    /// What the shrinkage gauge showed.
    pub shrinkage: Vec<ShrinkageTaken>,
    /// The acid paper's colour, 0 to 3.
    pub acid_level: Option<f64>,
    /// It smells of vinegar.
    pub vinegar: Option<bool>,
    /// How far its colours have gone.
    pub fade: Option<Fade>,
    /// It has a leader.
    pub leader: Option<bool>,
    /// Which end lay outside afterwards.
    pub wound: Option<Wound>,
    /// What it is wound on.
    pub spool: String,
    /// What was found, by its first frame.
    pub found: Vec<Found>,
    /// Anything else.
    pub note: String,
    /// Photos (SHA-256, hex).
    pub photos: Vec<String>,
    /// The entry.
    pub entry: EntryId,
    /// Who.
    pub by: PersonId,
}

/// Something that was done with a print.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Handling {
    /// When.
    pub at: When,
    /// What.
    pub deed: PrintDeed,
    /// With which reels; empty: all of them.
    pub reels: Vec<u32>,
    /// Which end lay outside afterwards.
    pub wound: Option<Wound>,
    /// From whom or to whom.
    pub whom: String,
    /// In what state.
    pub condition: String,
    /// Anything else.
    pub note: String,
    /// The entry.
    pub entry: EntryId,
    /// Who.
    pub by: PersonId,
}
