//! The trouble tables: `[[symptom]]`, `[[cause]]`, `[[condition]]`, `[[check]]`, `[[remedy]]` and what goes with them.

mod cause;
mod chances;
mod check;
mod drill;
mod proof;
mod remedy;
mod step;
mod symptom;

use super::form::Form;
use super::names::Names;
use crate::part::Part;
use crate::stock::{PriorLife, Spare};
use crate::trouble::Trouble;
use std::collections::{HashMap, HashSet};
use std::ops::Range;

/// The tables of which a file has all that it needs, or none at all.
const TABLES: [&str; 9] =
    ["symptom", "cause", "condition", "check", "remedy", "access", "drill", "stop_sign", "preparing"];

/// What the trouble tables refer to in the rest of the file.
pub(super) struct Known<'a, 't> {
    names: &'a Names<'t>,
    part_of: HashMap<&'a str, &'a Part>,
    spare_of: HashMap<&'a str, &'a Spare>,
    lived: HashSet<&'a str>,
}

impl<'a, 't> Known<'a, 't> {
    /// Gathers it. In reverse, so that the first of two things of one name stays.
    pub(super) fn new(
        names: &'a Names<'t>,
        parts: &'a [Part],
        spares: &'a [Spare],
        lives: &'a [PriorLife],
    ) -> Self {
        Self {
            names,
            part_of: parts.iter().rev().map(|part| (part.id.as_str(), part)).collect(),
            spare_of: spares.iter().rev().map(|spare| (spare.id.as_str(), spare)).collect(),
            lived: lives.iter().map(|life| life.slot.as_str()).collect(),
        }
    }

    /// The parts of these slots, as far as they are known.
    fn parts<'s>(&self, slots: impl IntoIterator<Item = &'s crate::id::SlotId>) -> Vec<&'a Part> {
        slots.into_iter().filter_map(|slot| self.part_of.get(slot.as_str()).copied()).collect()
    }
}

/// One list as it was read: where each thing stands in the file, and whether all of it could be read.
struct Listed<T> {
    things: Vec<T>,
    at: Vec<Range<usize>>,
    sound: bool,
}

/// Reads every table of one kind.
fn listed<'a, 't, T>(
    top: &Form<'a, 't>,
    key: &'static str,
    mut read: impl FnMut(&mut Form<'a, 't>) -> T,
) -> Listed<T> {
    let mut list = Listed { things: Vec::new(), at: Vec::new(), sound: true };
    let before = top.desk.count();
    for mut form in top.forms(key) {
        list.things.push(read(&mut form));
        list.at.push(form.place("id"));
        form.finish();
    }
    list.sound = top.desk.count() == before;
    list
}

/// Reads the trouble tables; a file without any of them knows no troubles, which is no fault.
pub(super) fn trouble(top: &Form<'_, '_>, known: &Known<'_, '_>) -> Trouble {
    // Every key is asked for, so that none of them counts as unknown.
    if TABLES.iter().filter(|key| top.has(key)).count() == 0 {
        return Trouble::default();
    }
    let symptoms = listed(top, "symptom", |form| symptom::symptom(form, known));
    let causes = listed(top, "cause", |form| cause::cause(form, known));
    let conditions = listed(top, "condition", |form| cause::condition(form, known));
    let accesses = listed(top, "access", |form| check::access(form, known));
    let checks = listed(top, "check", |form| check::check(form, known, &accesses.things));
    let remedies = listed(top, "remedy", |form| remedy::remedy(form, known, &accesses.things));
    let drills = listed(top, "drill", |form| drill::drill(form, known));
    let stop_signs = listed(top, "stop_sign", |form| drill::stop_sign(form, known));
    let preparing = drill::preparing(top, known);
    let read = proof::Read { symptoms, causes, conditions, accesses, checks, remedies, drills, stop_signs };
    proof::prove(top, &read);
    read.trouble(preparing)
}
