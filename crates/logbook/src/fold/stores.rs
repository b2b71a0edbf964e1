//! The stores: counted, used, moved, ordered and received.

use super::{apply::Folding, line::Line, pending::WaitingReceipt};
use crate::{
    booth::{OrderLineId, StockChange, StockDeed, StockItem, StockOrder},
    fact::{StockCounted, StockMoved, StockOrdered, StockReceived, StockUsed},
    ids::ItemId,
};
use std::mem::take;

impl Folding {
    /// Somebody counted stock.
    pub fn stock_counted(&mut self, line: &Line, fact: &mut StockCounted) {
        let item = self.item(&fact.item);
        if let Some(name) = fact.name.take() {
            item.name = name;
        }
        if let Some(slot) = fact.slot.take() {
            item.slot = Some(slot);
        }
        if let Some(kept_in) = fact.kept_in.take() {
            // What lay at the new place already is at home there now.
            item.elsewhere.remove(&kept_in);
            item.kept_in = kept_in;
        }
        if let Some(minimum) = fact.minimum {
            item.minimum = minimum;
        }
        match fact.only_in.take() {
            Some(place) => recount(item, &place, i64::from(fact.count)),
            None => item.count = i64::from(fact.count),
        }
        take_what_lacks(item);
        item.counted = Some((line.at, line.id));
        note(item, line, StockDeed::Counted, fact.count);
    }

    /// Some were used up outside care and fitting.
    pub fn stock_used(&mut self, line: &Line, place: Option<usize>, fact: &StockUsed) {
        if place.is_none() {
            self.ask_about_machine(line, fact.machine.as_ref());
        }
        self.draw(line, &fact.item, fact.count, fact.taken_from.as_deref());
    }

    /// Takes so many of an item; one that was never counted goes below zero and is asked about in the end.
    pub fn draw_from_stock(&mut self, line: &Line, item: &ItemId, count: u32) {
        self.draw(line, item, count, None);
    }

    fn draw(&mut self, line: &Line, item: &ItemId, count: u32, from: Option<&str>) {
        if !self.booth.stock.contains_key(item) {
            self.pending.uncounted.push((item.clone(), line.id, line.at));
        }
        let stock = self.item(item);
        if let Some(place) = from {
            take_from(stock, place, i64::from(count));
        }
        stock.count = stock.count.saturating_sub(i64::from(count));
        take_what_lacks(stock);
        note(stock, line, StockDeed::Used, count);
    }

    /// Some went into another place. Nobody can move more than lies there: what is more is taken as miscounted.
    pub fn stock_moved(&mut self, line: &Line, fact: &StockMoved) {
        if !self.booth.stock.contains_key(&fact.item) {
            let what = format!("“{}” was moved, but nobody ever counted how many there were", fact.item);
            self.ask(line, None, what, "count it, so that the stock is known");
            return;
        }
        let stock = self.item(&fact.item);
        let from = fact.from.clone().unwrap_or_else(|| stock.kept_in.clone());
        let there = stock.places().find(|(place, _)| *place == from).map_or(0, |(_, count)| count);
        let moved = i64::from(fact.count).min(there.max(0));
        take_from(stock, &from, moved);
        put_into(stock, &fact.to, moved);
        note(stock, line, StockDeed::Moved, fact.count);
        if moved < i64::from(fact.count) {
            let what = format!(
                "{} of “{}” were moved from “{from}”, but by this log {moved} lay there; so many are taken as moved",
                fact.count, fact.item
            );
            self.ask(line, None, what, "count what lies there");
        }
    }

    /// Some came in.
    pub fn stock_received(&mut self, line: &Line, fact: &mut StockReceived) {
        let stock = self.item(&fact.item);
        stock.count = stock.count.saturating_add(i64::from(fact.count));
        if let Some(place) = fact.put_in.take() {
            put_into(stock, &place, i64::from(fact.count));
        }
        note(stock, line, StockDeed::Received, fact.count);
        let Some(order) = fact.order.take() else { return };
        let line_id = OrderLineId { order, item: fact.item.clone() };
        let receipt = WaitingReceipt {
            line: line_id,
            at: line.at,
            entry: line.id,
            count: fact.count,
            closes: fact.closes,
        };
        // An order of which only the day is known stands at noon: what came that morning waits for it.
        self.pending.receipts.push(receipt);
    }

    /// So many are on order; what was said later of the same order and item holds.
    pub fn stock_ordered(&mut self, line: &Line, fact: &mut StockOrdered) {
        let id = OrderLineId { order: fact.order.clone(), item: fact.item.clone() };
        let ordered = self.booth.orders.get(&id).map_or((line.at, line.id), |before| before.ordered);
        let order = StockOrder {
            count: fact.count,
            supplier: take(&mut fact.supplier),
            expected: fact.expected,
            note: take(&mut fact.note),
            ordered,
            received: 0,
            last_received: None,
            closed: false,
        };
        self.booth.orders.insert(id, order);
    }

    /// Books what came in on its order, or asks which order was meant.
    pub fn settle_receipt(&mut self, receipt: WaitingReceipt) {
        let WaitingReceipt { line, at, entry, count, closes } = receipt;
        if let Some(order) = self.booth.orders.get_mut(&line) {
            order.received = order.received.saturating_add(count);
            order.last_received = order.last_received.max(Some((at, entry)));
            order.closed |= closes;
        } else {
            let what = format!("“{}” came in on order “{}”, which nobody wrote down", line.item, line.order);
            self.queries.ask(entry, at, None, what, "write the order, or correct which one was meant");
        }
    }

    fn item(&mut self, id: &ItemId) -> &mut StockItem {
        let item = self.booth.stock.entry(id.clone()).or_default();
        if item.name.is_empty() {
            id.as_str().clone_into(&mut item.name);
        }
        item
    }
}

fn note(item: &mut StockItem, line: &Line, deed: StockDeed, count: u32) {
    item.changes.push(StockChange { at: line.at, deed, count, left: item.count, entry: line.id });
}

/// Sets what lies in one place; the other places stay as they were.
fn recount(item: &mut StockItem, place: &str, count: i64) {
    let before = item.places().find(|(own, _)| *own == place).map_or(0, |(_, there)| there);
    item.count = item.count.saturating_add(count.saturating_sub(before));
    if place != item.kept_in {
        item.elsewhere.insert(place.to_owned(), count);
        item.elsewhere.retain(|_, there| *there != 0);
    }
}

/// Lets so many leave a place for nowhere; where it is kept, that shows by itself.
fn take_from(item: &mut StockItem, place: &str, count: i64) {
    if let Some(there) = item.elsewhere.get_mut(place) {
        *there = there.saturating_sub(count).max(0);
        item.elsewhere.retain(|_, there| *there != 0);
    }
}

/// Puts so many that are counted already into a place.
fn put_into(item: &mut StockItem, place: &str, count: i64) {
    if place != item.kept_in && count > 0 {
        let there = item.elsewhere.entry(place.to_owned()).or_default();
        *there = there.saturating_add(count);
    }
}

/// What does not lie where the item is kept was taken from where most of the others lie.
fn take_what_lacks(item: &mut StockItem) {
    while item.at_home() < 0 {
        let lacks = item.at_home().saturating_neg();
        let most = item.elsewhere.iter().max_by_key(|(_, there)| **there);
        let Some((place, there)) = most.map(|(place, there)| (place.clone(), *there)) else { return };
        take_from(item, &place, lacks.min(there));
    }
}
