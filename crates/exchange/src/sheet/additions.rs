//! Machines, people and places that a sheet names and the booth does not have yet.

use super::{
    Row,
    dry_run::{Addition, Ground, RowDraft, not_after},
    ids,
    mapping::{Field, Mapping, NewMachine},
    names::{self, Names},
    slip::{Slip, Span},
    words::one_line,
};
use logbook::{
    Booth, Draft, Fact, MachineId, PersonId, PlaceId, When,
    fact::{MachineAdded, PersonAdded, PlaceAdded, Role},
};
use std::collections::BTreeMap;

/// The names by which a sheet calls machines, people and places.
pub(super) struct AllNames {
    /// Machines.
    pub machines: Names<MachineId>,
    /// People.
    pub people: Names<PersonId>,
    /// Places.
    pub places: Names<PlaceId>,
}

impl AllNames {
    /// Gathers them from the mapping and the booth.
    pub fn of(mapping: &Mapping, booth: &Booth) -> Self {
        Self {
            machines: names::machines(mapping, booth),
            people: names::people(mapping, booth),
            places: names::places(mapping, booth),
        }
    }

    /// Gives new people and places ids, as far as the mapping allows, and lists all that would be added.
    pub fn add_new(
        &mut self,
        mapping: &Mapping,
        booth: &Booth,
        rows: &[&Row],
        columns: &BTreeMap<Field, (usize, &str)>,
    ) -> Vec<Addition> {
        let mut additions = Vec::new();
        for row in rows {
            let cell = |field| {
                columns.get(&field).and_then(|(index, _)| row.cells.get(*index)).filter(|c| !c.is_empty())
            };
            if let Some(name) = cell(Field::Person).filter(|_| mapping.add_people)
                && let Some(id) = self.people.add_new(name, |id| booth.people.contains_key(id), PersonId::new)
            {
                additions.push(addition("person", id.as_str(), &one_line(name), row.number));
            }
            if let Some(name) = cell(Field::Place).filter(|_| mapping.add_places)
                && let Some(id) = self.places.add_new(name, |id| booth.places.contains_key(id), PlaceId::new)
            {
                additions.push(addition("place", id.as_str(), &one_line(name), row.number));
            }
        }
        for (name, new) in &mapping.add_machines {
            if !booth.machines.contains_key(&new.id) {
                additions.push(addition("machine", new.id.as_str(), name, 0));
            }
        }
        additions
    }
}

fn addition(what: &'static str, id: &str, name: &str, first_row: usize) -> Addition {
    Addition { what, id: id.to_owned(), name: name.to_owned(), first_row }
}

/// Tells whether some row names it.
pub(super) fn is_named(addition: &Addition, spans: &[(Slip, Span)]) -> bool {
    spans.iter().any(|(slip, _)| names_it(addition, slip))
}

fn names_it(addition: &Addition, slip: &Slip) -> bool {
    match addition.what {
        "machine" => slip.machines.iter().any(|id| id.as_str() == addition.id),
        "person" => slip.person.as_ref().is_some_and(|id| id.as_str() == addition.id),
        _ => slip.place.as_ref().is_some_and(|id| id.as_str() == addition.id),
    }
}

/// Makes the drafts of what is added, each a moment before the first row that names it.
pub(super) fn addition_drafts(
    additions: &mut [Addition],
    mapping: &Mapping,
    spans: &[(Slip, Span)],
    ground: &Ground<'_>,
) -> Vec<RowDraft> {
    let mut drafts = Vec::new();
    for addition in additions {
        let named = || spans.iter().filter(|(slip, _)| names_it(addition, slip));
        let Some(first) = named().map(|(_, span)| span.start).min_by_key(|start| start.unix_ms) else {
            continue;
        };
        let first_row = named().map(|(slip, _)| slip.row).min().unwrap_or(addition.first_row);
        let before = When { unix_ms: first.unix_ms - 1, ..first };
        let fact = match addition.what {
            "machine" => match mapping.add_machines.values().find(|new| new.id.as_str() == addition.id) {
                Some(new) => machine_added(new, spans),
                None => continue,
            },
            "person" => Fact::from(PersonAdded {
                person: PersonId::new(&addition.id),
                name: addition.name.clone(),
                role: Role::Operator,
            }),
            _ => PlaceAdded {
                place: PlaceId::new(&addition.id),
                name: addition.name.clone(),
                notes: String::new(),
            }
            .into(),
        };
        addition.first_row = first_row;
        drafts.push(RowDraft {
            row: None,
            draft: Draft {
                id: ids::addition_id(addition.what, &addition.id),
                device: ground.device,
                happened: not_after(before, ground.now, false),
                by: ground.by.clone(),
                fact,
            },
        });
    }
    drafts
}

/// Makes the entry of a new machine; its meter begins with the first figure that a row gives.
fn machine_added(new: &NewMachine, spans: &[(Slip, Span)]) -> Fact {
    let meter_hours = spans
        .iter()
        .filter(|(slip, _)| slip.machines.contains(&new.id))
        .filter_map(|(slip, span)| Some((span.start.unix_ms, slip.meter?)))
        .min_by_key(|(at, _)| *at)
        .map(|(_, figure)| figure);
    MachineAdded {
        machine: new.id.clone(),
        name: new.name.clone(),
        machine_type: new.machine_type.clone(),
        serial: new.serial.clone(),
        place: None,
        meter_hours,
        hours_before: new.hours_before,
        hours_estimated: false,
        made_year: None,
        settings: BTreeMap::new(),
    }
    .into()
}
