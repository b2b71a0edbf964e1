//! Who may take away the entry that brought a machine in, while the machine is in danger: without it the danger would be a
//! word about nothing.

use super::{
    Refused, correction,
    matters::{Matter, Said},
    one_by_one,
    people::Roles,
    says_danger,
};
use crate::{
    Entry, Fact,
    ids::{EntryId, MachineId},
};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeSet;

/// Machines that somebody, somewhere, says to be in danger.
pub(super) fn endangered<'e>(
    entries: &'e [Entry],
    watched: &[usize],
    settlements: &[usize],
) -> FxHashSet<&'e MachineId> {
    let first = watched.iter().map(|place| &entries[*place].fact);
    let corrected = settlements.iter().filter_map(|place| correction(&entries[*place]));
    let said = first.chain(corrected).filter(|fact| says_danger(fact));
    said.filter_map(|fact| if let Fact::FitnessSet(fact) = fact { Some(&fact.machine) } else { None })
        .collect()
}

/// What is said of a machine's danger: when the words were written, where the entry stands in the order of time, and
/// whether it is danger.
type Word = (i64, (i64, i64, EntryId), bool);

/// What is said of the danger of each machine, by the settlements that count: dangers, and the releases of technicians.
pub(super) struct Dangers(FxHashMap<MachineId, Vec<Word>>);

impl Dangers {
    /// Goes through all decisions on these machines.
    pub fn of(
        entries: &[Entry],
        machines: &FxHashSet<&MachineId>,
        matters: &[Matter],
        refused: &FxHashMap<usize, Refused>,
        roles: &Roles,
    ) -> Self {
        let mut dangers = Self(FxHashMap::default());
        let mut in_matters: FxHashSet<usize> = FxHashSet::default();
        for matter in matters {
            in_matters.extend(&matter.places);
            let counts =
                matter.settlements.iter().copied().filter(|place| !refused.contains_key(place)).collect();
            let said = Said::by(entries, &matter.places, &counts);
            for entry in &said.entries {
                let (by, written) = said.words_of(entry);
                dangers.take_in(entry, written, machines, || roles.is_technician(by, written));
            }
        }
        for (_, entry) in entries.iter().enumerate().filter(|(place, _)| !in_matters.contains(place)) {
            let written = entry.recorded.unix_ms;
            dangers.take_in(entry, written, machines, || roles.is_technician(&entry.by, written));
        }
        for words in dangers.0.values_mut() {
            words.sort_unstable_by_key(|(_, order, _)| *order);
        }
        dangers
    }

    fn take_in(
        &mut self,
        entry: &Entry,
        written: i64,
        machines: &FxHashSet<&MachineId>,
        by_technician: impl Fn() -> bool,
    ) {
        let Fact::FitnessSet(fact) = &entry.fact else { return };
        if machines.contains(&fact.machine) && (says_danger(&entry.fact) || by_technician()) {
            let order = (entry.happened.unix_ms, entry.recorded.unix_ms, entry.id);
            self.0.entry(fact.machine.clone()).or_default().push((written, order, says_danger(&entry.fact)));
        }
    }

    /// The machine is in danger, by what was written up to a moment.
    fn stands(&self, machine: &MachineId, by: i64) -> bool {
        let words = self.0.get(machine).map_or(&[][..], Vec::as_slice);
        words.iter().rev().find(|(written, ..)| *written <= by).is_some_and(|(_, _, danger)| *danger)
    }
}

/// All matters that bring endangered machines in, judged as one: a machine may have been brought in more than once.
struct Together<'e> {
    entries: &'e [Entry],
    /// All their entries, in the order of their ids.
    places: Vec<usize>,
    /// Machines that an entry brings in about which nothing was settled.
    settled_nowhere: BTreeSet<&'e MachineId>,
}

impl Together<'_> {
    /// The machines that are brought in, by some settlements.
    fn here(&self, counts: &FxHashSet<usize>) -> BTreeSet<MachineId> {
        let said = Said::by(self.entries, &self.places, counts);
        let mut here: BTreeSet<MachineId> = self.settled_nowhere.iter().map(|id| (*id).clone()).collect();
        here.extend(said.entries.iter().filter_map(|entry| brought_in(&entry.fact).cloned()));
        here
    }
}

/// The machine that a fact brings in.
fn brought_in(fact: &Fact) -> Option<&MachineId> {
    if let Fact::MachineAdded(fact) = fact { Some(&fact.machine) } else { None }
}

/// Judges the settlements of the matters that bring endangered machines in: technicians' count, of the others those by
/// which every machine that was in danger when they were written is still there.
pub(super) fn judge(
    entries: &[Entry],
    matters: &[Matter],
    dangers: &Dangers,
    roles: &Roles,
    refused: &mut FxHashMap<usize, Refused>,
) {
    let bring_in: Vec<&Matter> =
        matters.iter().filter(|matter| matter.brings_in && !matter.about_a_person).collect();
    let mut places: Vec<usize> = bring_in.iter().flat_map(|matter| &matter.places).copied().collect();
    places.sort_unstable_by_key(|place| entries[*place].id);
    let inside: FxHashSet<usize> = places.iter().copied().collect();
    let outside = entries.iter().enumerate().filter(|(place, _)| !inside.contains(place));
    let settled_nowhere = outside.filter_map(|(_, entry)| brought_in(&entry.fact)).collect();
    let together = Together { entries, places, settled_nowhere };
    let settlements: Vec<usize> = bring_in.iter().flat_map(|matter| &matter.settlements).copied().collect();
    let stays = |here: &BTreeSet<MachineId>, then: &BTreeSet<MachineId>, settlement: &Entry| {
        !here.difference(then).any(|gone| dangers.stands(gone, settlement.recorded.unix_ms))
    };
    one_by_one(entries, &settlements, roles, refused, |counts| together.here(counts), stays);
}
