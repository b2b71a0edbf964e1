//! `logbook`: write, read, check, move and save the entries.

pub(super) mod add;
mod backup;
mod begin;
mod export;
mod import;
mod list;
mod restore;
mod verify;

use crate::{cli::Common, failure::Outcome};
use clap::{Args, Subcommand};

/// Write, read, check, move and save the logbook
#[derive(Debug, Args)]
pub struct Logbook {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Begin a booth's logbook: its name, its time zone, its keeper
    Begin(begin::Begin),
    /// Write an entry
    Add(add::Add),
    /// List entries, the latest first
    List(list::List),
    /// Bring in a spreadsheet (CSV) or another logbook (JSON Lines)
    Import(import::Import),
    /// Write the whole logbook as JSON Lines (nothing is lost) or CSV (to look at)
    Export(export::Export),
    /// Recompute the hash chain of every device and say what was altered, lost or put elsewhere
    Verify(verify::Verify),
    /// Save logbook and attachments, also while serving
    Backup(backup::Backup),
    /// Put a backup back
    Restore(restore::Restore),
}

impl Logbook {
    /// Does it.
    pub fn run(&self, common: &Common) -> Outcome {
        match &self.what {
            What::Begin(verb) => verb.run(common),
            What::Add(verb) => verb.run(common),
            What::List(verb) => verb.run(common),
            What::Import(verb) => verb.run(common),
            What::Export(verb) => verb.run(common),
            What::Verify(verb) => verb.run(common),
            What::Backup(verb) => verb.run(common),
            What::Restore(verb) => verb.run(common),
        }
    }
}
