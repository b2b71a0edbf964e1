//! `fault`: from what is seen and heard to the cause.

mod answer;
mod close;
mod common;
mod learnt;
mod look;
mod mark;
mod posterior;
mod request;
mod start;
mod tried;
mod undo;
mod work;

use crate::{cli::Common, failure::Outcome};
use clap::{Args, Subcommand};

/// From what is seen and heard to the cause
#[derive(Debug, Args)]
pub struct Fault {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Open a fault by what is seen, heard or smelt
    Start(start::Start),
    /// Answer a question or check
    Answer(answer::Answer),
    /// Say what a remedy did
    Tried(tried::Tried),
    /// Say that the machine is safe, the show is over, or who goes on
    Mark(mark::Mark),
    /// What to do next
    Next(look::Next),
    /// Why: the odds, what changed them, what each step is worth
    Explain(look::Explain),
    /// Take back the last answer
    Undo(undo::Undo),
    /// Step by step, asking and answering at the terminal
    Work(work::Work),
    /// Close a fault, with its cause and remedy
    Close(close::Close),
    /// The faults that are open
    List(look::List),
    /// Write the request for repair
    Request(request::Request),
    /// What can be noticed at a machine
    Symptoms(look::Symptoms),
    /// What closed faults taught, as a change of the type's file
    Learnt(learnt::Learnt),
    /// Exact chances in any discrete Bayesian network, given what was observed
    Posterior(posterior::Posterior),
}

impl Fault {
    /// Does it.
    pub fn run(&self, common: &Common) -> Outcome {
        match &self.what {
            What::Start(verb) => verb.run(common),
            What::Answer(verb) => verb.run(common),
            What::Tried(verb) => verb.run(common),
            What::Mark(verb) => verb.run(common),
            What::Next(verb) => verb.run(common),
            What::Explain(verb) => verb.run(common),
            What::Undo(verb) => verb.run(common),
            What::Work(verb) => verb.run(common),
            What::Close(verb) => verb.run(common),
            What::List(verb) => verb.run(common),
            What::Request(verb) => verb.run(common),
            What::Symptoms(verb) => verb.run(common),
            What::Learnt(verb) => verb.run(common),
            What::Posterior(verb) => verb.run(common.json),
        }
    }
}
