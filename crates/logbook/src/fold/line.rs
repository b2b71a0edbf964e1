//! One line of the log on its way through the fold, and the compact list that puts the lines in order.

use crate::{
    Entry, Fact, When,
    fact::{RunKind, Withdraws},
    ids::{EntryId, MachineId, PersonId},
};
use rustc_hash::FxHashMap;

/// Stands for "no machine" and "not in the booth" in lists of numbers.
pub(super) const NOWHERE: u32 = u32::MAX;

/// Where and when a fact was said, without the fact.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Line {
    /// The entry; of a corrected one, the first.
    pub id: EntryId,
    /// When it happened, as settled.
    pub at: When,
    /// When what stands was written, in milliseconds.
    pub recorded: i64,
    /// Who wrote the first entry.
    pub by: PersonId,
    /// Who wrote what stands: the one who corrected, if it was corrected.
    pub said_by: PersonId,
}

/// What the ordering and the clocks must know of an entry, small enough to sort a million of them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stub {
    /// Milliseconds of `happened`.
    pub happened: i64,
    /// Hours of a run.
    pub hours: f64,
    /// Place among the entries.
    pub entry: u32,
    /// Number of the machine in [`Names`].
    pub machine: u32,
    /// What it does to the clocks.
    pub touch: Touch,
}

/// What an entry does to a machine's clocks or to lists that the first pass makes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Touch {
    /// Film runs.
    Film,
    /// The motor runs without film in the path.
    Rewind,
    /// A meter reading or a jump of the meter.
    Meter,
    /// The machine enters.
    Enters,
    /// The machine leaves.
    Leaves,
    /// A person enters or changes.
    Person,
    /// Nothing that the first pass needs.
    Other,
}

/// The names of machines, numbered in the order in which they are met.
#[derive(Default)]
pub(super) struct Names(FxHashMap<MachineId, u32>);

impl Names {
    fn number(&mut self, machine: &MachineId) -> u32 {
        if let Some(&number) = self.0.get(machine.as_str()) {
            return number;
        }
        let number = self.0.len() as u32;
        self.0.insert(machine.clone(), number);
        number
    }

    /// Returns how many names there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }
}

impl Stub {
    /// Reads the stub of the entry at a place.
    pub fn of(entry: &Entry, place: usize, names: &mut Names) -> Self {
        let (touch, hours) = match &entry.fact {
            Fact::Ran(ran) if ran.run == RunKind::Rewind => (Touch::Rewind, ran.hours.hours()),
            Fact::Ran(ran) => (Touch::Film, ran.hours.hours()),
            Fact::MeterRead(_) | Fact::MeterReplaced(_) => (Touch::Meter, 0.0),
            Fact::MachineAdded(_) => (Touch::Enters, 0.0),
            Fact::MachineRetired(_) => (Touch::Leaves, 0.0),
            Fact::PersonAdded(_) => (Touch::Person, 0.0),
            _ => (Touch::Other, 0.0),
        };
        let machine = entry.fact.machine().map_or(NOWHERE, |machine| names.number(machine));
        Self { happened: entry.happened.unix_ms, hours, entry: place as u32, machine, touch }
    }
}

/// Makes the stubs of all entries, in the order in which these came.
pub(super) fn stubs_of(entries: &[Entry], names: &mut Names) -> Vec<Stub> {
    entries.iter().enumerate().map(|(place, entry)| Stub::of(entry, place, names)).collect()
}

/// Puts stubs in the order of the fold: when it happened, when it was written, then the id.
///
/// A log is nearly in order already, so the sort is one that profits from runs.
pub(super) fn put_in_order(stubs: &mut [Stub], entries: &[Entry]) {
    let later_first = |stub: &Stub| {
        let entry = &entries[stub.entry as usize];
        (entry.recorded.unix_ms, entry.id)
    };
    stubs.sort_by(|a, b| a.happened.cmp(&b.happened).then_with(|| later_first(a).cmp(&later_first(b))));
}

/// Puts a fact without any effect in the place of an entry's, which counts as never written from here on.
pub(super) fn silence(entry: &mut Entry) -> Fact {
    // A withdrawal has no effect of its own once everything is settled.
    let nothing = Fact::Withdraws(Withdraws { entry: entry.id, why: String::new() });
    std::mem::replace(&mut entry.fact, nothing)
}
