//! `completions`: what the shell may complete.

use crate::{cli::Cli, failure::Outcome, print};
use clap::{Args, CommandFactory};

/// Write the completions of a shell
#[derive(Debug, Args)]
pub struct Completions {
    /// The shell
    shell: clap_complete::Shell,
}

impl Completions {
    /// Writes them.
    pub fn run(&self) -> Outcome {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "boothwright", &mut script);
        print::text(&String::from_utf8_lossy(&script))
    }
}
