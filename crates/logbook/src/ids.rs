//! The names of things in a logbook: short, typed, cheap to copy.

use serde::{Deserialize, Serialize};
use smol_str::SmolStr;
use std::fmt;

/// The longest id that an entry may carry, in bytes; `accept` refuses more.
///
/// An id is written by people on labels and in spreadsheets; 64 bytes is ample and bounds a hostile file.
pub const LONGEST_ID: usize = 64;

macro_rules! text_ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(SmolStr);

        impl $name {
            /// Names a thing; the text is kept as it is.
            pub fn new(text: impl AsRef<str>) -> Self {
                Self(SmolStr::new(text))
            }

            /// Returns the id as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self::new(text)
            }
        }

        impl std::borrow::Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }
    )*};
}

text_ids! {
    /// One machine of the booth, by a short name of its own (`turnstone`).
    MachineId;
    /// One physical part with an identity and an age of its own, wherever it is fitted.
    PartId;
    /// The place in a machine where a part sits or care is done, as the machine type names it (`exciter-lamp`).
    SlotId;
    /// A care task as the machine type names it (`gate-brush`).
    TaskId;
    /// A kind of machine, as its type file names it.
    TypeId;
    /// Somebody who writes entries.
    PersonId;
    /// A hall, booth or depot.
    PlaceId;
    /// One showing in the diary.
    ShowingId;
    /// One print with its reels.
    PrintId;
    /// One programme of reels.
    ProgrammeId;
    /// One open or closed fault.
    FaultId;
    /// What is noticed at a fault, as the machine type names it (`no-sound`).
    SymptomId;
    /// What is asked at a fault, a symptom, circumstance or check, as the machine type names it.
    AskedId;
    /// What may be wrong, as the machine type names it.
    CauseId;
    /// What may cure, as the machine type names it.
    RemedyId;
    /// A stock item: a spare or a consumable.
    ItemId;
    /// An order of spares or consumables.
    OrderId;
    /// A quantity that is read (`flutter-weighted`), as the machine type names it.
    QuantityId;
}

/// What care is counted for: a task, and the slot when a task is done slot by slot.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct CarePointId {
    /// The care task.
    pub task: TaskId,
    /// The slot it was done at, if the task is kept slot by slot.
    pub slot: Option<SlotId>,
}

macro_rules! uuid_ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub uuid::Uuid);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = uuid::Error;

            fn from_str(text: &str) -> Result<Self, uuid::Error> {
                uuid::Uuid::parse_str(text).map(Self)
            }
        }
    )*};
}

uuid_ids! {
    /// One entry, unique for ever (UUIDv7, RFC 9562), made where the entry is written.
    EntryId;
    /// The device that wrote an entry; each device numbers its own entries from 1.
    DeviceId;
}
