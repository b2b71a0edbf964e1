//! The machine types that a booth knows, and the files of its own that could not be read.

use crate::id::TypeId;
use crate::machine_type::MachineType;
use indexmap::IndexMap;
use serde::Serialize;
use std::{fmt, sync::Arc};

/// The machine types that a booth knows, by id. Cheap to clone: the types themselves are shared.
#[derive(Debug, Clone, Default)]
pub struct Library {
    types: IndexMap<TypeId, Arc<MachineType>>,
    broken: Arc<Vec<BrokenType>>,
}

/// A booth's own type file that could not be read, and what stands in for it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BrokenType {
    /// The file.
    pub file: String,
    /// The line of the first fault, where it is text.
    pub line: Option<usize>,
    /// What is wrong there, and what would be right.
    pub what: String,
    /// The type that stands in, with its edition: the file as it was when it could be read last.
    pub stands_in: Option<(TypeId, u32)>,
}

impl fmt::Display for BrokenType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        write!(f, ": {}. ", self.what)?;
        match &self.stands_in {
            Some((id, edition)) => write!(
                f,
                "Until that is mended `{id}` stands in as it was read last (edition {edition}); go on with that"
            ),
            None => write!(
                f,
                "It was never read whole before, so nothing stands in: mend it, or go on with a type that is shipped"
            ),
        }
    }
}

impl Library {
    /// Gathers types; a later one replaces an earlier one of the same id.
    pub fn of(types: impl IntoIterator<Item = MachineType>) -> Self {
        let types = types.into_iter().map(|kind| (kind.id.clone(), Arc::new(kind))).collect();
        Self { types, broken: Arc::default() }
    }

    /// Adds a type, or replaces the one of the same id, which is returned.
    pub fn add(&mut self, kind: MachineType) -> Option<Arc<MachineType>> {
        self.types.insert(kind.id.clone(), Arc::new(kind))
    }

    /// Notes a file that could not be read.
    pub fn note_broken(&mut self, broken: BrokenType) {
        Arc::make_mut(&mut self.broken).push(broken);
    }

    /// The files that could not be read.
    pub fn broken(&self) -> &[BrokenType] {
        &self.broken
    }

    /// The file for which a type stands in, if it does.
    pub fn stands_in_for(&self, id: &str) -> Option<&BrokenType> {
        self.broken
            .iter()
            .find(|broken| broken.stands_in.as_ref().is_some_and(|(known, _)| known.as_str() == id))
    }

    /// The type of this id.
    pub fn get(&self, id: &str) -> Option<&MachineType> {
        self.types.get(id).map(AsRef::as_ref)
    }

    /// All types, in the order in which they came.
    pub fn iter(&self) -> impl Iterator<Item = &MachineType> {
        self.types.values().map(AsRef::as_ref)
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.types.len()
    }

    /// True if there is none.
    pub fn is_empty(&self) -> bool {
        self.types.is_empty()
    }
}
