//! The command line's words. One verb, one file in `verbs/`.

use crate::verbs;
use clap::{Args, Parser, Subcommand};
use jiff::civil::Date;
use std::path::PathBuf;

/// Keeps a booth's film projectors fit and every programme on the screen
#[derive(Debug, Parser)]
#[command(name = "boothwright", version, propagate_version = true)]
pub struct Cli {
    /// What holds for every verb.
    #[command(flatten)]
    pub common: Common,
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
}

/// What holds for every verb.
#[derive(Debug, Args)]
pub struct Common {
    /// Folder of the logbook (left out: this user's data folder)
    #[arg(long, global = true, value_name = "DIR", env = "BOOTHWRIGHT_DATA")]
    pub data: Option<PathBuf>,
    /// Answer as JSON
    #[arg(long, global = true)]
    pub json: bool,
    /// Answer as of the end of this day, from what had been written by then
    #[arg(long, global = true, value_name = "DATE", value_parser = day)]
    pub as_of: Option<Date>,
    /// Who writes entries, by the short name in the logbook
    #[arg(long, global = true, value_name = "PERSON", env = "BOOTHWRIGHT_WHO")]
    pub who: Option<String>,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Make an invented booth and serve it; your own data is left alone
    Demo(verbs::demo::Demo),
    /// Serve the pages of your booth on this computer
    Serve(verbs::serve::Serve),
    /// What to know and do before the coming showings
    Tonight(verbs::tonight::Tonight),
    /// Hold the chances given before past showings against what came
    Hindsight(verbs::hindsight::Hindsight),
    /// What care is due, when, and before which showing
    Due(verbs::due::Due),
    /// The machines, or one of them
    Machines(verbs::machines::Machines),
    /// Walk the film path of a machine, step by step
    Walk(verbs::walk::Walk),
    /// Write, read, check, move and save the logbook
    Logbook(verbs::logbook::Logbook),
    /// Kinds of machines: list, show, check a file
    Types(verbs::types::Types),
    /// Measure a recording of a test film, or make a test signal
    Sound(verbs::sound::Sound),
    /// From what is seen and heard to the cause of a fault
    Fault(verbs::fault::Fault),
    /// Which machine for which showing, and when to do which work
    Plan(verbs::plan::Plan),
    /// Play simulated booths over years by several policies
    Prove(verbs::prove::Prove),
    /// How long parts last, when to change them, how many spares to hold
    Lives(verbs::lives::Lives),
    /// What there is of each spare, what is on order, what to order now
    Stores(verbs::stores::Stores),
    /// The prints: what state each reel is in, and whether it may be shown
    Prints(verbs::prints::Prints),
    /// Sums of footage, time, reels and sound advance
    Film(verbs::film::Film),
    /// Programmes of reels: running times, changeovers, take-up
    Programme(verbs::programme::Programme),
    /// A show: what runs, what is left, and the report when it is over
    Show(verbs::show::Show),
    /// Set up a hall: lens, light, seats, sound, power
    Venue(verbs::venue::Venue),
    /// Write the completions of a shell
    Completions(verbs::completions::Completions),
    /// Write the manual pages into a folder
    Manual(verbs::manual::Manual),
}

/// Reads a day, and shows one where that cannot be done.
pub fn day(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| "write a day of the calendar, for example 2026-03-07".to_owned())
}
