//! The fields of a set-up: one table for the page, the command line and the logbook.
//!
//! **The keys are kept in logbooks.** None is renamed or given another meaning; new ones may be added.

mod table;

pub use table::FIELDS;

use film::Gauge;
use units::Metres;
use units::read::ReadError;

use crate::power::conductors;

/// The question a field belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Group {
    /// Film, lens, screen.
    Lens,
    /// Light on the screen.
    Light,
    /// Seats and sight lines.
    Sight,
    /// Loudspeaker and room.
    Sound,
    /// Mains and cable.
    Power,
}

impl Group {
    /// Every group, in the order in which a hall is set up.
    pub const ALL: [Self; 5] = [Self::Lens, Self::Light, Self::Sight, Self::Sound, Self::Power];

    /// The word that the command line uses.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Lens => "lens",
            Self::Light => "light",
            Self::Sight => "sight",
            Self::Sound => "sound",
            Self::Power => "power",
        }
    }

    /// The groups whose fields the question needs beside its own.
    pub const fn also(self) -> &'static [Self] {
        match self {
            Self::Lens | Self::Power => &[],
            Self::Light => &[Self::Lens],
            Self::Sight => &[Self::Lens, Self::Light],
            Self::Sound => &[Self::Lens, Self::Light, Self::Sight],
        }
    }
}

/// Between which bare numbers a quantity makes sense.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    least: f64,
    /// True when the least itself is too little.
    above: bool,
    most: f64,
    /// The limits in words.
    pub right: &'static str,
}

impl Limits {
    pub(crate) fn hold(&self, low: f64, high: f64) -> bool {
        let enough = if self.above { low > self.least } else { low >= self.least };
        enough && high <= self.most
    }
}

/// What is written in a field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A quantity or a range of it.
    Quantity {
        /// The unit that goes without saying, where one does.
        customary: Option<&'static str>,
        /// What makes sense.
        limits: Limits,
    },
    /// A whole number from 1.
    Count {
        /// The most.
        most: u32,
    },
    /// A gauge of film.
    Gauge,
    /// A format of the gauge.
    Format,
    /// One of a list of words: id and name.
    Choice(&'static [(&'static str, &'static str)]),
    /// One of the conductors.
    CableSize,
}

/// One field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// Its key on the page, on the command line and in the logbook.
    pub key: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// What to write, with an example.
    pub hint: &'static str,
    /// The question it belongs to.
    pub group: Group,
    /// What is written in it.
    pub kind: Kind,
}

impl Field {
    /// The ids and names to choose from; none for a field that is written.
    pub fn choices(&self) -> Vec<(&'static str, &'static str)> {
        match self.kind {
            Kind::Choice(choices) => choices.to_vec(),
            Kind::Gauge => Gauge::ALL.iter().map(|gauge| (gauge.id(), gauge.name())).collect(),
            Kind::CableSize => conductors().iter().map(|size| (size.id, size.name)).collect(),
            Kind::Quantity { .. } | Kind::Count { .. } | Kind::Format => Vec::new(),
        }
    }
}

/// Something wrong in one field.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{label}: {problem}")]
pub struct FieldError {
    /// The field's key.
    pub field: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// What is wrong, and what would be right.
    pub problem: FieldProblem,
}

/// What is wrong in a field, and what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FieldProblem {
    /// It cannot be read.
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    /// It makes no sense here.
    #[error("\"{given}\" cannot be; right would be {right}")]
    OutOfRange {
        /// What was written.
        given: String,
        /// What would be right.
        right: &'static str,
    },
    /// It is no whole number.
    #[error("\"{given}\" is not a whole number from 1 to {most}; write for example 12")]
    NotACount {
        /// What was written.
        given: String,
        /// The most.
        most: u32,
    },
    /// It is none of the words.
    #[error("\"{given}\" is not one of {}", ids(choices))]
    UnknownWord {
        /// What was written.
        given: String,
        /// What would be right.
        choices: Vec<(&'static str, &'static str)>,
    },
    /// The gauge has no such format.
    #[error("{gauge} has no format \"{given}\"; it has {known}")]
    NoSuchFormat {
        /// What was written.
        given: String,
        /// The gauge.
        gauge: Gauge,
        /// The formats it has.
        known: String,
    },
    /// It is larger than what it must fit into.
    #[error("{given:.2} {how} is more than {other}, {limit:.2}; correct one of the two")]
    LargerThan {
        /// What was written.
        given: Metres,
        /// In which direction.
        how: &'static str,
        /// What it must fit into.
        other: &'static str,
        /// How large that is.
        limit: Metres,
    },
    /// The edge is brighter than the centre.
    #[error("the edge is more than twice as bright as the centre; are the two readings the right way round?")]
    EdgeBrighter,
}

fn ids(choices: &[(&str, &str)]) -> String {
    choices.iter().map(|(id, _)| *id).collect::<Vec<_>>().join(", ")
}

/// The field of a key.
///
/// # Panics
///
/// When the key is none of [`FIELDS`]: the keys stand in the code of this crate.
pub(crate) fn field(key: &str) -> &'static Field {
    find(key).expect("the key stands in the table of fields")
}

/// The field of a key, if there is one.
pub fn find(key: &str) -> Option<&'static Field> {
    FIELDS.iter().find(|field| field.key == key)
}
