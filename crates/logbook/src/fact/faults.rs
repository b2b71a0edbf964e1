//! Faults, from the first word to the cure.

use super::is_default;
use crate::ids::{FaultId, MachineId, ShowingId, SlotId};
use serde::{Deserialize, Serialize};

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
    }
}
