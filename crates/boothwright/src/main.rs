//! Boothwright on the command line: parse, ask, print. The only clock, the only exit codes.

mod cli;
mod clock;
mod desk;
mod failure;
mod print;
mod verbs;

use clap::Parser;
use cli::{Cli, Verb};
use std::process::ExitCode;

fn main() -> ExitCode {
    let cli = Cli::parse();
    if let Err(failure) = clock::check() {
        return failure.report();
    }
    let common = &cli.common;
    let done = match &cli.verb {
        Verb::Demo(verb) => verb.run(common),
        Verb::Serve(verb) => verb.run(common),
        Verb::Tonight(verb) => verb.run(common),
        Verb::Due(verb) => verb.run(common),
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
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.report(),
    }
}
