//! Faults, from the first word to the cure.

use super::{
    apply::Folding,
    line::Line,
    pending::{FaultNews, WaitingFault},
};
use crate::{
    booth::{Confirmed, Fault, FaultDeed, FaultReading, FaultStep, RepairRequest},
    fact::{
        FaultAnswered, FaultClosed, FaultMarked, FaultNoted, FaultOpened, FaultTried, RemedyResult,
        RepairRequested,
    },
    ids::FaultId,
};
use std::mem::take;

impl Folding {
    /// A fault is open from here on.
    pub fn fault_opened(&mut self, line: &Line, place: usize, fact: &mut FaultOpened) {
        if let Some(showing) = &fact.showing {
            self.mention_showing(line, Some(place), showing);
        }
        if let Some(fault) = self.booth.faults.get_mut(&fact.fault) {
            fault.notes.push((line.at, take(&mut fact.words), line.id));
            for symptom in take(&mut fact.symptoms) {
                if !fault.symptoms.contains(&symptom) {
                    fault.symptoms.push(symptom);
                }
            }
            let what = format!("fault “{}” is open already; these words are added to it", fact.fault);
            self.ask(
                line,
                Some(place),
                what,
                "if it is another fault, correct this entry and give it its own name",
            );
            return;
        }
        let fault = Fault {
            machine: fact.machine.clone(),
            slot: fact.slot.take(),
            words: take(&mut fact.words),
            showing: fact.showing.take(),
            opened: (line.at, line.id),
            by: line.said_by().clone(),
            notes: Vec::new(),
            closed: None,
            confirmed: Confirmed::default(),
            symptoms: take(&mut fact.symptoms),
            print_sort: fact.print_sort,
            print: fact.print.take(),
            show_running: fact.show_running,
            steps: Vec::new(),
            requests: Vec::new(),
        };
        self.booth.faults.insert(fact.fault.clone(), fault);
    }

    /// Something was learnt about a fault.
    pub fn fault_noted(&mut self, line: &Line, fact: &mut FaultNoted) {
        self.at_fault(line, &fact.fault, FaultNews::Noted(take(&mut fact.words)));
    }

    /// A question was answered, or a check made.
    pub fn fault_answered(&mut self, line: &Line, fact: &mut FaultAnswered) {
        let (quantity, unit) = (fact.quantity.take(), take(&mut fact.unit));
        let value = fact.value.filter(|value| value.is_finite());
        let deed = FaultDeed::Answered {
            asked: fact.asked,
            which: fact.which.clone(),
            answer: fact.answer,
            reading: value.map(|value| FaultReading { quantity, value, unit }),
        };
        self.fault_step(line, &fact.fault, deed, fact.minutes, take(&mut fact.note));
    }

    /// A remedy was tried; what was passed over uses up nothing.
    pub fn fault_tried(&mut self, line: &Line, fact: &mut FaultTried) {
        let used = take(&mut fact.used);
        if fact.result != RemedyResult::Skipped {
            for used in &used {
                self.draw_from_stock(line, &used.item, used.count);
            }
        }
        let deed = FaultDeed::Tried { remedy: fact.remedy.clone(), result: fact.result, used };
        self.fault_step(line, &fact.fault, deed, fact.minutes, take(&mut fact.note));
    }

    /// Made safe, the show is over, handed over.
    pub fn fault_marked(&mut self, line: &Line, fact: &mut FaultMarked) {
        let deed = FaultDeed::Marked { mark: fact.mark, to: fact.to.take() };
        self.fault_step(line, &fact.fault, deed, None, take(&mut fact.note));
    }

    fn fault_step(&mut self, line: &Line, id: &FaultId, deed: FaultDeed, minutes: Option<f64>, note: String) {
        let minutes = minutes.filter(|minutes| minutes.is_finite() && *minutes >= 0.0);
        let (at, by) = (line.at, line.said_by().clone());
        let step = FaultStep { at, recorded: line.recorded, entry: line.id, by, deed, minutes, note };
        self.at_fault(line, id, FaultNews::Step(Box::new(step)));
    }

    /// A fault is passed on.
    pub fn repair_requested(&mut self, line: &Line, fact: &mut RepairRequested) {
        let request = RepairRequest {
            at: line.at,
            recorded: line.recorded,
            entry: line.id,
            by: line.said_by().clone(),
            to: take(&mut fact.to),
            words: take(&mut fact.words),
            about: take(&mut fact.about),
            symptoms: take(&mut fact.symptoms),
            tried: take(&mut fact.tried),
            not_tried: take(&mut fact.not_tried),
            likely: take(&mut fact.likely),
            unlikely: take(&mut fact.unlikely),
            ruled_out: take(&mut fact.ruled_out),
            readings: take(&mut fact.readings),
        };
        self.at_fault(line, &fact.fault, FaultNews::Requested(Box::new(request)));
    }

    /// A fault is dealt with.
    pub fn fault_closed(&mut self, line: &Line, fact: &mut FaultClosed) {
        let confirmed = Confirmed { cause: fact.cause_id.take(), remedy: fact.remedy_id.take() };
        let (cause, cure) = (take(&mut fact.cause), take(&mut fact.cure));
        self.at_fault(line, &fact.fault, FaultNews::Closed { cause, cure, confirmed });
    }

    fn at_fault(&mut self, line: &Line, id: &FaultId, news: FaultNews) {
        if self.booth.faults.contains_key(id) {
            self.fault_news(line, id, news);
        } else {
            self.pending.faults.push(WaitingFault { id: id.clone(), line: line.clone(), news });
        }
    }

    /// Takes news of a fault that stands in the booth.
    pub fn fault_news(&mut self, line: &Line, id: &FaultId, news: FaultNews) {
        let Some(fault) = self.booth.faults.get_mut(id) else { return };
        match news {
            FaultNews::Noted(words) => fault.notes.push((line.at, words, line.id)),
            FaultNews::Step(step) => fault.steps.push(*step),
            FaultNews::Requested(request) => fault.requests.push(*request),
            FaultNews::Closed { cause, cure, confirmed } => {
                fault.confirmed = confirmed;
                let again = fault.closed.replace((line.at, cause, cure, line.id)).is_some();
                if again {
                    let what = format!("fault “{id}” was closed before; the later word counts");
                    self.ask(line, None, what, "withdraw whichever of the two is wrong");
                }
            }
        }
    }

    /// Puts what came in late into its place.
    pub fn put_faults_in_order(&mut self) {
        for fault in self.booth.faults.values_mut() {
            fault.notes.sort_by_key(|(at, _, entry)| (at.unix_ms, *entry));
            fault.steps.sort_by_key(|step| (step.at.unix_ms, step.recorded, step.entry));
            fault.requests.sort_by_key(|request| (request.at.unix_ms, request.recorded, request.entry));
        }
    }
}
