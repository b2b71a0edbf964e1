//! Care that belongs together: the machine is prepared once and opened once.

use super::item::DueItem;
use logbook::MachineId;
use machine::{Hand, MachineState, MachineType, PartGroup};
use rustc_hash::FxHashMap;
use serde::Serialize;

/// Care of one machine that shares its preparation and the part of the machine that lies open.
#[derive(Clone, Debug, Serialize)]
pub struct Session<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// Its type.
    #[serde(skip)]
    pub kind: &'a MachineType,
    /// In which state it must be.
    pub state: MachineState,
    /// Which part of it lies open.
    pub group: Option<PartGroup>,
    /// True if some of it wants a qualified technician.
    pub needs_technician: bool,
    /// The minutes of all of it.
    pub minutes: f64,
    /// The care, in film-path order.
    pub items: Vec<DueItem<'a>>,
}

/// Groups care into bench sessions, the session with the most pressing care first.
///
/// Two tasks belong together when they want the same machine in the same state with the same part of it open, and the
/// same hands may do them. A single task is a session too.
pub fn together<'a>(items: &[DueItem<'a>]) -> Vec<Session<'a>> {
    let mut sessions: Vec<Session<'a>> = Vec::new();
    let mut found = FxHashMap::default();
    for item in items {
        let group = item.part().map(|part| part.group);
        let technician = item.task.who == Hand::Technician;
        let at = *found.entry((item.machine, item.task.state, group, technician)).or_insert(sessions.len());
        match sessions.get_mut(at) {
            Some(session) => session.add(item),
            None => sessions.push(Session::of(item, group, technician)),
        }
    }
    sessions.sort_by_key(|session| session.items.iter().map(|item| item.state).min());
    sessions
}

impl<'a> Session<'a> {
    fn of(item: &DueItem<'a>, group: Option<PartGroup>, needs_technician: bool) -> Self {
        Self {
            machine: item.machine,
            kind: item.kind,
            state: item.task.state,
            group,
            needs_technician,
            minutes: item.task.minutes(),
            items: vec![*item],
        }
    }

    fn add(&mut self, item: &DueItem<'a>) {
        self.minutes += item.task.minutes();
        self.items.push(*item);
    }
}
