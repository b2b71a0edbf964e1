//! Faults, each with its case: what was noticed, answered, tried and passed on.

use crate::{
    When,
    fact::{Asked, FaultMark, FaultReply, PrintSort, RemedyResult, Used},
    ids::{
        AskedId, CauseId, EntryId, MachineId, PersonId, PrintId, QuantityId, RemedyId, ShowingId, SlotId,
        SymptomId,
    },
};
use serde::{Deserialize, Serialize};

/// One fault.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Fault {
    /// The machine.
    pub machine: MachineId,
    /// Where, if known.
    pub slot: Option<SlotId>,
    /// What was met, in words.
    pub words: String,
    /// The showing in which it was met.
    pub showing: Option<ShowingId>,
    /// When it was opened.
    pub opened: (When, EntryId),
    /// Who opened it.
    pub by: PersonId,
    /// What was learnt since.
    pub notes: Vec<(When, String, EntryId)>,
    /// How it ended: when, cause, cure.
    pub closed: Option<(When, String, String, EntryId)>,
    /// The cause and the remedy by which it ended, as the machine type names them.
    pub confirmed: Confirmed,
    /// What was noticed at the beginning, as the machine type names it.
    pub symptoms: Vec<SymptomId>,
    /// What sort of print was in the machine.
    pub print_sort: Option<PrintSort>,
    /// Which print.
    pub print: Option<PrintId>,
    /// An audience waited when it was opened.
    pub show_running: bool,
    /// What was answered, tried and marked, in order of time.
    pub steps: Vec<FaultStep>,
    /// The requests for repair, in order of time.
    pub requests: Vec<RepairRequest>,
}

/// What a closed fault was, and what mended it; nothing where nobody said.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct Confirmed {
    /// The cause.
    pub cause: Option<CauseId>,
    /// The remedy.
    pub remedy: Option<RemedyId>,
}

/// One step of a case.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct FaultStep {
    /// When.
    pub at: When,
    /// When it was written, in milliseconds; of two steps at one moment the one written first comes first.
    pub recorded: i64,
    /// The entry.
    pub entry: EntryId,
    /// Who.
    pub by: PersonId,
    /// What.
    pub deed: FaultDeed,
    /// How long it took, in minutes.
    pub minutes: Option<f64>,
    /// In words.
    pub note: String,
}

/// What a step of a case was.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub enum FaultDeed {
    /// Something was asked and answered.
    Answered {
        /// What sort of thing.
        asked: Asked,
        /// Which.
        which: AskedId,
        /// The answer.
        answer: FaultReply,
        /// The reading behind it.
        reading: Option<FaultReading>,
    },
    /// A remedy was tried.
    Tried {
        /// Which.
        remedy: RemedyId,
        /// What it did.
        result: RemedyResult,
        /// Stock that was used.
        used: Vec<Used>,
    },
    /// Made safe, the show is over, handed over.
    Marked {
        /// What.
        mark: FaultMark,
        /// To whom it was handed over.
        to: Option<PersonId>,
    },
}

/// The reading behind an answer.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct FaultReading {
    /// The quantity, if it was named.
    pub quantity: Option<QuantityId>,
    /// The value, in `unit`.
    pub value: f64,
    /// The unit as written.
    pub unit: String,
}

/// One request for repair, as it was written.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct RepairRequest {
    /// When.
    pub at: When,
    /// When it was written, in milliseconds.
    pub recorded: i64,
    /// The entry.
    pub entry: EntryId,
    /// Who.
    pub by: PersonId,
    /// Whom it is for.
    pub to: String,
    /// Why, and what is asked for.
    pub words: String,
    /// The machine's kind, number and hours, and the showing and print with which it was met; older ones have none.
    pub about: Vec<String>,
    /// What was noticed.
    pub symptoms: Vec<String>,
    /// What was answered and tried.
    pub tried: Vec<String>,
    /// What an operator could have tried and has not.
    pub not_tried: Vec<String>,
    /// The likely causes, the likeliest first.
    pub likely: Vec<String>,
    /// What is next to impossible, though nobody looked.
    pub unlikely: Vec<String>,
    /// What it is not.
    pub ruled_out: Vec<String>,
    /// Last readings.
    pub readings: Vec<String>,
}

impl Fault {
    /// Returns whether nobody has closed it.
    pub fn is_open(&self) -> bool {
        self.closed.is_none()
    }

    /// Returns the last answer, remedy or mark: what an undo takes back.
    pub fn last_step(&self) -> Option<&FaultStep> {
        self.steps.last()
    }
}
