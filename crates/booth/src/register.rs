//! What is found in a booth by passes over all of it, each made once and kept for as long as the booth itself.

use crate::{held::Held, lived::Whereabouts, outlook::Unexplained, stores::Drawn};
use logbook::{Booth, MachineId, booth::Machine, ids::SlotId};
use rustc_hash::FxHashMap;
use std::sync::OnceLock;

/// What was found in a booth so far. It knows places in the booth's own lists and never the moment of asking, so that
/// it is right until the next entry.
///
/// It belongs to the booth with which it was first asked: keep it beside that booth, and take a new one for another.
#[derive(Debug, Default)]
pub struct Register {
    held: OnceLock<Held>,
    whereabouts: OnceLock<Whereabouts>,
    fitted: OnceLock<Fitted>,
    unexplained: OnceLock<Unexplained>,
    drawn: OnceLock<Drawn>,
}

/// Machines (by their places) that may be used and have a part in a slot, by type and slot, in the booth's order.
type Fitted = FxHashMap<String, FxHashMap<SlotId, Vec<usize>>>;

impl Register {
    /// The showings that were held.
    pub(crate) fn held(&self, booth: &Booth) -> &Held {
        self.held.get_or_init(|| Held::of(booth))
    }

    /// Where each part has been.
    pub(crate) fn whereabouts(&self, booth: &Booth) -> &Whereabouts {
        self.whereabouts.get_or_init(|| Whereabouts::of(booth))
    }

    /// Stoppages that no part explains, in all showings so far.
    pub(crate) fn unexplained(&self, booth: &Booth) -> Unexplained {
        *self.unexplained.get_or_init(|| Unexplained::of(booth, self.held(booth).count))
    }

    /// What was last drawn from the stores for each place.
    pub(crate) fn drawn(&self, booth: &Booth) -> &Drawn {
        self.drawn.get_or_init(|| Drawn::of(booth))
    }

    /// The machines of a type that may be used and have a part in this slot, in the booth's order.
    pub(crate) fn fitted<'a>(
        &self,
        booth: &'a Booth,
        kind: &str,
        slot: &str,
    ) -> impl Iterator<Item = (&'a MachineId, &'a Machine)> {
        let fitted = self.fitted.get_or_init(|| fitted(booth));
        let places = fitted.get(kind).and_then(|slots| slots.get(slot)).map_or(&[][..], Vec::as_slice);
        places.iter().filter_map(|place| booth.machines.get_index(*place))
    }
}

fn fitted(booth: &Booth) -> Fitted {
    let mut fitted = Fitted::default();
    for (place, machine) in booth.machines.values().enumerate() {
        if !crate::is_offered(machine) {
            continue;
        }
        if !fitted.contains_key(machine.machine_type.as_str()) {
            fitted.insert(machine.machine_type.to_string(), FxHashMap::default());
        }
        let Some(slots) = fitted.get_mut(machine.machine_type.as_str()) else { continue };
        for slot in machine.fitted.keys() {
            if let Some(places) = slots.get_mut(slot) {
                places.push(place);
            } else {
                slots.insert(slot.clone(), vec![place]);
            }
        }
    }
    fitted
}
