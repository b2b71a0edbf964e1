//! `due`: what care is due, when, and before which showing.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Outcome},
    print,
};
use clap::Args;

/// What care is due, when, and before which showing
#[derive(Debug, Args)]
pub struct Due {
    /// Only this machine, also if it may not be used
    machine: Option<String>,
}

impl Due {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let mut answer = match &self.machine {
            Some(machine) => {
                booth::due_for(&desk.booth, &desk.library, machine, &desk.now).map_err(Failure::not_known)?
            }
            None => booth::due(&desk.booth, &desk.library, &desk.now),
        };
        if common.json {
            return print::json(&views::json::due(&answer));
        }
        booth::by_urgency(&mut answer.value);
        print::sheet(&views::due::sheet(&answer, &desk.booth, desk.today()))
    }
}
