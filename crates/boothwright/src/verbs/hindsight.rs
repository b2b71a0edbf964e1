//! `hindsight`: what would have been said before past showings, and what came.

use crate::{cli::Common, desk::Desk, failure::Outcome, print};
use clap::Args;
use store::EntryStore;

/// Hold the chances given before past showings against what came
#[derive(Debug, Args)]
pub struct Hindsight {
    /// How many showings to look back at, the last ones; the logbook is folded anew for each
    #[arg(long, value_name = "N", default_value_t = 300)]
    last: usize,
}

impl Hindsight {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let entries = desk.store.entries()?;
        let answer = booth::hindsight(&desk.booth, &entries, &desk.library, &desk.now, self.last);
        if common.json {
            return print::json(&views::json::hindsight(&answer));
        }
        print::sheet(&views::hindsight::sheet(&answer))
    }
}
