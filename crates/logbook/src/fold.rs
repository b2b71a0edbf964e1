//! Folding: entries in any order → [`Booth`]. Total: it never fails and never panics.
//!
//! Two passes. The first settles corrections and withdrawals by id, puts the entries in order of time and finds out
//! how the hour meters want the runs counted. The second applies the facts in that order. What does not add up
//! becomes a [`crate::booth::Query`]; the fold says in it how it took the matter and goes on.
//!
//! `docs/fold.md` lists everything that is inferred.

mod apply;
mod care;
mod clock_plan;
mod clocks;
mod diary;
mod faults;
mod line;
mod machines;
mod parts;
mod pending;
mod queries;
mod settle;

use crate::{Booth, Entry, Fact, When};
use apply::Folding;
pub(crate) use clock_plan::{MeterTrouble, check_jump, check_reading};
use line::{Line, NOWHERE, Names, Stub, Touch};
use queries::Queries;
use settle::Sayings;

/// What folding gives.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Folded {
    /// The booth.
    pub booth: Booth,
    /// How many entries went in, settled ones included; one that came twice counts once.
    pub entries: usize,
}

/// The entry changes what was folded before, so that everything must be folded anew.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error("this entry changes what was folded before it; fold the whole logbook again")]
pub struct NeedsRefold;

/// Folds what was written down by a moment: the booth as it was known then.
pub fn fold_as_of(mut entries: Vec<Entry>, recorded_by: When) -> Folded {
    entries.retain(|entry| entry.recorded.unix_ms <= recorded_by.unix_ms);
    fold(entries)
}

/// Folds entries, in whatever order they come.
pub fn fold(mut entries: Vec<Entry>) -> Folded {
    let mut queries = Queries::default();
    let settlements = settle::settlements(&entries, &mut queries);
    let index = settle::Index::of(&mut entries, &mut queries);
    let count = index.len(&entries);
    let (_, sayings) = settle::settle(&mut entries, &settlements, &index, &mut queries);
    let mut names = Names::default();
    let mut stubs = line::stubs_of(&entries, &mut names);
    line::put_in_order(&mut stubs, &entries);
    let (mut folding, places) = begin(&stubs, &entries, names.len(), queries);
    for stub in &stubs {
        let entry = &mut entries[stub.entry as usize];
        let line = line_of(entry, &sayings);
        let place = places.get(stub.machine as usize).filter(|place| **place != NOWHERE);
        folding.apply(&line, place.map(|place| *place as usize), &mut entry.fact);
    }
    folding.settle_pending();
    folding.ask_about_overlaps();
    let Folding { mut booth, queries, .. } = folding;
    booth.queries = queries.in_order();
    Folded { booth, entries: count }
}

/// Makes the booth as it stood before the first entry, with all machines in it, and says where each stands.
fn begin(stubs: &[Stub], entries: &[Entry], machines: usize, mut queries: Queries) -> (Folding, Vec<u32>) {
    let mut plans = clock_plan::plans(stubs, entries, machines, &mut queries);
    let mut folding = Folding { queries, ..Folding::default() };
    let mut places = vec![NOWHERE; machines];
    for stub in stubs {
        let entry = &entries[stub.entry as usize];
        match (&entry.fact, stub.touch) {
            (Fact::MachineAdded(added), Touch::Enters) if places[stub.machine as usize] == NOWHERE => {
                let plan = std::mem::take(&mut plans[stub.machine as usize]);
                let before = machines::clocks_before(added, &plan);
                places[stub.machine as usize] = folding.live.len() as u32;
                let machine = machines::new_machine(entry.happened, entry.id, added);
                folding.bring_in(added.machine.clone(), machine, plan, before);
            }
            (Fact::PersonAdded(person), Touch::Person) => {
                let roles = folding.roles.entry(person.person.clone()).or_default();
                roles.push((entry.happened.unix_ms, person.role));
            }
            _ => {}
        }
    }
    (folding, places)
}

fn line_of(entry: &Entry, sayings: &Sayings) -> Line {
    let said = if sayings.is_empty() { None } else { sayings.get(&entry.id) };
    let (said_by, recorded) = match said {
        Some((by, recorded)) => (by.clone(), *recorded),
        None => (entry.by.clone(), entry.recorded.unix_ms),
    };
    Line { id: entry.id, at: entry.happened, recorded, by: entry.by.clone(), said_by }
}
