//! Boothwright on the command line: parse, ask, print. The only clock, the only exit codes.

mod cli;
mod clock;
mod desk;
mod failure;
mod own_types;
mod print;
mod verbs;

use clap::Parser;
use cli::{Cli, Verb};
use failure::{Failure, Kind, Outcome};
use std::{
    panic::{self, AssertUnwindSafe},
    process::ExitCode,
};

fn main() -> ExitCode {
    panic::set_hook(Box::new(|broke| print::aside(&format!("boothwright: a fault of the program: {broke}"))));
    let cli = Cli::parse();
    // Nothing is used again after a panic: every verb reads its folder anew.
    let done = panic::catch_unwind(AssertUnwindSafe(|| run(&cli))).unwrap_or_else(|_| {
        Err(Failure::new(Kind::Program, "this could not be worked out, and it is not your fault")
            .hinted("the logbook is whole; `boothwright logbook verify` says so, and the line above helps to mend the program"))
    });
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.report(),
    }
}

fn run(cli: &Cli) -> Outcome {
    clock::check()?;
    let common = &cli.common;
    match &cli.verb {
        Verb::Demo(verb) => verb.run(common),
        Verb::Serve(verb) => verb.run(common),
        Verb::Tonight(verb) => verb.run(common),
        Verb::Due(verb) => verb.run(common),
        Verb::Hindsight(verb) => verb.run(common),
        Verb::Machines(verb) => verb.run(common),
        Verb::Walk(verb) => verb.run(common),
        Verb::Logbook(verb) => verb.run(common),
        Verb::Types(verb) => verb.run(common),
        Verb::Sound(verb) => verb.run(common),
        Verb::Fault(verb) => verb.run(common),
        Verb::Lives(verb) => verb.run(common),
        Verb::Stores(verb) => verb.run(common),
        Verb::Prints(verb) => verb.run(common),
        Verb::Film(verb) => verb.run(common.json),
        Verb::Programme(verb) => verb.run(common),
        Verb::Show(verb) => verb.run(common),
        Verb::Venue(verb) => verb.run(common),
        Verb::Prove(verb) => verb.run(common),
        Verb::Plan(verb) => verb.run(common),
        Verb::Completions(verb) => verb.run(),
        Verb::Manual(verb) => verb.run(),
    }
}
