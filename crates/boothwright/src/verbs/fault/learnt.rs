//! `fault learnt`: what closed faults taught.

use crate::{cli::Common, desk::Desk, failure::Outcome, print};
use booth::desk::{learnt, type_change};
use clap::Args;

/// What closed faults taught, as a change of the type's file
#[derive(Debug, Args)]
pub struct Learnt {
    /// A machine, or a kind of machine as `types list` gives it
    about: String,
    /// As tables of a type file, ready to be put in the place of those with the same ids
    #[arg(long)]
    toml: bool,
}

impl Learnt {
    /// Says it.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let (kind, model, here) = learnt(&desk.booth, &desk.library, &self.about)?;
        let change = type_change(kind, &model, &here);
        if common.json {
            return print::json(&serde_json::json!({
                "machine_type": kind.id.as_str(),
                "cases": here.cases,
                "hours_run": here.hours_run,
                "figures": here.figures,
                "type_change": change,
            }));
        }
        if self.toml { print::text(&change) } else { print::sheet(&views::desk::learnt(kind, &here)) }
    }
}
