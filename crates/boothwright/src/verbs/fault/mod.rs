//! `fault`: from what is seen and heard to the cause.

mod posterior;

use crate::failure::Outcome;
use clap::{Args, Subcommand};

/// From what is seen and heard to the cause
#[derive(Debug, Args)]
pub struct Fault {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Exact chances in any discrete Bayesian network, given what was observed
    Posterior(posterior::Posterior),
}

impl Fault {
    /// Does it.
    pub fn run(&self, as_json: bool) -> Outcome {
        match &self.what {
            What::Posterior(verb) => verb.run(as_json),
        }
    }
}
