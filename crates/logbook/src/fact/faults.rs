//! Faults, from the first word to the cure.

use super::{Used, is_default};
use crate::ids::{
    AskedId, CauseId, FaultId, MachineId, PersonId, PrintId, QuantityId, RemedyId, ShowingId, SlotId,
    SymptomId,
};
use serde::{Deserialize, Serialize};

wire_words! {
    /// What sort of print is in the machine: it decides when to stop.
    enum PrintSort {
        /// One of our own that may be lost.
        Disposable,
        /// It belongs to a lender and goes back.
        Lent,
        /// The only one, or the last one known.
        Only,
    }
    /// What sort of thing was asked at a fault.
    enum Asked {
        /// Whether another symptom is there.
        Symptom,
        /// A circumstance, told without touching anything.
        Condition,
        /// A check: a look, a trial, a swap or a reading.
        Check,
    }
    /// What was answered at a fault.
    enum FaultReply {
        /// Yes: it was found, it is so.
        Yes,
        /// No.
        No,
        /// Looked at, and could not be told.
        CannotTell,
        /// Passed over.
        Skipped,
    }
    /// What a remedy did.
    enum RemedyResult {
        /// The symptom is gone.
        Helped,
        /// It is still there.
        DidNotHelp,
        /// It was done, and could not be tried out.
        CannotTell,
        /// Passed over.
        Skipped,
    }
    /// What happened to a fault's case beside answers and remedies.
    enum FaultMark {
        /// The machine was stopped and made safe.
        MadeSafe,
        /// What is done at once, with the show running, was done.
        DoneAtOnce,
        /// The show goes on, or begins: an audience waits.
        ShowRuns,
        /// The audience has gone.
        ShowOver,
        /// Somebody else goes on with it.
        HandedOver,
    }
}

wire_structs! {
    /// A fault is open from here on.
    struct FaultOpened {
        /// The fault.
        fault: FaultId,
        /// The machine.
        machine: MachineId,
        /// Where, if that is known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// What was seen, heard or smelt, in words.
        words: String,
        /// The showing in which it was met.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        showing: Option<ShowingId>,
        /// What was noticed, as the machine type names it.
        #[serde(default, skip_serializing_if = "is_default")]
        symptoms: Vec<SymptomId>,
        /// What sort of print is in the machine.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        print_sort: Option<PrintSort>,
        /// Which print it is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        print: Option<PrintId>,
        /// An audience waits.
        #[serde(default, skip_serializing_if = "is_default")]
        show_running: bool,
    }
    /// Something was learnt about an open fault.
    struct FaultNoted {
        /// The fault.
        fault: FaultId,
        /// What was tried or seen.
        words: String,
        /// Photos, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "is_default")]
        photos: Vec<String>,
    }
    /// A question was answered, or a check made, at an open fault.
    struct FaultAnswered {
        /// The fault.
        fault: FaultId,
        /// What sort of thing was asked.
        asked: Asked,
        /// Which symptom, circumstance or check, as the machine type names it.
        which: AskedId,
        /// The answer.
        answer: FaultReply,
        /// The quantity that was read, if the check takes a reading.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        quantity: Option<QuantityId>,
        /// The value that was read, in `unit`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        value: Option<f64>,
        /// The unit, as written.
        #[serde(default, skip_serializing_if = "is_default")]
        unit: String,
        /// How long it took, in minutes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes: Option<f64>,
        /// In words.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// A remedy was tried at an open fault.
    struct FaultTried {
        /// The fault.
        fault: FaultId,
        /// The remedy, as the machine type names it.
        remedy: RemedyId,
        /// What it did.
        result: RemedyResult,
        /// How long it took, in minutes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes: Option<f64>,
        /// Stock that was used.
        #[serde(default, skip_serializing_if = "is_default")]
        used: Vec<Used>,
        /// In words.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// Something happened to a fault's case: made safe, the show is over, handed over.
    struct FaultMarked {
        /// The fault.
        fault: FaultId,
        /// What.
        mark: FaultMark,
        /// To whom it was handed over.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to: Option<PersonId>,
        /// In words.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// A fault is passed on to somebody who may mend it.
    struct RepairRequested {
        /// The fault.
        fault: FaultId,
        /// Whom it is for.
        #[serde(default, skip_serializing_if = "is_default")]
        to: String,
        /// Why, and what is asked for.
        words: String,
        /// The machine's kind, number and hours, and the showing and print with which it was met, line by line.
        #[serde(default, skip_serializing_if = "is_default")]
        about: Vec<String>,
        /// What was noticed, line by line.
        #[serde(default, skip_serializing_if = "is_default")]
        symptoms: Vec<String>,
        /// What was answered and tried, and what came of it, line by line.
        #[serde(default, skip_serializing_if = "is_default")]
        tried: Vec<String>,
        /// What an operator could have tried against the likely causes and has not, line by line.
        #[serde(default, skip_serializing_if = "is_default")]
        not_tried: Vec<String>,
        /// The likely causes, the likeliest first.
        #[serde(default, skip_serializing_if = "is_default")]
        likely: Vec<String>,
        /// What is next to impossible by other answers, though nobody looked, line by line.
        #[serde(default, skip_serializing_if = "is_default")]
        unlikely: Vec<String>,
        /// What it is not, line by line.
        #[serde(default, skip_serializing_if = "is_default")]
        ruled_out: Vec<String>,
        /// Last readings, line by line.
        #[serde(default, skip_serializing_if = "is_default")]
        readings: Vec<String>,
    }
    /// A fault is dealt with.
    struct FaultClosed {
        /// The fault.
        fault: FaultId,
        /// What it was.
        #[serde(default, skip_serializing_if = "is_default")]
        cause: String,
        /// What mended it.
        #[serde(default, skip_serializing_if = "is_default")]
        cure: String,
        /// The cause, as the machine type names it, once it is confirmed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cause_id: Option<CauseId>,
        /// The remedy that mended it, as the machine type names it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        remedy_id: Option<RemedyId>,
    }
}
