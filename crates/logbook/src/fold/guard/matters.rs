//! Matters: entries that are joined by naming, and what they say by some settlements.

use super::{super::settle, person_in};
use crate::{
    Entry, Fact,
    ids::{EntryId, MachineId},
};
use rustc_hash::{FxHashMap, FxHashSet};
use settle::{Index, Sayings};

/// Entries that are joined by naming.
#[derive(Debug, Default)]
pub(super) struct Matter {
    /// All its entries, in the order of their ids.
    pub places: Vec<usize>,
    /// Its corrections and withdrawals.
    pub settlements: Vec<usize>,
    /// A person was written in it.
    pub about_a_person: bool,
    /// An entry or correction in it decides whether a machine may be used.
    about_fitness: bool,
    /// An entry in it brings in a machine that somebody says to be in danger.
    pub brings_in: bool,
}

/// Returns the matters on which it hangs who has which role, whether a machine may be used, and whether one in danger is
/// there at all.
pub(super) fn that_matter(
    entries: &[Entry],
    settlements: &[usize],
    index: &Index,
    endangered: &FxHashSet<&MachineId>,
) -> Vec<Matter> {
    let mut joined = Joined::default();
    for &place in settlements {
        let entry = &entries[place];
        if let Some(target) = entry.fact.settles().filter(|target| *target != entry.id)
            && let Some(target) = index.place(target, entries)
        {
            joined.join(place, target);
        }
    }
    let mut found: FxHashMap<usize, Matter> = FxHashMap::default();
    let places: Vec<usize> = joined.next.keys().copied().collect();
    for place in places {
        found.entry(joined.end(place)).or_default().take_in(place, &entries[place], endangered);
    }
    let weighs = |matter: &Matter| matter.about_a_person || matter.about_fitness || matter.brings_in;
    let mut found: Vec<Matter> = found.into_values().filter(weighs).collect();
    for matter in &mut found {
        matter.places.sort_unstable_by_key(|place| entries[*place].id);
    }
    found
}

impl Matter {
    fn take_in(&mut self, place: usize, entry: &Entry, endangered: &FxHashSet<&MachineId>) {
        self.places.push(place);
        let words = match &entry.fact {
            Fact::Corrects(corrects) => &*corrects.with,
            fact => fact,
        };
        self.about_fitness |= matches!(words, Fact::FitnessSet(_));
        self.brings_in |= matches!(words, Fact::MachineAdded(added) if endangered.contains(&added.machine));
        if entry.fact.settles().is_some() {
            self.settlements.push(place);
        } else {
            self.about_a_person |= person_in(&entry.fact).is_some();
        }
    }
}

/// Says of each entry to which others it is joined.
#[derive(Default)]
struct Joined {
    /// Place → another of the same matter, nearer to its end; the end names itself.
    next: FxHashMap<usize, usize>,
}

impl Joined {
    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.end(a), self.end(b));
        self.next.insert(a, b);
    }

    fn end(&mut self, mut place: usize) -> usize {
        loop {
            let next = *self.next.entry(place).or_insert(place);
            if next == place {
                return place;
            }
            let after = self.next.get(&next).copied().unwrap_or(next);
            self.next.insert(place, after);
            place = next;
        }
    }
}

/// What some entries say by some settlements.
pub(super) struct Said {
    /// The entries, as settled.
    pub entries: Vec<Entry>,
    sayings: Sayings,
}

impl Said {
    /// Settles copies of the entries at `places`, which stand in the order of their ids, by the settlements in `counts`.
    pub fn by(entries: &[Entry], places: &[usize], counts: &FxHashSet<usize>) -> Self {
        let mut few: Vec<Entry> = places.iter().map(|place| entries[*place].clone()).collect();
        let counted: Vec<usize> = (0..few.len()).filter(|at| counts.contains(&places[*at])).collect();
        let sayings = settle::settle(
            &mut few,
            &counted,
            &Index::InOrder,
            &mut Vec::new(),
            &mut super::Queries::default(),
        );
        Self { entries: few, sayings }
    }

    /// Returns whether a correction speaks in an entry's place.
    pub fn is_corrected(&self, entry: EntryId) -> bool {
        self.sayings.contains_key(&entry)
    }

    /// Returns whose words stand in an entry's place, and when they were written, in milliseconds.
    pub fn words_of<'s>(&'s self, entry: &'s Entry) -> (&'s crate::ids::PersonId, i64) {
        match self.sayings.get(&entry.id) {
            Some((by, recorded)) => (by, *recorded),
            None => (&entry.by, entry.recorded.unix_ms),
        }
    }
}
