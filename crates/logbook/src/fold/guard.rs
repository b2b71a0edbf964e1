//! Whose word counts: who may give roles, and who may take back that a machine is dangerous.
//!
//! The gate refuses such entries where they are written; entries that come from another logbook meet the same rules
//! here. Who has which role is found out first, from the entries about people in the order in which they were written.

use super::queries::Queries;
use crate::{
    Entry, Fact,
    booth::Guard,
    fact::{Fitness, PersonAdded, Role},
    ids::{EntryId, PersonId},
    rules::{may_give_role, somebody_in_charge},
};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// Which role each person had from when on, in order of time.
#[derive(Debug, Default)]
pub(super) struct Roles {
    held: FxHashMap<PersonId, Vec<(i64, Role)>>,
    /// The role last given to each person, in the order of writing: by it somebody may give roles.
    pub given: BTreeMap<PersonId, Role>,
    /// Entries that give a role which their writer may not give.
    pub refused: FxHashSet<EntryId>,
}

impl Roles {
    /// Hears the entries about people, in the order in which they were written; corrected ones were judged before.
    pub fn of<'e>(entries: impl Iterator<Item = &'e Entry>, corrected: &dyn Fn(EntryId) -> bool) -> Self {
        let mut people: Vec<(&Entry, &PersonAdded)> =
            entries.filter_map(|entry| Some((entry, person_in(&entry.fact)?))).collect();
        // Of several in the same instant, as when a booth begins, those who write of themselves come first.
        people.sort_by_key(|(entry, fact)| (entry.recorded.unix_ms, entry.by != fact.person, entry.id));
        let mut roles = Self::default();
        for (entry, fact) in people {
            roles.hear(entry, fact, corrected(entry.id));
        }
        for held in roles.held.values_mut() {
            held.sort_by_key(|(from, _)| *from);
        }
        roles
    }

    fn hear(&mut self, entry: &Entry, fact: &PersonAdded, corrected: bool) {
        let before = self.given.get(&fact.person).copied();
        let may = corrected || may_give_role(&entry.by, &self.given, fact);
        let role = if may { fact.role } else { before.unwrap_or(Role::Operator) };
        if !may {
            self.refused.insert(entry.id);
        }
        self.given.insert(fact.person.clone(), role);
        self.held.entry(fact.person.clone()).or_default().push((entry.happened.unix_ms, role));
    }

    /// Returns the role that somebody had at a time, in milliseconds.
    ///
    /// Before the first entry about a person the role in that entry counts.
    pub fn at(&self, person: &PersonId, when: i64) -> Option<Role> {
        let held = self.held.get(person)?;
        let known = held.partition_point(|(from, _)| *from <= when);
        held.get(known.saturating_sub(1)).map(|(_, role)| *role)
    }
}

fn person_in(fact: &Fact) -> Option<&PersonAdded> {
    if let Fact::PersonAdded(fact) = fact { Some(fact) } else { None }
}

/// Returns the entries that not everybody may correct or withdraw, with all that settle them.
pub(super) fn guarded(
    entries: &[Entry],
    watched: &[usize],
    settlements: &[usize],
) -> BTreeMap<EntryId, Guard> {
    let either = watched.iter().chain(settlements).map(|place| &entries[*place]);
    let mut found: BTreeMap<EntryId, Guard> =
        either.filter_map(|entry| Some((entry.id, guard_of(&entry.fact)?))).collect();
    // A settlement of a settlement counts as well; each round reaches one further out.
    loop {
        let known = found.len();
        for entry in settlements.iter().map(|place| &entries[*place]) {
            if let Some(guard) = entry.fact.settles().and_then(|target| found.get(&target).copied()) {
                found.entry(entry.id).or_insert(guard);
            }
        }
        if found.len() == known {
            return found;
        }
    }
}

/// Returns whether an entry is one that not everybody may settle, leaving settlements aside.
pub(super) fn is_watched(fact: &Fact) -> bool {
    !matches!(fact, Fact::Corrects(_)) && guard_of(fact).is_some()
}

fn guard_of(fact: &Fact) -> Option<Guard> {
    match fact {
        Fact::PersonAdded(_) => Some(Guard::Person),
        Fact::FitnessSet(fact) if fact.fitness == Fitness::Danger => Some(Guard::Danger),
        Fact::Corrects(corrects) => guard_of(&corrects.with),
        _ => None,
    }
}

/// Returns the settlements that count; asks about those whose writer may not settle what they settle.
pub(super) fn that_count(
    entries: &[Entry],
    watched: &[usize],
    settlements: &[usize],
    guarded: &BTreeMap<EntryId, Guard>,
    queries: &mut Queries,
) -> Vec<usize> {
    let touches = |place: &usize| touched(&entries[*place], guarded);
    if settlements.iter().all(|place| touches(place).is_none()) {
        return settlements.to_vec();
    }
    let raw = Roles::of(watched.iter().map(|place| &entries[*place]), &|_| false);
    let people: Vec<usize> =
        settlements.iter().copied().filter(|place| touches(place) == Some(Guard::Person)).collect();
    let settled = settled_people(entries, watched, &people, &raw);
    let may = |place: &usize| {
        let entry = &entries[*place];
        match touches(place) {
            None => true,
            Some(Guard::Person) => may_settle_person(entry, &raw),
            Some(Guard::Danger) => settled.at(&entry.by, entry.recorded.unix_ms) == Some(Role::Technician),
        }
    };
    for place in settlements.iter().filter(|place| !may(place)) {
        ask(&entries[*place], touches(place), queries);
    }
    settlements.iter().copied().filter(may).collect()
}

/// What guarded thing a settlement touches.
fn touched(entry: &Entry, guarded: &BTreeMap<EntryId, Guard>) -> Option<Guard> {
    let target = entry.fact.settles().filter(|target| *target != entry.id)?;
    let makes_person = matches!(&entry.fact, Fact::Corrects(own) if person_in(&own.with).is_some());
    guarded.get(&target).copied().or(makes_person.then_some(Guard::Person))
}

/// Who has which role once the entries about people are settled.
fn settled_people(entries: &[Entry], watched: &[usize], settlements: &[usize], raw: &Roles) -> Roles {
    let counts: Vec<usize> =
        settlements.iter().copied().filter(|place| may_settle_person(&entries[*place], raw)).collect();
    let targets: FxHashSet<EntryId> =
        counts.iter().filter_map(|place| entries[*place].fact.settles()).collect();
    let is_own = |entry: &Entry| entry.fact.settles() == Some(entry.id);
    let mut few: Vec<Entry> = if targets.is_empty() {
        watched.iter().map(|place| entries[*place].clone()).collect()
    } else {
        let kept = entries.iter().zip(0..).filter(|(entry, place)| {
            targets.contains(&entry.id) || counts.contains(place) || person_in(&entry.fact).is_some()
        });
        kept.map(|(entry, _)| entry.clone()).collect()
    };
    few.retain(|entry| !is_own(entry));
    few.sort_by_key(|entry| entry.id);
    let counted = |id: EntryId| counts.iter().any(|place| entries[*place].id == id);
    let places: Vec<usize> = (0..few.len()).filter(|place| counted(few[*place].id)).collect();
    let sayings = super::settle::settle(
        &mut few,
        &places,
        &super::settle::Index::InOrder,
        &mut Vec::new(),
        &mut Queries::default(),
    );
    Roles::of(few.iter(), &|id| sayings.contains_key(&id))
}

fn may_settle_person(entry: &Entry, raw: &Roles) -> bool {
    let own = raw.at(&entry.by, entry.recorded.unix_ms);
    let raises_self = matches!(&entry.fact, Fact::Corrects(corrects)
        if person_in(&corrects.with).is_some_and(|with|
            with.person == entry.by && with.role != Role::Operator && Some(with.role) != own));
    !somebody_in_charge(&raw.given) || (matches!(own, Some(Role::Keeper | Role::Technician)) && !raises_self)
}

fn ask(entry: &Entry, touched: Option<Guard>, queries: &mut Queries) {
    let by = &entry.by;
    let (what, settle) = if touched == Some(Guard::Danger) {
        (
            format!(
                "“{by}” is no technician and cannot change or take back that a machine is dangerous; it stays quarantined"
            ),
            "a qualified technician looks at it and writes the release",
        )
    } else {
        (
            format!("“{by}” may not settle who has which role; nothing was changed"),
            "the keeper writes who has which role",
        )
    };
    queries.ask(entry.id, entry.happened, None, what, settle);
}
