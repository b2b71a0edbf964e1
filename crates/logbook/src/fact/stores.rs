//! Spares and consumables.

use crate::ids::{ItemId, SlotId};
use serde::{Deserialize, Serialize};

wire_structs! {
    /// Somebody counted a stock item.
    struct StockCounted {
        /// The stock item.
        item: ItemId,
        /// How many there are.
        count: u32,
        /// What it is; absent: as before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// The slot it fits; absent: as before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// The case, shelf or van it is in; absent: as before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kept_in: Option<String>,
        /// How many should be there at least; absent: as before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minimum: Option<u32>,
    }
}
