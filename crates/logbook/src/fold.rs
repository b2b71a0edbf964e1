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
mod deeds;
mod diary;
mod faults;
mod guard;
mod line;
mod machines;
mod parts;
mod pending;
mod plan;
mod prints;
mod queries;
mod settle;
mod show;
mod stores;

use crate::{Booth, Entry, Fact, When};
use apply::Folding;
pub(crate) use clock_plan::{MeterTrouble, check_jump, check_reading};
use line::{Line, Scan, Stub, Touch};
use queries::Queries;
use serde::{Deserialize, Serialize};
use settle::Sayings;

/// What folding gives.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct Folded {
    /// The booth.
    pub booth: Booth,
    /// How many entries went in, settled ones included; one that came twice counts once.
    pub entries: usize,
}

/// Folds what was written down by a moment: the booth as it was known then.
pub fn fold_as_of(mut entries: Vec<Entry>, recorded_by: When) -> Folded {
    entries.retain(|entry| entry.recorded.unix_ms <= recorded_by.unix_ms);
    fold(entries)
}

/// Folds entries, in whatever order they come.
pub fn fold(mut entries: Vec<Entry>) -> Folded {
    let mut queries = Queries::default();
    let mut scan = line::scan(&entries);
    settle::ask_about_selves(&entries, &scan.settlements, &mut queries);
    let mut changed = Vec::new();
    let index = settle::Index::of(&mut entries, scan.ids_rise, &mut changed, &mut queries);
    let count = index.len(&entries);
    let judged = guard::judge(&entries, &scan.watched, &scan.settlements, &index, &mut queries);
    let sayings = settle::settle(&mut entries, &judged.settlements, &index, &mut changed, &mut queries);
    for place in changed {
        scan.stubs[place] = Stub::of(&entries[place], place, &mut scan.names);
    }
    line::put_in_order(&mut scan.stubs, &entries);
    let (mut folding, places) = begin(&scan, &entries, queries);
    folding.roles = judged.roles;
    for stub in &scan.stubs {
        let entry = &mut entries[stub.entry as usize];
        let line = line_of(entry, &sayings);
        let place = stub.machine().and_then(|machine| places[machine]);
        folding.apply(&line, place, &mut entry.fact);
    }
    folding.settle_pending();
    folding.ask_about_overlaps();
    folding.stop_work();
    let Folding { mut booth, queries, .. } = folding;
    booth.queries = queries.in_order(&booth);
    booth.guarded = judged.guarded;
    booth.roles_given = judged.given;
    Folded { booth, entries: count }
}

/// Makes the booth as it stood before the first entry, with all machines in it, and says where each stands.
fn begin(scan: &Scan, entries: &[Entry], mut queries: Queries) -> (Folding, Vec<Option<usize>>) {
    let mut plans = clock_plan::plans(&scan.stubs, entries, scan.names.len(), &mut queries);
    let mut folding = Folding { queries, ..Folding::default() };
    let mut places = vec![None; plans.len()];
    for stub in scan.stubs.iter().filter(|stub| stub.touch() == Touch::Enters) {
        let entry = &entries[stub.entry as usize];
        match (&entry.fact, stub.machine()) {
            (Fact::MachineAdded(added), Some(machine)) if places[machine].is_none() => {
                let plan = std::mem::take(&mut plans[machine]);
                let before = machines::clocks_before(added, &plan);
                places[machine] = Some(folding.live.len());
                folding.bring_in(
                    added.machine.clone(),
                    machines::new_machine(entry.happened, entry.id, added),
                    plan,
                    before,
                );
            }
            _ => {}
        }
    }
    (folding, places)
}

fn line_of(entry: &Entry, sayings: &Sayings) -> Line {
    let said = if sayings.is_empty() { None } else { sayings.get(&entry.id) };
    Line {
        id: entry.id,
        at: entry.happened,
        recorded: said.map_or(entry.recorded.unix_ms, |(_, recorded)| *recorded),
        by: entry.by.clone(),
        corrected_by: said.map(|(by, _)| by.clone()),
    }
}
