//! `manual`: the manual pages.

use crate::{
    cli::Cli,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::{Args, CommandFactory};
use std::path::PathBuf;

/// Write the manual pages into a folder
#[derive(Debug, Args)]
pub struct Manual {
    /// The folder; it is made if it is not there
    #[arg(value_name = "DIR")]
    to: PathBuf,
}

impl Manual {
    /// Writes them.
    pub fn run(&self) -> Outcome {
        std::fs::create_dir_all(&self.to)
            .and_then(|()| clap_mangen::generate_to(Cli::command(), &self.to))
            .map_err(|error| {
            Failure::new(Kind::World, format!("cannot write manual pages to {}: {error}", self.to.display()))
        })?;
        print::text(&format!("The manual pages are in {}.\n", self.to.display()))
    }
}
