//! `tonight`: what to know and do before the coming showings.

use crate::{cli::Common, desk::Desk, failure::Outcome, print};
use clap::Args;

/// What to know and do before the coming showings
#[derive(Debug, Args)]
pub struct Tonight {}

impl Tonight {
    /// Answers.
    #[expect(clippy::unused_self, reason = "every verb runs the same way")]
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let answer = booth::tonight(&desk.booth, &desk.library, &desk.now);
        if common.json {
            return print::json(&views::json::tonight(&answer));
        }
        print::sheet(&views::tonight::sheet(&answer, &desk.booth))
    }
}
