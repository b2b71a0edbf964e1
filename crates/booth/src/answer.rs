//! What a question gives back: the value, what it rests on, and what to bear in mind.

use jiff::civil;
use logbook::EntryId;
use serde::Serialize;
use std::borrow::Cow;

/// The answer to a question.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Answer<T> {
    /// What was asked for.
    pub value: T,
    /// What it rests on.
    pub because: Vec<Ground>,
    /// What to bear in mind when reading it.
    pub caveats: Vec<Caveat>,
}

impl<T> Answer<T> {
    /// Gives the same reasons and caveats to another value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Answer<U> {
        Answer { value: change(self.value), because: self.because, caveats: self.caveats }
    }
}

/// One thing on which an answer rests.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Ground {
    /// An entry of the logbook.
    Entry {
        /// The entry.
        entry: EntryId,
        /// What it says, shortly.
        words: Cow<'static, str>,
    },
    /// A line of a machine type, with the source that the type names for it.
    TypeFile {
        /// The machine type.
        machine_type: String,
        /// The care task, quantity or part.
        line: String,
        /// What it says and where that comes from.
        words: String,
    },
    /// The diary up to a day.
    Diary {
        /// The last planned showing's day.
        until: civil::Date,
        /// What was read from it.
        words: Cow<'static, str>,
    },
    /// A rule of this program, with the tag of its source.
    Rule {
        /// The rule in a sentence.
        words: Cow<'static, str>,
        /// Where it comes from (`common practice, no source`).
        source: &'static str,
    },
}

/// The source tag of rules that the trade follows and no paper states.
pub const COMMON_PRACTICE: &str = "common practice, no source";

impl Ground {
    /// The ground as a sentence without its full stop.
    pub fn in_words(&self) -> String {
        match self {
            Self::Entry { entry, words } => format!("{words} (entry {entry})"),
            Self::TypeFile { machine_type, line, words } => format!("{machine_type}, {line}: {words}"),
            Self::Diary { until, words } => format!("{words} (diary until {until})"),
            Self::Rule { words, source } => format!("{words} ({source})"),
        }
    }
}

/// What sort of thing to bear in mind.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CaveatKind {
    /// The machine's type is not among the known ones, so nothing is known of its care.
    UnknownType,
    /// No record that it was ever done; counted from the day the machine or part entered.
    NoRecord,
    /// Hours are partly inferred and not read.
    EstimatedHours,
    /// Hours run before the machine or part entered are unknown: what is counted is the least it can be.
    UnknownAge,
    /// A deferral stands that this care does not allow, or it has run out.
    DeferralNotHeld,
    /// The machine may not be used.
    NotForUse,
    /// The machine may be used within stated limits only.
    WithinLimits,
    /// The forecast rests on little use or none.
    ThinUse,
    /// The diary still shows past showings as planned.
    StaleDiary,
    /// There is no reference to compare with.
    NoReference,
    /// Readings that are compared were taken under different conditions.
    MixedConditions,
    /// Something in the logbook does not add up.
    OpenQuery,
    /// Only the last of several is shown.
    OnlyTheLast,
    /// The name is not known here.
    UnknownName,
    /// It rests on what the machine type says, for want of a record of one's own.
    PriorOnly,
    /// The best could not be proved in the work allowed: a good one is shown.
    NotProven,
}

/// Something to bear in mind.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Caveat {
    /// What sort of thing.
    pub kind: CaveatKind,
    /// In words, a sentence.
    pub words: String,
}

impl Caveat {
    /// Makes a caveat.
    pub fn new(kind: CaveatKind, words: impl Into<String>) -> Self {
        Self { kind, words: words.into() }
    }
}
