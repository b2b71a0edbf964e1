//! `fault close`: a fault is dealt with.

use super::common::{Did, at_desk, say, write};
use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Outcome},
};
use booth::desk::{NextStep, OpenFault, find_cause, find_remedy};
use clap::Args;
use logbook::{
    Fact, When,
    booth::FaultDeed,
    fact::{CareDone, FaultClosed, Outcome as Found, RemedyResult},
    ids::{CauseId, RemedyId, TaskId},
};

/// Close a fault, with its cause and remedy
#[derive(Debug, Args)]
pub struct Close {
    /// The fault, or the beginning of its name
    fault: String,
    /// What it was: the id of a cause, or words of it; left out: nobody knows
    #[arg(long)]
    cause: Option<String>,
    /// What mended it: the id of a remedy, or words of it; left out: the one that helped
    #[arg(long)]
    remedy: Option<String>,
    /// More about it, in words
    #[arg(long, default_value = "")]
    note: String,
}

impl Close {
    /// Closes it; the care that the remedies count as is written as done.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let (fact, care) = {
            let open = at_desk(&desk, &self.fault)?;
            (self.fact(&open)?, care(&open))
        };
        let fault = fact.fault.clone();
        let entry = write(common, &desk, fact)?;
        for (at, done) in care {
            desk.write(desk.who(common)?, at, done)?;
        }
        say(common, &mut desk, &fault, &Did { entry: Some(entry), ..Did::default() })
    }

    fn fact(&self, open: &OpenFault<'_>) -> Result<FaultClosed, Failure> {
        let cause = self.cause.as_deref().map(|asked| find_cause(open.kind, asked)).transpose()?;
        let helped = match open.sheet().next {
            NextStep::Close(close) => Some(close.remedy.id),
            _ => None,
        };
        let asked = self.remedy.clone().or(helped);
        let remedy = asked.as_deref().map(|asked| find_remedy(open.kind, asked)).transpose()?;
        let cure = remedy.map_or(String::new(), |remedy| remedy.name.clone());
        let cure = [cure.as_str(), self.note.as_str()].into_iter().filter(|words| !words.is_empty());
        Ok(FaultClosed {
            fault: open.id.clone(),
            cause: cause.map_or(String::new(), |cause| cause.name.clone()),
            cure: cure.collect::<Vec<_>>().join(". "),
            cause_id: cause.map(|cause| CauseId::new(cause.id.as_str())),
            remedy_id: remedy.map(|remedy| RemedyId::new(remedy.id.as_str())),
        })
    }
}

/// The care that counts as done with the remedies that were done, each at its moment.
fn care(open: &OpenFault<'_>) -> Vec<(When, Fact)> {
    let mut care = Vec::new();
    for step in &open.fault.steps {
        let FaultDeed::Tried { remedy, result, .. } = &step.deed else { continue };
        let Some(remedy) = open.kind.trouble.remedy(remedy.as_str()) else { continue };
        if *result == RemedyResult::Skipped {
            continue;
        }
        for task in &remedy.care {
            let done = CareDone {
                machine: open.machine.clone(),
                task: TaskId::new(task.as_str()),
                slot: None,
                outcome: Found::Done,
                note: format!("with fault {}", open.id),
                minutes: None,
                includes: Vec::new(),
                used: Vec::new(),
                photos: Vec::new(),
                walk: String::new(),
            };
            care.push((step.at, done.into()));
        }
    }
    care
}
