//! `fault mark`: made safe, the show is over, handed over.

use super::common::{Did, at_desk, say, word, write};
use crate::{cli::Common, desk::Desk, failure::Outcome};
use clap::Args;
use logbook::{
    PersonId,
    fact::{FaultMark, FaultMarked},
};

/// Say that the machine is safe, the show is over, or who goes on
#[derive(Debug, Args)]
pub struct Mark {
    /// The fault, or the beginning of its name
    fault: String,
    /// made-safe, done-at-once, show-runs, show-over or handed-over
    #[arg(value_name = "MARK")]
    what: String,
    /// To whom it is handed over
    #[arg(long, value_name = "PERSON")]
    to: Option<String>,
    /// In words
    #[arg(long, default_value = "")]
    note: String,
}

/// What can be marked.
pub const MARKS: [(&str, FaultMark); 5] = [
    ("made-safe", FaultMark::MadeSafe),
    ("done-at-once", FaultMark::DoneAtOnce),
    ("show-runs", FaultMark::ShowRuns),
    ("show-over", FaultMark::ShowOver),
    ("handed-over", FaultMark::HandedOver),
];

impl Mark {
    /// Writes it, and says what comes next.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let mark = word("the mark", &self.what, &MARKS)?;
        let fault = at_desk(&desk, &self.fault)?.id.clone();
        let to = self.to.as_ref().map(PersonId::new);
        let fact = FaultMarked { fault: fault.clone(), mark, to, note: self.note.clone() };
        let entry = write(common, &desk, fact)?;
        say(common, &mut desk, &fault, &Did { entry: Some(entry), ..Did::default() })
    }
}
