//! Care done, left out and put off.

use super::{apply::Folding, deeds::Doing, line::Line};
use crate::{
    booth::{Deferral, LeftOut},
    fact::{CareDeferred, CareDone, Outcome},
    ids::CarePointId,
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
}

/// Returns whether such a step counts as done.
fn counts(outcome: Outcome) -> bool {
    matches!(outcome, Outcome::Done | Outcome::Fine | Outcome::Attention)
}
