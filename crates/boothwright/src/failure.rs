//! What can go wrong at the edge, whose fault it is, and the exit code that says so to a script.

use crate::print;
use std::{fmt, process::ExitCode};

/// Whose fault a failure is. The numbers are a promise to scripts; docs/command-line.md lists them.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// What was asked found something that is not in order (an altered entry, a faulty type file).
    Found,
    /// The words or values on the command line are off (clap's own code, too).
    Usage,
    /// A draft, file or row was refused.
    Refused,
    /// The data folder cannot be used.
    Data,
    /// The world gave way: a port in use, a disk that is full.
    World,
    /// The program itself broke.
    Program,
}

impl Kind {
    /// Returns the exit code.
    pub fn code(self) -> u8 {
        match self {
            Self::Found => 1,
            Self::Usage => 2,
            Self::Refused => 3,
            Self::Data => 4,
            Self::World => 5,
            Self::Program => 6,
        }
    }
}

/// A failure that ends the command.
#[derive(Debug)]
pub struct Failure {
    /// Whose fault.
    pub kind: Kind,
    /// What was wrong, and where.
    pub what: String,
    /// What to do next.
    pub hint: Option<String>,
}

impl Failure {
    /// Makes a failure.
    pub fn new(kind: Kind, what: impl fmt::Display) -> Self {
        Self { kind, what: what.to_string(), hint: None }
    }

    /// A question was asked about a name that nobody knows.
    pub fn not_known(error: booth::NotKnown) -> Self {
        Self::new(Kind::Usage, error)
    }

    /// Adds what to do next.
    #[must_use]
    pub fn hinted(self, hint: impl fmt::Display) -> Self {
        Self { hint: Some(hint.to_string()), ..self }
    }

    /// Says it on the error stream and returns the exit code.
    pub fn report(&self) -> ExitCode {
        print::aside(&format!("boothwright: {}", self.what));
        if let Some(hint) = &self.hint {
            print::aside(&format!("  {hint}"));
        }
        ExitCode::from(self.kind.code())
    }
}

impl From<store::StoreError> for Failure {
    fn from(error: store::StoreError) -> Self {
        Self::new(Kind::Data, error)
    }
}

impl From<logbook::Refusal> for Failure {
    fn from(refusal: logbook::Refusal) -> Self {
        Self::new(Kind::Refused, format!("`{}`: {}", refusal.field, refusal.what))
            .hinted(refusal.would_be_right)
    }
}

/// What a verb returns.
pub type Outcome = Result<(), Failure>;
