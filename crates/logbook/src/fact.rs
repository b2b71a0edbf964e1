//! What an entry can say: one struct for each kind, in the projectionist's words.
//!
//! **These structs are wire version 1 of their kinds.** Field names and meanings are frozen by the samples in
//! `tests/wire/`; a field may be added if it is optional, but none may be renamed, removed or given another
//! meaning. A kind that must change its meaning gets a new version and a reader for the old one in [`crate::wire`].

use crate::ids::{EntryId, MachineId};

/// Returns whether a value is its type's default, so that the wire leaves it out.
fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

/// Declares a fact struct with the derives that every wire struct has.
macro_rules! wire_structs {
    ($($(#[$doc:meta])* struct $name:ident { $($(#[$fdoc:meta])* $field:ident: $ty:ty,)* })*) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
        pub struct $name { $($(#[$fdoc])* pub $field: $ty,)* }
    )*};
}

/// Declares a closed list of words that the wire spells in kebab-case.
macro_rules! wire_words {
    ($($(#[$doc:meta])* enum $name:ident { $($(#[$vdoc:meta])* $variant:ident,)* })*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum $name { $($(#[$vdoc])* $variant,)* }
    )*};
}

mod booth;
mod care;
mod diary;
mod faults;
mod files;
mod machines;
mod notes;
mod parts;
mod plan;
mod prints;
mod show;
mod stores;

pub use {
    booth::*, care::*, diary::*, faults::*, machines::*, notes::*, parts::*, plan::*, prints::*, show::*,
    stores::*,
};

/// A kind or version that this program does not know: kept, shown, never dropped.
#[derive(Clone, PartialEq, Debug)]
pub struct Unknown {
    /// The kind as written.
    pub kind: String,
    /// The version as written.
    pub version: u16,
    /// The body as written.
    pub body: Box<str>,
    /// Why it could not be read, if the kind is known but the body is not as it should be.
    pub trouble: Option<String>,
}

/// Declares the fact enum and the kind name of each variant in one place.
macro_rules! facts {
    ($($variant:ident = $kind:literal,)*) => {
        /// Everything an entry can say.
        ///
        /// A correction's effect on the booth is that of its new fact at the old entry's place in time.
        #[derive(Clone, PartialEq, Debug)]
        #[non_exhaustive]
        pub enum Fact {
            $(#[doc = concat!("See [`", stringify!($variant), "`]; kind `", $kind, "`.")] $variant($variant),)*
            /// Kind `corrects`.
            Corrects(Corrects),
            /// A kind from a newer program.
            Unknown(Box<Unknown>),
        }

        impl Fact {
            /// Returns the kind as the wire spells it.
            pub fn kind(&self) -> &str {
                match self {
                    $(Self::$variant(_) => $kind,)*
                    Self::Corrects(_) => "corrects",
                    Self::Unknown(unknown) => &unknown.kind,
                }
            }

            /// Reads the body of a plain kind (all but `corrects`), version 1.
            ///
            /// Returns `None` if the kind is not one of them.
            pub(crate) fn read_plain(kind: &str, body: &str) -> Option<Result<Self, serde_json::Error>> {
                match kind {
                    $($kind => Some(serde_json::from_str(body).map(Self::$variant)),)*
                    _ => None,
                }
            }

            /// Returns the fields of a plain kind's body that it does not have, wherever they stand in it.
            ///
            /// The list is empty for a body that cannot be read at all: reading says why.
            pub(crate) fn not_read(kind: &str, body: &str) -> Vec<String> {
                let mut fields = Vec::new();
                let mut json = serde_json::Deserializer::from_str(body);
                let mut note = |path: serde_ignored::Path<'_>| fields.push(path.to_string());
                let read = match kind {
                    $($kind => serde_ignored::deserialize::<_, _, $variant>(&mut json, &mut note).map(drop),)*
                    _ => return fields,
                };
                if read.is_err() {
                    fields.clear();
                }
                fields
            }

            /// Writes the body of a plain kind; `None` for `corrects` and unknown kinds.
            pub(crate) fn write_plain(&self) -> Option<Result<String, serde_json::Error>> {
                match self {
                    $(Self::$variant(fact) => Some(serde_json::to_string(fact)),)*
                    Self::Corrects(_) | Self::Unknown(_) => None,
                }
            }
        }

        $(impl From<$variant> for Fact {
            fn from(fact: $variant) -> Self {
                Self::$variant(fact)
            }
        })*

        /// Every plain kind, in the order of the logbook's glossary.
        pub const KINDS: &[&str] = &[$($kind,)*];
    };
}

facts! {
    BoothNamed = "booth-named",
    PersonAdded = "person-added",
    PlaceAdded = "place-added",
    MachineAdded = "machine-added",
    MachineChanged = "machine-changed",
    MachineRetired = "machine-retired",
    Ran = "ran",
    MeterRead = "meter-read",
    MeterReplaced = "meter-replaced",
    PartFitted = "part-fitted",
    PartMoved = "part-moved",
    PartRemoved = "part-removed",
    CareDone = "care-done",
    CareDeferred = "care-deferred",
    Reading = "reading",
    ShowingPlanned = "showing-planned",
    ShowingHeld = "showing-held",
    ShowingCancelled = "showing-cancelled",
    Stoppage = "stoppage",
    FaultOpened = "fault-opened",
    FaultNoted = "fault-noted",
    FaultAnswered = "fault-answered",
    FaultTried = "fault-tried",
    FaultMarked = "fault-marked",
    RepairRequested = "repair-requested",
    FaultClosed = "fault-closed",
    FitnessSet = "fitness-set",
    MachineEvent = "machine-event",
    PrintAdded = "print-added",
    PrintInspected = "print-inspected",
    PrintHandled = "print-handled",
    SetupKept = "setup-kept",
    ProgrammeKept = "programme-kept",
    ShowMarked = "show-marked",
    PlanPinned = "plan-pinned",
    StockCounted = "stock-counted",
    StockOrdered = "stock-ordered",
    StockReceived = "stock-received",
    StockUsed = "stock-used",
    StockMoved = "stock-moved",
    Noted = "noted",
    Withdraws = "withdraws",
}

impl Fact {
    /// Returns the entry that a correction or withdrawal names.
    pub fn settles(&self) -> Option<EntryId> {
        match self {
            Self::Corrects(corrects) => Some(corrects.entry),
            Self::Withdraws(withdraws) => Some(withdraws.entry),
            _ => None,
        }
    }

    /// Returns the machine that the fact is about, if it names one (a showing's machines are in its list).
    pub fn machine(&self) -> Option<&MachineId> {
        match self {
            Self::MachineAdded(fact) => Some(&fact.machine),
            Self::MachineChanged(fact) => Some(&fact.machine),
            Self::MachineRetired(fact) => Some(&fact.machine),
            Self::Ran(fact) => Some(&fact.machine),
            Self::MeterRead(fact) => Some(&fact.machine),
            Self::MeterReplaced(fact) => Some(&fact.machine),
            Self::PartFitted(fact) => Some(&fact.machine),
            Self::PartMoved(fact) => Some(&fact.machine),
            Self::CareDone(fact) => Some(&fact.machine),
            Self::CareDeferred(fact) => Some(&fact.machine),
            Self::PlanPinned(fact) => Some(&fact.machine),
            Self::Reading(fact) => Some(&fact.machine),
            Self::Stoppage(fact) => fact.machine.as_ref(),
            Self::ShowMarked(fact) => fact.machine.as_ref(),
            Self::StockUsed(fact) => fact.machine.as_ref(),
            Self::FaultOpened(fact) => Some(&fact.machine),
            Self::FitnessSet(fact) => Some(&fact.machine),
            Self::MachineEvent(fact) => Some(&fact.machine),
            Self::Noted(Noted { about: Some(About::Machine(machine)), .. }) => Some(machine),
            Self::Corrects(fact) => fact.with.machine(),
            _ => None,
        }
    }
}
