//! Who has been given which role, each entry judged by what was written before it.

use super::{
    MOST_JUDGED, Refused,
    matters::{Matter, Said},
    order_of_writing, person_in, person_in_correction,
};
use crate::{
    Entry, Fact,
    fact::{PersonAdded, Role},
    ids::{EntryId, PersonId},
    rules::{Giving, giving},
};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// Which role each person had from when on.
#[derive(Debug, Default)]
pub(in super::super) struct Roles {
    /// In order of time, of two at once in the order of writing.
    held: FxHashMap<PersonId, Vec<(i64, Role)>>,
    /// Entries that name a role which their writer may not give.
    pub refused: FxHashSet<EntryId>,
}

impl Roles {
    /// Returns the role that somebody had at a time, in milliseconds.
    ///
    /// Before the first entry about a person the role in that entry counts.
    pub fn at(&self, person: &PersonId, when: i64) -> Option<Role> {
        let held = self.held.get(person)?;
        let known = held.partition_point(|(from, _)| *from <= when);
        held.get(known.saturating_sub(1)).map(|(_, role)| *role)
    }

    /// Returns whether somebody was a technician at a time, in milliseconds.
    pub fn is_technician(&self, person: &PersonId, when: i64) -> bool {
        self.at(person, when) == Some(Role::Technician)
    }
}

/// The role last given to each person: by it somebody may give roles.
#[derive(Default)]
struct Given {
    /// Every role that an entry gives, by the entry's number in the order of writing.
    roles: FxHashMap<PersonId, BTreeMap<usize, Role>>,
    /// How many people are in charge.
    in_charge: usize,
}

impl Given {
    fn role(&self, person: &PersonId) -> Option<Role> {
        self.roles.get(person)?.last_key_value().map(|(_, role)| *role)
    }

    fn is_in_charge(&self, person: &PersonId) -> bool {
        self.role(person).is_some_and(|role| role != Role::Operator)
    }

    /// What an entry about a person does, by what was written before it.
    fn giving(&self, by: &PersonId, fact: &PersonAdded) -> Giving {
        giving(by, fact, self.in_charge > 0, |person| self.role(person))
    }

    /// Returns whether a settlement of an entry about a person counts.
    fn may_settle(&self, entry: &Entry) -> bool {
        let raises_self = person_in_correction(entry).is_some_and(|with| {
            with.person == entry.by && with.role != Role::Operator && Some(with.role) != self.role(&entry.by)
        });
        self.in_charge == 0 || (self.is_in_charge(&entry.by) && !raises_self)
    }

    /// The role last given to each person.
    fn last(self) -> BTreeMap<PersonId, Role> {
        let last = |roles: BTreeMap<usize, Role>| roles.into_values().next_back();
        self.roles.into_iter().filter_map(|(person, roles)| Some((person, last(roles)?))).collect()
    }

    /// An entry gives a role, or gives one no more.
    fn change(&mut self, person: &PersonId, number: usize, role: Option<Role>) {
        self.in_charge -= usize::from(self.is_in_charge(person));
        let of_them = self.roles.entry(person.clone()).or_default();
        match role {
            Some(role) => of_them.insert(number, role),
            None => of_them.remove(&number),
        };
        self.in_charge += usize::from(self.is_in_charge(person));
    }
}

/// One entry about a person, on its way.
struct Person<'m> {
    /// Number in the order of writing; none before the entry is met.
    number: Option<usize>,
    first: Giving,
    matter: Option<&'m Matter>,
    /// What it says now: its person, moment and role; none if it was taken back.
    says: Option<(PersonId, i64, Role)>,
    /// A correction speaks in its place.
    corrected: bool,
    /// The settlements of its matter that count so far.
    counts: FxHashSet<usize>,
    judged: usize,
}

impl Person<'_> {
    /// Whom it gives a role.
    fn gives(&self) -> Option<(usize, &PersonId, i64, Role)> {
        let may = self.corrected || self.first == Giving::Gives;
        let (person, at, role) = self.says.as_ref().filter(|_| may)?;
        Some((self.number?, person, *at, *role))
    }

    /// Finds out anew what it says.
    fn hear(&mut self, entries: &[Entry], own: usize) {
        let places: Vec<usize> = match self.matter {
            Some(matter) => matter
                .places
                .iter()
                .copied()
                .filter(|place| *place == own || self.counts.contains(place))
                .collect(),
            None => vec![own],
        };
        let said = Said::by(entries, &places, &self.counts);
        let now = said.entries.iter().find(|entry| entry.id == entries[own].id);
        self.says = now.and_then(|entry| {
            person_in(&entry.fact).map(|fact| (fact.person.clone(), entry.happened.unix_ms, fact.role))
        });
        self.corrected = said.is_corrected(entries[own].id);
    }
}

/// Goes through everything about people in the order of writing.
///
/// Returns the roles, and the role last given to each; puts the settlements that do not count into `refused`.
pub(super) fn judge(
    entries: &[Entry],
    places: impl Iterator<Item = usize>,
    matters: &[Matter],
    refused: &mut FxHashMap<usize, Refused>,
) -> (Roles, BTreeMap<PersonId, Role>) {
    let mut people: FxHashMap<usize, Person<'_>> = places.map(|place| (place, unheard())).collect();
    let mut events: Vec<(usize, usize)> = people.keys().map(|place| (*place, *place)).collect();
    for matter in matters.iter().filter(|matter| matter.about_a_person) {
        // Entries that are joined have one first entry, and of these it is about a person.
        let Some(own) = matter.places.iter().copied().find(|place| people.contains_key(place)) else {
            continue;
        };
        people.entry(own).and_modify(|person| person.matter = Some(matter));
        for &place in &matter.settlements {
            if stays_a_person(entries, matter, place) {
                refused.remove(&place);
                events.push((place, own));
            } else {
                refused.insert(place, Refused::NotAPerson);
            }
        }
    }
    events.sort_unstable_by_key(|(place, _)| order_of_writing(&entries[*place]));
    let mut given = Given::default();
    for (number, (place, own)) in events.into_iter().enumerate() {
        let Some(person) = people.get_mut(&own) else { continue };
        let entry = &entries[place];
        let first = person_in(&entry.fact).map(|fact| given.giving(&entry.by, fact));
        let may = first.is_some() || (person.judged < MOST_JUDGED && given.may_settle(entry));
        if let Some((number, whom, ..)) = person.gives() {
            let whom = whom.clone();
            given.change(&whom, number, None);
        }
        match first {
            Some(first) => (person.number, person.first) = (Some(number), first),
            None if may => _ = person.counts.insert(place),
            None => _ = refused.insert(place, Refused::NotInCharge),
        }
        person.judged += usize::from(first.is_none());
        person.hear(entries, own);
        if let Some((number, whom, _, role)) = person.gives() {
            given.change(whom, number, Some(role));
        }
    }
    (roles_of(entries, &people), given.last())
}

fn unheard<'m>() -> Person<'m> {
    Person {
        number: None,
        first: Giving::Refused,
        matter: None,
        says: None,
        corrected: false,
        counts: FxHashSet::default(),
        judged: 0,
    }
}

/// Returns whether a settlement leaves an entry about a person one: it takes something back, or corrects it with a
/// person. A withdrawal is no entry about a person, so it is not corrected into anything.
fn stays_a_person(entries: &[Entry], matter: &Matter, place: usize) -> bool {
    let entry = &entries[place];
    if !matches!(entry.fact, Fact::Corrects(_)) {
        return true;
    }
    let target = matter.places.binary_search_by_key(&entry.fact.settles(), |at| Some(entries[*at].id));
    let target = target.ok().map(|at| &entries[matter.places[at]].fact);
    person_in_correction(entry).is_some() && !matches!(target, None | Some(Fact::Withdraws(_)))
}

fn roles_of(entries: &[Entry], people: &FxHashMap<usize, Person<'_>>) -> Roles {
    let mut roles = Roles::default();
    let mut giving: Vec<_> = people.values().filter_map(Person::gives).collect();
    giving.sort_unstable_by_key(|(number, _, at, _)| (*at, *number));
    for (_, person, at, role) in giving {
        roles.held.entry(person.clone()).or_default().push((at, role));
    }
    let refused = people.iter().filter(|(_, person)| person.first == Giving::Refused && !person.corrected);
    roles.refused = refused.map(|(place, _)| entries[*place].id).collect();
    roles
}
