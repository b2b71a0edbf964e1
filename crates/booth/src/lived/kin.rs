//! Whose lives say most of a part: those of its own machine, and of the machines of its type that ran longest.

use super::belief::{MOST_KIN, like_slots};
use logbook::{
    Booth, MachineId, PartId,
    booth::{Machine, PartLife},
};
use machine::{MachineType, PriorLife};
use rustc_hash::FxHashMap;

/// A part of the logbook.
pub(super) type Part<'a> = (&'a PartId, &'a PartLife);

/// Where each part has been, found in one pass over the parts.
pub(super) struct Whereabouts<'a> {
    booth: &'a Booth,
    /// Parts by the machine's place in the booth and the slot, in the order of the booth's parts.
    parts: FxHashMap<(usize, &'a str), Vec<Part<'a>>>,
    /// Machines (by their places) that ever had a part there.
    machines: FxHashMap<&'a str, Vec<usize>>,
}

impl<'a> Whereabouts<'a> {
    pub fn of(booth: &'a Booth) -> Self {
        let mut made = Self { booth, parts: FxHashMap::default(), machines: FxHashMap::default() };
        for part in &booth.parts {
            for stint in &part.1.stints {
                let Some(place) = booth.machines.get_index_of(&stint.machine) else { continue };
                let here = made.parts.entry((place, stint.slot.as_str())).or_insert_with(|| {
                    made.machines.entry(stint.slot.as_str()).or_default().push(place);
                    Vec::new()
                });
                // A part that came back to where it was is one part.
                if here.last().is_none_or(|(last, _)| *last != part.0) {
                    here.push(part);
                }
            }
        }
        made
    }

    /// The machines of a type that say most of a prior life: those that ran longest, of those that ever had such a
    /// part; one more than are weighed, since one of them may be the machine that is asked about.
    pub fn kin(&self, kind: &MachineType, prior: &PriorLife) -> Vec<usize> {
        let slots = like_slots(kind, prior);
        let lists = slots.iter().filter_map(|slot| self.machines.get(slot));
        let of_type = |place: &usize| self.machine(*place).machine_type.as_str() == kind.id.as_str();
        let mut places: Vec<usize> = lists.flatten().copied().filter(of_type).collect();
        places.sort_unstable();
        places.dedup();
        let longest_first = |a: &usize, b: &usize| {
            let hours = |place: &usize| self.machine(*place).clocks.hours_run().hours();
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
    pub fn parts_of(&self, place: usize, slots: &[&str]) -> Vec<Part<'a>> {
        let mut found: Vec<Part<'a>> =
            slots.iter().filter_map(|slot| self.parts.get(&(place, *slot))).flatten().copied().collect();
        if slots.len() > 1 {
            found.sort_by_key(|(part, _)| self.booth.parts.get_index_of(*part));
            found.dedup_by_key(|(part, _)| *part);
        }
        found
    }

    pub fn machine(&self, place: usize) -> &'a Machine {
        self.named(place).1
    }

    pub fn named(&self, place: usize) -> (&'a MachineId, &'a Machine) {
        self.booth.machines.get_index(place).expect("places come from the booth's own list")
    }
}
