//! `lives show`: how long the booth's parts last, and where each stands.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::{
    KeptBeliefs,
    parts_lives::{DARK_MINUTE_WORTH, Only, read_dark_minute},
};
use clap::Args;

/// How long the booth's parts last, when to change them, and where each fitted one stands
#[derive(Debug, Args)]
pub struct Show {
    /// Only parts of this slot, such as `lamp`, with their curve
    slot: Option<String>,
    /// Only machines of this type
    #[arg(long, value_name = "TYPE")]
    machine_type: Option<String>,
    /// What a minute of dark screen is worth in minutes of work
    #[arg(long, value_name = "MINUTES", default_value_t = DARK_MINUTE_WORTH, value_parser = read_dark_minute)]
    dark_minute: f64,
}

impl Show {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let kept = KeptBeliefs::default();
        let only = Only { kind: self.machine_type.as_deref(), slot: self.slot.as_deref() };
        let asked = booth::parts_lives(&desk.booth, &desk.library, &desk.now, &kept, only, self.dark_minute);
        let answer = asked.map_err(|unknown| Failure::new(Kind::Usage, unknown))?;
        if common.json {
            return print::json(&views::json::parts_lives(&answer));
        }
        print::sheet(&match self.slot {
            Some(_) => views::parts_lives::part_sheet(&answer, &desk.booth),
            None => views::parts_lives::sheet(&answer, &desk.booth),
        })
    }
}
