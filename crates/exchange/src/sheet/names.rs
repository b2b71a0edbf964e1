//! What a sheet calls machines, people and places → the booth's ids.

use super::{mapping::Mapping, mapping_file::nearest, words::plain};
use logbook::{Booth, MachineId, PersonId, PlaceId};
use std::collections::BTreeMap;

/// The ids that names of one sort stand for.
#[derive(Debug)]
pub(super) struct Names<Id> {
    by_name: BTreeMap<String, Id>,
    /// Names as people write them, for suggestions.
    shown: Vec<String>,
}

impl<Id: Clone + PartialEq> Names<Id> {
    fn new() -> Self {
        Self { by_name: BTreeMap::new(), shown: Vec::new() }
    }

    /// Adds a name, unless an earlier one is alike.
    fn add(&mut self, name: &str, id: Id) {
        if !name.is_empty() {
            self.by_name.entry(plain(name)).or_insert(id);
            self.shown.push(name.to_owned());
        }
    }

    /// Gives a name that is not known yet an id of its own; `None` if it is known.
    pub fn add_new(
        &mut self,
        name: &str,
        taken: impl Fn(&Id) -> bool,
        make: impl Fn(String) -> Id,
    ) -> Option<Id> {
        if self.find(name).is_some() {
            return None;
        }
        let short = short_name(name);
        let free = |id: &Id| !taken(id) && !self.by_name.values().any(|own| own == id);
        let id = std::iter::once(short.clone())
            .chain((2..=u32::MAX).map(|count| format!("{short}-{count}")))
            .map(make)
            .find(free)?;
        self.add(name, id.clone());
        Some(id)
    }

    /// Returns the id that a name stands for.
    pub fn find(&self, name: &str) -> Option<&Id> {
        self.by_name.get(&plain(name))
    }

    /// Returns what would be right instead of an unknown name.
    pub fn suggestion(&self, name: &str) -> Option<&str> {
        nearest(name, self.shown.iter().map(String::as_str))
    }

    /// Returns the ids that several names in one cell stand for, if all of them are known.
    pub fn find_all(&self, cell: &str) -> Option<Vec<Id>> {
        if let Some(one) = self.find(cell) {
            return Some(vec![one.clone()]);
        }
        let mut all = Vec::new();
        for name in cell.split(['+', ',', '&', '/', ';', '\n']) {
            let id = self.find(name)?.clone();
            if !all.contains(&id) {
                all.push(id);
            }
        }
        (!all.is_empty()).then_some(all)
    }
}

/// Returns the machines by every name that the mapping, the booth and the machines to be added give them.
pub(super) fn machines(mapping: &Mapping, booth: &Booth) -> Names<MachineId> {
    let mut names = Names::new();
    for (name, id) in &mapping.machines {
        names.add(name, id.clone());
    }
    for (name, new) in &mapping.add_machines {
        names.add(name, new.id.clone());
        names.add(new.id.as_str(), new.id.clone());
    }
    for (id, machine) in &booth.machines {
        names.add(id.as_str(), id.clone());
        names.add(&machine.name, id.clone());
        names.add(&machine.serial, id.clone());
    }
    names
}

/// Returns the people by every name that the mapping and the booth give them.
pub(super) fn people(mapping: &Mapping, booth: &Booth) -> Names<PersonId> {
    let mut names = Names::new();
    for (name, id) in &mapping.people {
        names.add(name, id.clone());
    }
    for (id, person) in &booth.people {
        names.add(id.as_str(), id.clone());
        names.add(&person.name, id.clone());
    }
    names
}

/// Returns the places by every name that the mapping and the booth give them.
pub(super) fn places(mapping: &Mapping, booth: &Booth) -> Names<PlaceId> {
    let mut names = Names::new();
    for (name, id) in &mapping.places {
        names.add(name, id.clone());
    }
    for (id, place) in &booth.places {
        names.add(id.as_str(), id.clone());
        names.add(&place.name, id.clone());
    }
    names
}

/// Makes an id of a name: small letters, figures and hyphens; `unnamed` if nothing of it is left.
pub(super) fn short_name(name: &str) -> String {
    const LONGEST: usize = 40;
    let plain = plain(name);
    let letters: String = plain.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    let words: Vec<&str> = letters.split('-').filter(|word| !word.is_empty()).collect();
    let short: String = words.join("-").chars().take(LONGEST).collect();
    let short = short.trim_end_matches('-');
    if short.is_empty() { "unnamed".to_owned() } else { short.to_owned() }
}
