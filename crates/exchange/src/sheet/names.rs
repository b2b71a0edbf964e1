//! What a sheet calls machines, people and places → the booth's ids.

use super::{
    doubt::{Doubts, Severity},
    mapping::Mapping,
    mapping_file::nearest,
    words::plain,
};
use logbook::{Booth, MachineId, PersonId, PlaceId};
use std::collections::BTreeMap;

/// The ids that names of one sort stand for.
#[derive(Debug)]
pub(super) struct Names<Id> {
    by_name: BTreeMap<String, Id>,
    /// Names as people write them, for suggestions.
    shown: Vec<String>,
    /// Names that the mapping points at nothing that the booth has, with what it points at.
    astray: Vec<(String, String)>,
}

impl<Id: Clone + PartialEq> Names<Id> {
    fn new() -> Self {
        Self { by_name: BTreeMap::new(), shown: Vec::new(), astray: Vec::new() }
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

    /// Doubts what the mapping points at nothing.
    pub fn doubt_astray(&self, table: &str, doubts: &mut Doubts) {
        for (name, target) in &self.astray {
            let why = format!("[{table}] says that “{name}” is “{target}”, which the booth does not have");
            let right = match self.suggestion(target) {
                Some(near) => format!("“{near}”?"),
                None => "an id or a name that the booth has".to_owned(),
            };
            doubts.sheet(Severity::Error, why, right);
        }
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
    let mut own = Names::new();
    for (name, new) in &mapping.add_machines {
        own.add(name, new.id.clone());
        own.add(new.id.as_str(), new.id.clone());
    }
    for (id, machine) in &booth.machines {
        own.add(id.as_str(), id.clone());
        own.add(&machine.name, id.clone());
        own.add(&machine.serial, id.clone());
    }
    with_mapped(own, &mapping.machines, MachineId::as_str)
}

/// Returns the people by every name that the mapping and the booth give them.
pub(super) fn people(mapping: &Mapping, booth: &Booth) -> Names<PersonId> {
    let mut own = Names::new();
    for (id, person) in &booth.people {
        own.add(id.as_str(), id.clone());
        own.add(&person.name, id.clone());
    }
    with_mapped(own, &mapping.people, PersonId::as_str)
}

/// Returns the places by every name that the mapping and the booth give them.
pub(super) fn places(mapping: &Mapping, booth: &Booth) -> Names<PlaceId> {
    let mut own = Names::new();
    for (id, place) in &booth.places {
        own.add(id.as_str(), id.clone());
        own.add(&place.name, id.clone());
    }
    with_mapped(own, &mapping.places, PlaceId::as_str)
}

/// Puts the sheet's own names before those of the booth; they may point at an id or at a name of the booth.
fn with_mapped<Id: Clone + PartialEq>(
    own: Names<Id>,
    mapped: &BTreeMap<String, Id>,
    text: impl Fn(&Id) -> &str,
) -> Names<Id> {
    let mut names = Names::new();
    for (name, target) in mapped {
        match own.find(text(target)) {
            Some(id) => names.add(name, id.clone()),
            None => names.astray.push((name.clone(), text(target).to_owned())),
        }
    }
    for (name, id) in own.by_name {
        names.by_name.entry(name).or_insert(id);
    }
    names.shown.extend(own.shown);
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
