//! Names that a question was asked about and that nobody knows.

use logbook::{Booth, MachineId, booth::Machine};
use machine::{Library, MachineType};

/// A name that is not known.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum NotKnown {
    /// The logbook has no such machine.
    #[error("no machine is called `{asked}` in this logbook; {known}")]
    Machine {
        /// The name that was asked for.
        asked: String,
        /// Which there are, in words.
        known: String,
    },
    /// Several machines go by that name.
    #[error("{known} are all called `{asked}`; name one of these")]
    SeveralMachines {
        /// The name that was asked for.
        asked: String,
        /// Their short names, in words.
        known: String,
    },
    /// The machine's type is not among the known types.
    #[error("`{machine}` is of the type `{machine_type}`, which is not among the known types; {known}")]
    Type {
        /// The machine.
        machine: String,
        /// Its type.
        machine_type: String,
        /// Which there are, in words.
        known: String,
    },
    /// The machine's type has no such slot.
    #[error("a machine of the type `{machine_type}` has no slot `{asked}`; {known}")]
    Slot {
        /// The type.
        machine_type: String,
        /// The name that was asked for.
        asked: String,
        /// Which there are, in words.
        known: String,
    },
    /// No machine of the booth is of such a type.
    #[error("no machine of this booth is of the type `{asked}`; {known}")]
    TypeOfNone {
        /// The name that was asked for.
        asked: String,
        /// Which there are, in words.
        known: String,
    },
    /// No part of such a slot has a life of its own.
    #[error("no life is known of a part in a slot `{asked}`; {known}")]
    Life {
        /// The name that was asked for.
        asked: String,
        /// Which there are, in words.
        known: String,
    },
    /// No such showing is still to come.
    #[error("no coming showing is called `{asked}`; {known}")]
    Showing {
        /// The name that was asked for.
        asked: String,
        /// Which there are, in words.
        known: String,
    },
    /// Neither the stores nor a machine type has such an item.
    #[error("nothing in the stores is called `{asked}`, and no machine type names it; {known}")]
    Item {
        /// The name that was asked for.
        asked: String,
        /// Which there are, in words.
        known: String,
    },
    /// Nothing is known of such a quantity.
    #[error("a machine of the type `{machine_type}` has no reading `{asked}`; {known}")]
    Quantity {
        /// The type.
        machine_type: String,
        /// The name that was asked for.
        asked: String,
        /// Which there are, in words.
        known: String,
    },
}

impl NotKnown {
    /// No showing of this name stands in the diary.
    pub(crate) fn showing(asked: &str, coming: &[crate::coming::Coming<'_>]) -> Self {
        let known = known_names(asked, coming.iter().map(|coming| coming.id.as_str()));
        Self::Showing { asked: asked.to_owned(), known }
    }
}

/// How many names a message lists.
const MOST_NAMES: usize = 12;

/// Says which names there are, the nearest to what was asked for first.
pub(crate) fn known_names<'n>(asked: &str, names: impl Iterator<Item = &'n str>) -> String {
    let mut names: Vec<&str> = names.collect();
    names.sort_by_key(|name| std::cmp::Reverse(common_letters(asked, name)));
    match names.len() {
        0 => "there is none yet".to_owned(),
        n if n <= MOST_NAMES => format!("there are {}", names.join(", ")),
        n => format!("there are {} and {} more", names[..MOST_NAMES].join(", "), n - MOST_NAMES),
    }
}

/// How many letters two names share at their beginnings: enough to bring the likely ones to the front.
fn common_letters(a: &str, b: &str) -> usize {
    a.chars().zip(b.chars()).take_while(|(a, b)| a.eq_ignore_ascii_case(b)).count()
}

/// Finds a machine by its short name, or else the one that people call so, however they write it large or small.
pub(crate) fn find_machine<'a>(
    booth: &'a Booth,
    asked: &str,
) -> Result<(usize, &'a MachineId, &'a Machine), NotKnown> {
    if let Some(found) = booth.machines.get_full(asked) {
        return Ok(found);
    }
    let called = asked.to_lowercase();
    let all = booth.machines.iter().filter(|(_, machine)| machine.name.to_lowercase() == called);
    let all: Vec<&str> = all.map(|(id, _)| id.as_str()).collect();
    let asked = asked.to_owned();
    match all.as_slice() {
        [one] => Ok(booth.machines.get_full(*one).expect("its name was just read there")),
        [] => {
            let known = known_names(&asked, booth.machines.keys().map(MachineId::as_str));
            Err(NotKnown::Machine { asked, known })
        }
        several => Err(NotKnown::SeveralMachines { asked, known: crate::words::listed(several) }),
    }
}

/// Returns the short name of a machine that is asked for by it, or by what people call it. One that nothing goes by is
/// handed back as it is: the gate says what is wrong with it.
///
/// # Errors
/// Where several machines are called so.
pub fn machine_called(booth: &Booth, asked: &str) -> Result<MachineId, NotKnown> {
    match find_machine(booth, asked) {
        Ok((_, id, _)) => Ok(id.clone()),
        Err(NotKnown::Machine { asked, .. }) => Ok(MachineId::new(asked)),
        Err(several) => Err(several),
    }
}

/// Finds the type of a machine.
pub(crate) fn find_type<'a>(
    library: &'a Library,
    id: &MachineId,
    machine: &Machine,
) -> Result<&'a MachineType, NotKnown> {
    crate::join::type_of(library, machine).ok_or_else(|| NotKnown::Type {
        machine: id.to_string(),
        machine_type: machine.machine_type.to_string(),
        known: known_types(machine.machine_type.as_str(), library),
    })
}

/// The types there are, and the files that should be more of them.
fn known_types(asked: &str, library: &Library) -> String {
    let known = known_names(asked, library.iter().map(|kind| kind.id.as_str()));
    let broken = library.broken().iter().filter(|broken| broken.stands_in.is_none());
    broken.fold(known, |known, broken| format!("{known}. Not read: {broken}"))
}
