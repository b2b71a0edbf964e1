//! Spares and consumables.

use super::is_default;
use crate::ids::{ItemId, MachineId, OrderId, SlotId};
use jiff::civil;
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
        /// The one case, shelf or van that was counted; absent: all there is of it, wherever it lies.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        only_in: Option<String>,
    }
    /// So many of an item are on order. Written again under the same order, the later word on the item holds.
    struct StockOrdered {
        /// The order; it may hold several items.
        order: OrderId,
        /// The stock item.
        item: ItemId,
        /// How many are ordered in all; 0: none after all.
        count: u32,
        /// From whom.
        #[serde(default, skip_serializing_if = "is_default")]
        supplier: String,
        /// When it is expected.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        expected: Option<civil::Date>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// So many of an item came in.
    struct StockReceived {
        /// The stock item.
        item: ItemId,
        /// How many.
        count: u32,
        /// The order that they belong to; absent: they came unordered.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        order: Option<OrderId>,
        /// Nothing more will come of that order.
        #[serde(default, skip_serializing_if = "is_default")]
        closes: bool,
        /// The case, shelf or van they were put in; absent: where the item is kept.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        put_in: Option<String>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// So many of an item were used up, lost or given away, outside care and fitting.
    struct StockUsed {
        /// The stock item.
        item: ItemId,
        /// How many.
        count: u32,
        /// The case, shelf or van they were taken from; absent: where the item is kept.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        taken_from: Option<String>,
        /// The machine that they were for.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        machine: Option<MachineId>,
        /// What for, in words.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// So many of an item went from one case, shelf or van into another.
    struct StockMoved {
        /// The stock item.
        item: ItemId,
        /// How many.
        count: u32,
        /// From where; absent: from where the item is kept.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<String>,
        /// To where.
        to: String,
    }
}
