//! One line of the log on its way through the fold, and the compact list that puts the lines in order.

use super::guard::is_watched;
use crate::{
    Entry, Fact, When,
    fact::{RunKind, Withdraws},
    ids::{EntryId, MachineId, PersonId},
};
use rustc_hash::FxHashMap;

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
    /// Who corrected it, if somebody did: then those are the words that stand.
    pub corrected_by: Option<PersonId>,
}

impl Line {
    /// Returns who wrote what stands.
    pub fn said_by(&self) -> &PersonId {
        self.corrected_by.as_ref().unwrap_or(&self.by)
    }
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
    /// Number of the machine in [`Names`] and, in the highest bits, what it does to the clocks.
    packed: u32,
}

/// How many bits of [`Stub::packed`] hold the machine's number.
const MACHINE_BITS: u32 = 29;
/// The number that means that there is no machine.
const NO_MACHINE: u32 = (1 << MACHINE_BITS) - 1;

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
    /// Nothing that the first pass needs.
    Other,
}

impl Touch {
    const ALL: [Self; 6] = [Self::Film, Self::Rewind, Self::Meter, Self::Enters, Self::Leaves, Self::Other];
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
            _ => (Touch::Other, 0.0),
        };
        let machine =
            entry.fact.machine().map_or(NO_MACHINE, |machine| names.number(machine).min(NO_MACHINE));
        let packed = (touch as u32) << MACHINE_BITS | machine;
        Self { happened: entry.happened.unix_ms, hours, entry: place as u32, packed }
    }

    /// Returns the number of the machine that the entry names.
    pub fn machine(&self) -> Option<usize> {
        let machine = self.packed & NO_MACHINE;
        (machine != NO_MACHINE).then_some(machine as usize)
    }

    /// Returns what the entry does to the clocks.
    pub fn touch(&self) -> Touch {
        Touch::ALL[(self.packed >> MACHINE_BITS) as usize % Touch::ALL.len()]
    }
}

/// What one look at every entry finds out.
pub(super) struct Scan {
    /// The stubs, in the order in which the entries came.
    pub stubs: Vec<Stub>,
    /// The machines' names.
    pub names: Names,
    /// Places of corrections and withdrawals.
    pub settlements: Vec<usize>,
    /// Places of entries that not everybody may settle.
    pub watched: Vec<usize>,
    /// The ids rise from entry to entry, so that none comes twice.
    pub ids_rise: bool,
}

/// Looks at every entry once.
pub(super) fn scan(entries: &[Entry]) -> Scan {
    let mut scan = Scan {
        stubs: Vec::with_capacity(entries.len()),
        names: Names::default(),
        settlements: Vec::new(),
        watched: Vec::new(),
        ids_rise: true,
    };
    let mut last = None;
    for (place, entry) in entries.iter().enumerate() {
        scan.stubs.push(Stub::of(entry, place, &mut scan.names));
        if matches!(entry.fact, Fact::Corrects(_) | Fact::Withdraws(_)) {
            scan.settlements.push(place);
        } else if is_watched(&entry.fact) {
            scan.watched.push(place);
        }
        scan.ids_rise &= last < Some(entry.id);
        last = Some(entry.id);
    }
    scan
}

/// Puts stubs in the order of the fold: when it happened, when it was written, then the id.
///
/// A log is nearly in order already, so the sort is one that profits from runs.
pub(super) fn put_in_order(stubs: &mut [Stub], entries: &[Entry]) {
    let tie = |stub: &Stub| {
        let entry = &entries[stub.entry as usize];
        (entry.recorded.unix_ms, entry.id)
    };
    stubs.sort_by(|a, b| a.happened.cmp(&b.happened).then_with(|| tie(a).cmp(&tie(b))));
}

/// Puts a fact without any effect in the place of an entry's, which counts as never written from here on.
pub(super) fn silence(entry: &mut Entry) -> Fact {
    // A withdrawal has no effect of its own once everything is settled.
    let nothing = Fact::Withdraws(Withdraws { entry: entry.id, why: String::new() });
    std::mem::replace(&mut entry.fact, nothing)
}
