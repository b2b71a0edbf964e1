//! The stores: what there is of each item and where, how that came about, and what is on order.

use crate::{
    When,
    ids::{EntryId, ItemId, OrderId, SlotId},
};
use jiff::civil;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One stock item.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct StockItem {
    /// What it is.
    pub name: String,
    /// The slot it fits.
    pub slot: Option<SlotId>,
    /// Where it is kept.
    pub kept_in: String,
    /// How many should be there at least.
    pub minimum: u32,
    /// How many there are by the last count and what was used and received since; below zero: the count was wrong.
    pub count: i64,
    /// How many of them lie elsewhere than where the item is kept, by place; none of these is zero.
    pub elsewhere: BTreeMap<String, i64>,
    /// The last count.
    pub counted: Option<(When, EntryId)>,
    /// Everything that changed the count, in order of time.
    pub changes: Vec<StockChange>,
}

/// What changed the count of an item.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum StockDeed {
    /// Somebody counted.
    Counted,
    /// Some were used.
    Used,
    /// Some came in.
    Received,
    /// Some went into another place; the count stays.
    Moved,
}

/// One change of an item's count.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct StockChange {
    /// When.
    pub at: When,
    /// What was done.
    pub deed: StockDeed,
    /// How many were counted, used, received or moved.
    pub count: u32,
    /// How many there were afterwards.
    pub left: i64,
    /// The entry.
    pub entry: EntryId,
}

/// One item of an order.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct OrderLineId {
    /// The order.
    pub order: OrderId,
    /// The item.
    pub item: ItemId,
}

/// What was ordered of an item, and what has come of it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct StockOrder {
    /// How many are ordered in all.
    pub count: u32,
    /// From whom.
    pub supplier: String,
    /// When it is expected.
    pub expected: Option<civil::Date>,
    /// Anything else.
    pub note: String,
    /// When it was ordered first.
    pub ordered: (When, EntryId),
    /// How many have come.
    pub received: u32,
    /// When some last came.
    pub last_received: Option<(When, EntryId)>,
    /// Somebody said that nothing more comes.
    pub closed: bool,
}

impl StockItem {
    /// Returns how many lie where the item is kept.
    pub fn at_home(&self) -> i64 {
        self.elsewhere.values().fold(self.count, |left, there| left.saturating_sub(*there))
    }

    /// Returns every place with what lies there: where the item is kept first, then the others by name.
    pub fn places(&self) -> impl Iterator<Item = (&str, i64)> {
        let home = (self.kept_in.as_str(), self.at_home());
        let others = self.elsewhere.iter().map(|(place, count)| (place.as_str(), *count));
        std::iter::once(home).chain(others)
    }

    /// Returns whether it is known how many there are: it was counted, or came in since the logbook began.
    pub fn is_known(&self) -> bool {
        self.counted.is_some() || self.changes.iter().any(|change| change.deed == StockDeed::Received)
    }
}

impl StockOrder {
    /// Returns how many are still to come.
    pub fn open(&self) -> u32 {
        if self.closed { 0 } else { self.count.saturating_sub(self.received) }
    }
}
