//! Care done, left out and put off; and the stock that it uses.

use super::{apply::Folding, line::Line};
use crate::{
    booth::{CareRecord, Clocks, Deferral, LeftOut},
    fact::{CareDeferred, CareDone, Outcome, StockCounted},
    ids::{CarePointId, ItemId, TaskId},
};
use std::mem::take;

/// How many care points of a machine there is room for at once.
const CARE_POINTS: usize = 28;

impl Folding {
    /// A care step was done, looked at or left out.
    pub fn care_done(&mut self, line: &Line, place: usize, fact: &mut CareDone) {
        self.ask_if_left(line, place);
        for used in &fact.used {
            self.draw_from_stock(line, &used.item, used.count);
        }
        let point = CarePointId { task: fact.task.clone(), slot: fact.slot.take() };
        if counts(fact.outcome) {
            let clocks = self.clocks_at(place, line);
            for task in take(&mut fact.includes).into_iter().filter(|task| *task != fact.task) {
                let within = CarePointId { task, slot: None };
                self.deed(line, place, within, &clocks, fact.outcome, Some(fact.task.clone()), String::new());
            }
            self.deed(line, place, point, &clocks, fact.outcome, None, take(&mut fact.note));
        } else {
            let left_out = LeftOut {
                at: line.at,
                outcome: fact.outcome,
                note: take(&mut fact.note),
                entry: line.id,
                by: line.by.clone(),
            };
            self.machine(place).left_out.insert(point, left_out);
        }
    }

    #[expect(clippy::too_many_arguments, reason = "one care record, spelled out once")]
    fn deed(
        &mut self,
        line: &Line,
        place: usize,
        point: CarePointId,
        clocks: &Clocks,
        outcome: Outcome,
        within: Option<TaskId>,
        note: String,
    ) {
        let machine = self.machine(place);
        if !machine.deferred.is_empty() {
            machine.deferred.shift_remove(&point);
        }
        if !machine.left_out.is_empty() {
            machine.left_out.shift_remove(&point);
        }
        if let Some(last) = machine.care.get_mut(&point) {
            (last.at, last.clocks, last.outcome, last.entry) = (line.at, *clocks, outcome, line.id);
            last.by.clone_from(&line.by);
            (last.within, last.note) = (within, note);
            last.times = last.times.saturating_add(1);
            return;
        }
        if machine.care.is_empty() {
            // A machine has some forty care points; room for most of them saves growing step by step.
            machine.care.reserve(CARE_POINTS);
        }
        let (at, clocks, entry, by) = (line.at, *clocks, line.id, line.by.clone());
        machine.care.insert(point, CareRecord { at, clocks, outcome, entry, by, within, times: 1, note });
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
