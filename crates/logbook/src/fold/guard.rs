//! Whose word counts: who may give roles, and who may take back that a machine is dangerous.
//!
//! The gate refuses such entries where they are written; entries that come from another logbook meet the same rules
//! here, before anything else is settled. `docs/fold.md`, "Whose word counts", is what this follows.

mod arrivals;
mod fitness;
mod matters;
mod people;

use super::{
    queries::{self, Queries},
    settle::Index,
};
use crate::{
    Entry, Fact,
    booth::Guard,
    fact::{Fitness, PersonAdded, Role},
    ids::{EntryId, PersonId},
};
use matters::Matter;
pub(super) use people::Roles;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// Of the settlements of one matter that are judged one by one, so many count at most: no honest logbook comes near,
/// and a hostile one cannot hold up the fold.
const MOST_JUDGED: usize = 200;

/// What the first look at roles and danger finds out.
pub(super) struct Judged {
    /// Places of the settlements that count.
    pub settlements: Vec<usize>,
    /// Who has which role when.
    pub roles: Roles,
    /// The role last given to each person.
    pub given: BTreeMap<PersonId, Role>,
    /// Entries that not everybody may settle.
    pub guarded: BTreeMap<EntryId, Guard>,
}

/// Why a settlement does not count.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Refused {
    /// It would make a person of something else, or something else of a person.
    NotAPerson,
    /// Its writer may not say who has which role.
    NotInCharge,
    /// By it a machine would come out of danger, and its writer is no technician.
    NoTechnician,
}

/// Judges every settlement, and asks about those that do not count.
pub(super) fn judge(
    entries: &[Entry],
    watched: &[usize],
    settlements: &[usize],
    index: &Index,
    queries: &mut Queries,
) -> Judged {
    // One that came twice was silenced at one of its places.
    let watched: Vec<usize> =
        watched.iter().copied().filter(|place| is_watched(&entries[*place].fact)).collect();
    let endangered = arrivals::endangered(entries, &watched, settlements);
    let matters = matters::that_matter(entries, settlements, index, &endangered);
    let mut refused: FxHashMap<usize, Refused> = settlements
        .iter()
        .copied()
        .filter(|place| person_in_correction(&entries[*place]).is_some())
        .map(|place| (place, Refused::NotAPerson))
        .collect();
    let people = watched.iter().copied().filter(|place| person_in(&entries[*place].fact).is_some());
    let (roles, given) = people::judge(entries, people, &matters, &mut refused);
    for matter in matters.iter().filter(|matter| !matter.about_a_person) {
        fitness::judge(entries, matter, &roles, &mut refused);
    }
    if matters.iter().any(|matter| matter.brings_in) {
        let dangers = arrivals::Dangers::of(entries, &endangered, &matters, &refused, &roles);
        arrivals::judge(entries, &matters, &dangers, &roles, &mut refused);
    }
    let guarded = guarded(entries, &watched, &matters, &roles);
    for (place, why) in &refused {
        ask(&entries[*place], *why, queries);
    }
    let counts = |place: &usize| !refused.contains_key(place);
    Judged { settlements: settlements.iter().copied().filter(counts).collect(), roles, given, guarded }
}

/// Returns whether a fact is one that not everybody may settle, whatever is written about it.
pub(super) fn is_watched(fact: &Fact) -> bool {
    matches!(fact, Fact::PersonAdded(_)) || says_danger(fact)
}

fn says_danger(fact: &Fact) -> bool {
    matches!(fact, Fact::FitnessSet(fact) if fact.fitness == Fitness::Danger)
}

fn person_in(fact: &Fact) -> Option<&PersonAdded> {
    if let Fact::PersonAdded(fact) = fact { Some(fact) } else { None }
}

fn person_in_correction(entry: &Entry) -> Option<&PersonAdded> {
    person_in(correction(entry)?)
}

/// What a correction wants to say.
fn correction(entry: &Entry) -> Option<&Fact> {
    if let Fact::Corrects(corrects) = &entry.fact { Some(&corrects.with) } else { None }
}

/// Puts entries in the order in which they were written.
///
/// Of several in the same instant, as when a booth begins, those who write of themselves come first.
fn order_of_writing(entry: &Entry) -> (i64, bool, EntryId) {
    let of_oneself = person_in(&entry.fact).is_some_and(|fact| fact.person == entry.by);
    (entry.recorded.unix_ms, !of_oneself, entry.id)
}

/// Judges settlements about danger: technicians' count; the others are taken one by one, in the order of writing, and count
/// if what is said by all that count so far may become what is said with them.
fn one_by_one<T>(
    entries: &[Entry],
    settlements: &[usize],
    roles: &Roles,
    refused: &mut FxHashMap<usize, Refused>,
    says: impl Fn(&FxHashSet<usize>) -> T,
    may_become: impl Fn(&T, &T, &Entry) -> bool,
) {
    let open = settlements.iter().copied().filter(|place| !refused.contains_key(place));
    let (theirs, mut others): (Vec<usize>, Vec<usize>) = open.partition(|place| {
        let entry = &entries[*place];
        roles.is_technician(&entry.by, entry.recorded.unix_ms)
    });
    others.sort_unstable_by_key(|place| order_of_writing(&entries[*place]));
    let mut counts: FxHashSet<usize> = theirs.into_iter().collect();
    let mut said = says(&counts);
    for (number, place) in others.into_iter().enumerate() {
        if number >= MOST_JUDGED {
            refused.insert(place, Refused::NoTechnician);
            continue;
        }
        counts.insert(place);
        let then = says(&counts);
        if may_become(&said, &then, &entries[place]) {
            said = then;
        } else {
            counts.remove(&place);
            refused.insert(place, Refused::NoTechnician);
        }
    }
}

/// Returns the entries that not everybody may correct or withdraw: what the gate must know of all this.
fn guarded(
    entries: &[Entry],
    watched: &[usize],
    matters: &[Matter],
    roles: &Roles,
) -> BTreeMap<EntryId, Guard> {
    let alone = watched.iter().map(|place| {
        let entry = &entries[*place];
        (entry.id, if says_danger(&entry.fact) { Guard::Danger } else { Guard::Person })
    });
    let mut found: BTreeMap<EntryId, Guard> = alone.collect();
    for matter in matters {
        let hangs = matter.about_a_person || fitness::hangs_on(entries, matter, roles);
        for entry in matter.places.iter().map(|place| &entries[*place]).filter(|_| hangs) {
            let guard = match &entry.fact {
                _ if !matter.about_a_person => Guard::Danger,
                Fact::Withdraws(_) => Guard::PersonTakenBack,
                _ => Guard::Person,
            };
            found.insert(entry.id, guard);
        }
    }
    found
}

fn ask(entry: &Entry, why: Refused, queries: &mut Queries) {
    let by = queries::person(&entry.by);
    let (what, settle) = match why {
        Refused::NoTechnician => (
            format!(
                "“{by}” is no technician and cannot change or take back what holds a machine in danger; it stays quarantined"
            ),
            "a qualified technician looks at it and writes the release",
        ),
        Refused::NotInCharge => (
            format!("“{by}” may not settle who has which role; nothing was changed"),
            "the keeper writes who has which role",
        ),
        Refused::NotAPerson => (
            "only an entry about a person is corrected into one about a person, and into nothing else; nothing was changed".to_owned(),
            "withdraw what is wrong and write a new entry",
        ),
    };
    queries.ask(entry.id, entry.happened, None, what, settle);
}
