//! Parts with a life of their own.

use super::is_default;
use crate::ids::{ItemId, MachineId, PartId, SlotId};
use serde::{Deserialize, Serialize};
use units::Hours;

wire_words! {
    /// How the life of a part in its slot ended.
    enum Ending {
        /// It failed.
        Failed,
        /// It was found worn past use.
        Worn,
        /// It was changed while still good, as planned: a censored life, never a failure.
        Planned,
        /// It was taken for another machine or use: a censored life.
        Borrowed,
        /// It was broken by something else (a drop, a wrong voltage).
        Damaged,
        /// Nobody wrote down why.
        Unknown,
    }
}

wire_structs! {
    /// What became of the part that was in the slot before.
    struct Replaced {
        /// The part that came out; absent: whatever was fitted there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        part: Option<PartId>,
        /// How its life there ended.
        why: Ending,
    }
    /// A part with an identity of its own goes into a slot. Ends the life of the one it replaces.
    struct PartFitted {
        /// The part.
        part: PartId,
        /// The slot.
        slot: SlotId,
        /// The machine.
        machine: MachineId,
        /// Hours it had run when this logbook first met it; 0 for a new part; absent: unknown.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        age_hours: Option<Hours>,
        /// The band in which an unknown age is guessed to lie, in hours.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        age_band_hours: Option<(Hours, Hours)>,
        /// Days since it was made or first fitted; absent: unknown.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        age_days: Option<u32>,
        /// Strikes it had had already.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        strikes: Option<u32>,
        /// Its batch.
        #[serde(default, skip_serializing_if = "is_default")]
        lot: String,
        /// What came out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        replaces: Option<Replaced>,
        /// The stock item from which it was drawn.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        item: Option<ItemId>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// A part that this logbook knows goes from where it is into another slot.
    struct PartMoved {
        /// The part.
        part: PartId,
        /// The machine it goes to.
        machine: MachineId,
        /// The slot it goes to.
        slot: SlotId,
        /// Why it left where it was.
        why: Ending,
        /// What it replaces there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        replaces: Option<Replaced>,
    }
    /// A part comes out of its slot.
    struct PartRemoved {
        /// The part.
        part: PartId,
        /// How its life there ended.
        why: Ending,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
}
