//! The last deed at each care point, kept small while the fold runs.
//!
//! Of many deeds at one care point only the last one counts, so its record is written out once, in the end. Until
//! then a deed is a row of plain numbers beside the machine's clocks, and names stand in one list for all.

use super::line::Line;
use crate::{
    When,
    booth::{CareRecord, Clocks, Map},
    fact::Outcome,
    ids::{CarePointId, EntryId, PersonId, TaskId},
};
use rustc_hash::FxHashMap;
use std::hash::Hash;

/// Names, each with a number.
#[derive(Debug)]
pub(super) struct Numbered<K> {
    numbers: FxHashMap<K, u32>,
    names: Vec<K>,
}

impl<K> Default for Numbered<K> {
    fn default() -> Self {
        Self { numbers: FxHashMap::default(), names: Vec::new() }
    }
}

impl<K: Hash + Eq + Clone> Numbered<K> {
    fn number(&mut self, name: &K) -> u32 {
        if let Some(&number) = self.numbers.get(name) {
            return number;
        }
        let number = self.names.len() as u32;
        self.numbers.insert(name.clone(), number);
        self.names.push(name.clone());
        number
    }

    fn name(&self, number: u32) -> &K {
        &self.names[number as usize]
    }
}

/// The names that deeds speak of.
#[derive(Debug, Default)]
pub(super) struct DeedNames {
    points: Numbered<CarePointId>,
    people: Numbered<PersonId>,
    tasks: Numbered<TaskId>,
}

/// The last deeds of one machine.
#[derive(Debug, Default)]
pub(super) struct Deeds {
    /// The number of each care point, in the order in which they were first done.
    points: Vec<u32>,
    /// The last deed at each.
    last: Vec<Deed>,
    /// The row of each care point, where there are too many to look through.
    rows: FxHashMap<u32, u32>,
}

/// Up to so many care points a list is looked through: quicker than hashing. A machine has some fifty.
const FEW: usize = 96;

/// Room for so many care points is made at once, which saves growing step by step.
const ROOM: usize = 24;

/// The last deed at a care point, in numbers.
#[derive(Clone, Copy, Debug)]
struct Deed {
    at: When,
    clocks: Clocks,
    entry: EntryId,
    times: u32,
    by: u32,
    within: Option<std::num::NonZeroU32>,
    outcome: Outcome,
    /// Its words stand among the notes.
    noted: bool,
}

/// Words of last deeds: by the machine's place and the care point's number.
pub(super) type DeedNotes = FxHashMap<(usize, u32), String>;

/// What is done, apart from where.
pub(super) struct Doing<'a> {
    /// The machine's place in the booth.
    pub place: usize,
    /// The care point.
    pub point: &'a CarePointId,
    /// The machine's counters.
    pub clocks: Clocks,
    /// What was found.
    pub outcome: Outcome,
    /// The bigger task that it is part of.
    pub within: Option<&'a TaskId>,
    /// In words.
    pub note: String,
}

impl Deeds {
    /// Takes a deed as the last one at its care point.
    pub fn take(&mut self, line: &Line, doing: Doing<'_>, names: &mut DeedNames, notes: &mut DeedNotes) {
        let point = names.points.number(doing.point);
        let within =
            doing.within.and_then(|task| std::num::NonZeroU32::new(names.tasks.number(task).wrapping_add(1)));
        let mut deed = Deed {
            at: line.at,
            clocks: doing.clocks,
            entry: line.id,
            times: 1,
            by: names.people.number(&line.by),
            within,
            outcome: doing.outcome,
            noted: !doing.note.is_empty(),
        };
        if deed.noted {
            notes.insert((doing.place, point), doing.note);
        }
        let Some(row) = self.row_of(point) else {
            self.add(point, deed);
            return;
        };
        let last = &mut self.last[row];
        if last.noted && !deed.noted {
            notes.remove(&(doing.place, point));
        }
        deed.times = last.times.saturating_add(1);
        *last = deed;
    }

    fn row_of(&self, point: u32) -> Option<usize> {
        if self.points.len() <= FEW {
            self.points.iter().position(|known| *known == point)
        } else {
            self.rows.get(&point).map(|row| *row as usize)
        }
    }

    fn add(&mut self, point: u32, deed: Deed) {
        if self.last.is_empty() {
            self.points.reserve(ROOM);
            self.last.reserve(ROOM);
        }
        self.points.push(point);
        self.last.push(deed);
        let from = match self.points.len() - 1 {
            row if row < FEW => return,
            // The list just became too long to look through.
            FEW => 0,
            row => row,
        };
        self.rows.extend(self.points.iter().zip(0_u32..).skip(from).map(|(point, row)| (*point, row)));
    }

    /// Writes out the records.
    pub fn write_out(
        self,
        place: usize,
        names: &DeedNames,
        notes: &mut DeedNotes,
    ) -> Map<CarePointId, CareRecord> {
        let mut care = Map::with_capacity_and_hasher(self.last.len(), rustc_hash::FxBuildHasher);
        for (point, deed) in self.points.into_iter().zip(self.last) {
            let Deed { at, clocks, outcome, entry, times, .. } = deed;
            let by = names.people.name(deed.by).clone();
            let within = deed.within.map(|number| names.tasks.name(number.get() - 1).clone());
            let note =
                if deed.noted { notes.remove(&(place, point)).unwrap_or_default() } else { String::new() };
            let record = CareRecord { at, clocks, outcome, entry, by, within, times, note };
            care.insert(names.points.name(point).clone(), record);
        }
        care
    }
}
