//! `machines`: the machines, or one of them.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Outcome},
    print,
};
use clap::Args;

/// How many weeks of running a machine's sheet shows.
const WEEKS: u16 = 26;

/// The machines, or one of them
#[derive(Debug, Args)]
pub struct Machines {
    /// This machine: its clocks, parts, readings, faults and history
    machine: Option<String>,
}

impl Machines {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        match &self.machine {
            Some(machine) => one(common, &desk, machine),
            None => all(common, &desk),
        }
    }
}

fn all(common: &Common, desk: &Desk) -> Outcome {
    let answer = booth::machines(&desk.booth, &desk.library, &desk.now);
    if common.json {
        return print::json(&views::json::machines(&answer));
    }
    print::sheet(&views::machines::sheet(&answer, &desk.booth, desk.today()))
}

fn one(common: &Common, desk: &Desk, machine: &str) -> Outcome {
    let sheet =
        booth::machine_sheet(&desk.booth, &desk.library, machine, &desk.now).map_err(Failure::not_known)?;
    if common.json {
        return print::json(&views::json::machine(&sheet));
    }
    let weeks = booth::hours_by_week(&desk.booth, machine, WEEKS, &desk.now).map_err(Failure::not_known)?;
    let history = booth::history(&desk.booth, machine, None).map_err(Failure::not_known)?;
    let answers =
        views::machines::MachineAnswers { sheet: &sheet, weeks: &weeks.value, history: &history.value };
    print::sheet(&views::machines::machine_sheet(&answers, &desk.booth, desk.today()))
}
