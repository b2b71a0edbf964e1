//! What does not add up, gathered on the way.

use crate::{
    Booth, When,
    booth::Query,
    ids::{EntryId, MachineId, PersonId},
};

/// Stand around an id until the end of the fold, when names are known. In what people write they mean nothing.
const PERSON: char = '\u{e000}';
const MACHINE: char = '\u{e001}';
const ENDS: char = '\u{e002}';

/// Names a person in a question, by what they are called in the end.
pub(super) fn person(id: &PersonId) -> String {
    format!("{PERSON}{id}{ENDS}")
}

/// Names a machine in a question, by what it is called in the end.
pub(super) fn machine(id: &MachineId) -> String {
    format!("{MACHINE}{id}{ENDS}")
}

/// Puts names in the place of ids.
fn with_names(what: String, booth: &Booth) -> String {
    if !what.contains(ENDS) {
        return what;
    }
    let pieces = what.split_inclusive([PERSON, MACHINE, ENDS]);
    let mut opened = None;
    let mut said = String::with_capacity(what.len());
    for piece in pieces {
        let words = piece.trim_end_matches([PERSON, MACHINE, ENDS]);
        said.push_str(&match opened {
            Some(PERSON) => booth.person_name(&PersonId::new(words)).to_owned(),
            Some(MACHINE) => booth.machine_name(&MachineId::new(words)).to_owned(),
            _ => words.to_owned(),
        });
        opened = piece.chars().next_back().filter(|last| [PERSON, MACHINE].contains(last));
    }
    said
}

/// The questions so far.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Queries(Vec<Query>);

impl Queries {
    /// Adds a question: what does not add up and how the fold took it; what would settle it.
    pub fn ask(
        &mut self,
        entry: EntryId,
        at: When,
        machine: Option<&MachineId>,
        what: impl Into<String>,
        settle: impl Into<String>,
    ) {
        self.0.push(Query { entry, at, machine: machine.cloned(), what: what.into(), settle: settle.into() });
    }

    /// Returns all questions in order of time, each once, with people and machines by their names.
    pub fn in_order(mut self, booth: &Booth) -> Vec<Query> {
        for query in &mut self.0 {
            query.what = with_names(std::mem::take(&mut query.what), booth);
        }
        self.0.sort_by(|a, b| {
            (a.at.unix_ms, a.entry).cmp(&(b.at.unix_ms, b.entry)).then_with(|| a.what.cmp(&b.what))
        });
        self.0.dedup();
        self.0
    }
}
