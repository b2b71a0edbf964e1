//! Care done, left out and put off; and the stock that it uses.

use super::{apply::Folding, deeds::Doing, line::Line};
use crate::{
    booth::{Deferral, LeftOut},
    fact::{CareDeferred, CareDone, Outcome, StockCounted},
    ids::{CarePointId, ItemId},
};
use std::mem::take;

impl Folding {
    /// A care step was done, looked at or left out.
    pub fn care_done(&mut self, line: &Line, place: usize, fact: &mut CareDone) {
        self.ask_if_left(line, place);
        for used in &fact.used {
            self.draw_from_stock(line, &used.item, used.count);
        }
        let point = CarePointId { task: fact.task.clone(), slot: fact.slot.take() };
        if counts(fact.outcome) {
            let (clocks, outcome) = (self.clocks_at(place, line), fact.outcome);
            for task in take(&mut fact.includes).into_iter().filter(|task| *task != fact.task) {
                let included = CarePointId { task, slot: None };
                let (within, note) = (Some(&fact.task), String::new());
                self.deed(line, Doing { place, point: &included, clocks, outcome, within, note });
            }
            let note = take(&mut fact.note);
            self.deed(line, Doing { place, point: &point, clocks, outcome, within: None, note });
        } else {
            let left_out = LeftOut {
                at: line.at,
                outcome: fact.outcome,
                note: take(&mut fact.note),
                entry: line.id,
                by: line.by.clone(),
            };
            self.live[place].has_open_care = true;
            self.machine(place).left_out.insert(point, left_out);
        }
    }

    fn deed(&mut self, line: &Line, doing: Doing<'_>) {
        if self.live[doing.place].has_open_care {
            let machine = self.machine(doing.place);
            machine.deferred.swap_remove(doing.point);
            machine.left_out.swap_remove(doing.point);
        }
        self.live[doing.place].deeds.take(line, doing, &mut self.deed_names, &mut self.deed_notes);
    }

    /// Care is put off.
    pub fn care_deferred(&mut self, line: &Line, place: usize, fact: &mut CareDeferred) {
        let until_hours_run = fact.until_hours_run.filter(|hours| hours.is_finite());
        if until_hours_run.is_none() && fact.until_date.is_none() {
            let what = format!("“{}” is put off without a limit; it stays due", fact.task);
            self.ask(line, Some(place), what, "put it off until a day, or until so many hours run");
            return;
        }
        let point = CarePointId { task: fact.task.clone(), slot: fact.slot.take() };
        let deferral = Deferral {
            at: line.at,
            why: take(&mut fact.why),
            until_hours_run,
            until_date: fact.until_date,
            entry: line.id,
            by: line.by.clone(),
        };
        self.live[place].has_open_care = true;
        self.machine(place).deferred.insert(point, deferral);
    }

    /// Somebody counted stock.
    pub fn stock_counted(&mut self, line: &Line, fact: &mut StockCounted) {
        let item = self.booth.stock.entry(fact.item.clone()).or_default();
        item.count = i64::from(fact.count);
        item.counted = Some((line.at, line.id));
        if let Some(name) = fact.name.take() {
            item.name = name;
        }
        if let Some(slot) = fact.slot.take() {
            item.slot = Some(slot);
        }
        if let Some(kept_in) = fact.kept_in.take() {
            item.kept_in = kept_in;
        }
        if let Some(minimum) = fact.minimum {
            item.minimum = minimum;
        }
        if item.name.is_empty() {
            fact.item.as_str().clone_into(&mut item.name);
        }
    }

    /// Takes so many of an item; one that was never counted goes below zero and is asked about in the end.
    pub fn draw_from_stock(&mut self, line: &Line, item: &ItemId, count: u32) {
        if !self.booth.stock.contains_key(item) {
            self.pending.uncounted.push((item.clone(), line.id, line.at));
        }
        let stock = self.booth.stock.entry(item.clone()).or_default();
        stock.count = stock.count.saturating_sub(i64::from(count));
        if stock.name.is_empty() {
            item.as_str().clone_into(&mut stock.name);
        }
    }
}

/// Returns whether such a step counts as done.
fn counts(outcome: Outcome) -> bool {
    matches!(outcome, Outcome::Done | Outcome::Fine | Outcome::Attention)
}
