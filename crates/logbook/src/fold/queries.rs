//! What does not add up, gathered on the way.

use crate::{
    When,
    booth::Query,
    ids::{EntryId, MachineId},
};

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

    /// Returns all questions in order of time, each once.
    pub fn in_order(mut self) -> Vec<Query> {
        self.0.sort_by(|a, b| {
            (a.at.unix_ms, a.entry).cmp(&(b.at.unix_ms, b.entry)).then_with(|| a.what.cmp(&b.what))
        });
        self.0.dedup();
        self.0
    }
}
