//! `sound trend`: where a quantity of a machine is heading.

use super::picture::draw;
use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Outcome},
    print,
};
use clap::Args;
use std::path::PathBuf;

/// Where a quantity of a machine is heading, and before which showing to act
#[derive(Debug, Args)]
pub struct Trend {
    /// The machine
    machine: String,
    /// The quantity, as `types show` names it
    #[arg(default_value = "flutter-weighted")]
    quantity: String,
    /// The slot of the part that was read, for a quantity that parts have of their own; left out: that of the last reading
    #[arg(long, value_name = "SLOT")]
    part: Option<String>,
    /// Draw it into this file (`.svg`, or `.png` for programs that show no SVG)
    #[arg(long, value_name = "FILE.svg|png")]
    plot: Option<PathBuf>,
}

impl Trend {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let part = self.part.as_deref();
        let answer =
            booth::sound::trend(&desk.booth, &desk.library, &self.machine, &self.quantity, part, &desk.now)
                .map_err(Failure::not_known)?;
        let today = desk.today();
        if let Some(plot) = &self.plot {
            draw(plot, &views::plot::trend::trend(&answer.value, today))?;
        }
        if common.json {
            return print::json(&views::sound::json::trend(&answer));
        }
        print::sheet(&views::sound::trend(&answer, today))
    }
}
