//! Pins of the service plan.

use super::{apply::Folding, line::Line};
use crate::{
    booth::{Pinned, PlanPin},
    fact::PlanPinned,
};
use std::mem::take;

impl Folding {
    /// A choice was fixed; a later pin of the same care, or of the same machine at the same showing, takes its place.
    pub fn plan_pinned(&mut self, line: &Line, place: usize, fact: &mut PlanPinned) {
        let what = match (&fact.showing, &fact.task, fact.on) {
            (Some(showing), None, None) => {
                self.mention_showing(line, Some(place), showing);
                Pinned::At(showing.clone())
            }
            (None, Some(task), Some(on)) => Pinned::Care { task: task.clone(), on },
            _ => {
                let what =
                    "a pin names neither a showing alone nor a care task with its day; it fixes nothing";
                self.ask(line, Some(place), what, "withdraw it, and pin what was meant");
                return;
            }
        };
        let same = |pin: &PlanPin| pin.machine == fact.machine && same_thing(&pin.what, &what);
        self.booth.pins.retain(|pin| !same(pin));
        self.booth.pins.push(PlanPin {
            machine: fact.machine.clone(),
            what,
            note: take(&mut fact.note),
            at: line.at,
            entry: line.id,
            by: line.said_by().clone(),
        });
    }
}

fn same_thing(one: &Pinned, other: &Pinned) -> bool {
    match (one, other) {
        (Pinned::At(one), Pinned::At(other)) => one == other,
        (Pinned::Care { task: one, .. }, Pinned::Care { task: other, .. }) => one == other,
        _ => false,
    }
}
