//! Faults, from the first word to the cure.

use super::{
    apply::Folding,
    line::Line,
    pending::{FaultNews, WaitingFault},
};
use crate::{
    booth::Fault,
    fact::{FaultClosed, FaultNoted, FaultOpened},
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
            notes: Vec::new(),
            closed: None,
        };
        self.booth.faults.insert(fact.fault.clone(), fault);
    }

    /// Something was learnt about a fault.
    pub fn fault_noted(&mut self, line: &Line, fact: &mut FaultNoted) {
        self.at_fault(line, &fact.fault, FaultNews::Noted(take(&mut fact.words)));
    }

    /// A fault is dealt with.
    pub fn fault_closed(&mut self, line: &Line, fact: &mut FaultClosed) {
        self.at_fault(
            line,
            &fact.fault,
            FaultNews::Closed { cause: take(&mut fact.cause), cure: take(&mut fact.cure) },
        );
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
            FaultNews::Closed { cause, cure } => {
                let again = fault.closed.replace((line.at, cause, cure, line.id)).is_some();
                if again {
                    let what = format!("fault “{id}” was closed before; the later word counts");
                    self.ask(line, None, what, "withdraw whichever of the two is wrong");
                }
            }
        }
    }
}
