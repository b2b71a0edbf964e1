//! Whose lives say most of a part: those of its own machine, and of the machines of its type that ran longest.

use super::belief::{MOST_KIN, like_slots};
use logbook::{Booth, PartId, booth::PartLife, ids::SlotId};
use machine::{MachineType, PriorLife};
use rustc_hash::FxHashMap;
use std::sync::{Arc, Mutex, PoisonError};

/// A part of the logbook.
pub(super) type Part<'a> = (&'a PartId, &'a PartLife);

/// Where each part has been, found in one pass over the parts: by places in the booth's own lists.
#[derive(Debug, Default)]
pub(crate) struct Whereabouts {
    /// For each slot the machines that ever had a part there, each with those parts in the order of the booth's parts.
    parts: FxHashMap<SlotId, FxHashMap<usize, Vec<usize>>>,
    /// The kin of prior lives that were asked for, by type and slots.
    kin: Mutex<FxHashMap<KinOf, Arc<[usize]>>>,
}

/// What decides who is kin: the machine type and the slots whose lives are shared.
type KinOf = (String, Vec<String>);

impl Whereabouts {
    pub fn of(booth: &Booth) -> Self {
        let mut made = Self::default();
        for (at, part) in booth.parts.values().enumerate() {
            for stint in &part.stints {
                let Some(place) = booth.machines.get_index_of(&stint.machine) else { continue };
                if !made.parts.contains_key(&stint.slot) {
                    made.parts.insert(stint.slot.clone(), FxHashMap::default());
                }
                let Some(machines) = made.parts.get_mut(&stint.slot) else { continue };
                let here = machines.entry(place).or_default();
                // A part that came back to where it was is one part.
                if here.last() != Some(&at) {
                    here.push(at);
                }
            }
        }
        made
    }

    /// The machines of a type that say most of a prior life: those that ran longest, of those that ever had such a
    /// part; one more than are weighed, since one of them may be the machine that is asked about.
    pub fn kin(&self, booth: &Booth, kind: &MachineType, prior: &PriorLife) -> Arc<[usize]> {
        let slots = like_slots(kind, prior);
        let of = (kind.id.to_string(), slots.iter().map(ToString::to_string).collect());
        let mut kin = self.kin.lock().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(kin.entry(of).or_insert_with(|| self.find_kin(booth, kind, &slots).into()))
    }

    fn find_kin(&self, booth: &Booth, kind: &MachineType, slots: &[&str]) -> Vec<usize> {
        let machine = |place: &usize| &booth.machines[*place];
        let lists = slots.iter().filter_map(|slot| self.parts.get(*slot));
        let of_type = |place: &usize| machine(place).machine_type.as_str() == kind.id.as_str();
        let mut places: Vec<usize> =
            lists.flat_map(|machines| machines.keys()).copied().filter(of_type).collect();
        places.sort_unstable();
        places.dedup();
        let longest_first = |a: &usize, b: &usize| {
            let hours = |place: &usize| machine(place).clocks.hours_run().hours();
            hours(b).total_cmp(&hours(a)).then(a.cmp(b))
        };
        let most = MOST_KIN + 1;
        if places.len() > most {
            places.select_nth_unstable_by(most - 1, longest_first);
            places.truncate(most);
        }
        places.sort_unstable_by(longest_first);
        places
    }

    /// The parts that ever sat in one of these slots of a machine, in the order of the booth's parts.
    pub fn parts_of<'a>(&self, booth: &'a Booth, place: usize, slots: &[&str]) -> Vec<Part<'a>> {
        let here = |slot: &&str| self.parts.get(*slot)?.get(&place);
        let mut found: Vec<usize> = slots.iter().filter_map(here).flatten().copied().collect();
        if slots.len() > 1 {
            found.sort_unstable();
            found.dedup();
        }
        found.into_iter().filter_map(|at| booth.parts.get_index(at)).collect()
    }
}
