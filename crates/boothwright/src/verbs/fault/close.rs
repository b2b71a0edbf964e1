//! `fault close`: a fault is dealt with.

use super::common::{Did, at_desk, say, write};
use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::desk::{NextStep, OpenFault, find_cause, find_remedy};
use clap::Args;
use logbook::{
    Fact, When,
    booth::FaultDeed,
    fact::{CareDone, FaultClosed, Outcome as Found, RemedyResult},
    ids::{CauseId, RemedyId, TaskId},
};
use std::io::{BufRead, IsTerminal, stdin};

/// Close a fault, with its cause and remedy
#[derive(Debug, Args)]
pub struct Close {
    /// The fault, or the beginning of its name
    fault: String,
    /// What it was: the id of a cause, or words of it; left out: it is asked at a terminal, else nobody knows
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
    /// Closes it; the care that the remedies count as is written as done. At a terminal the cause is asked for.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let (fact, care) = {
            let open = at_desk(&desk, &self.fault)?;
            let asks = self.cause.is_none() && !common.json && stdin().is_terminal();
            let asked = if asks { ask_cause(&open, &mut stdin().lock().lines())? } else { None };
            if self.cause.is_none() && !asks {
                print::aside(&known_causes(&open, MOST_NAMED));
            }
            let cause = self.cause.clone().or(asked);
            (self.fact(&open, cause.as_deref())?, care(&open))
        };
        let fault = fact.fault.clone();
        let entry = write(common, &desk, fact)?;
        for (at, done) in care {
            desk.write(desk.who(common)?, at, done)?;
        }
        say(common, &mut desk, &fault, &Did { entry: Some(entry), ..Did::default() })
    }

    fn fact(&self, open: &OpenFault<'_>, cause: Option<&str>) -> Result<FaultClosed, Failure> {
        let cause = cause.map(|asked| find_cause(open.kind, asked)).transpose()?;
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

/// So many known causes are named where nobody is asked.
const MOST_NAMED: usize = 5;

/// The causes that may be named with `--cause`, the likeliest first.
fn known_causes(open: &OpenFault<'_>, most: usize) -> String {
    let causes = open.causes_to_close_with();
    let named = causes.iter().take(most).map(|odd| format!("{} ({}, {})", odd.cause, odd.name, odd.in_words));
    let named: Vec<String> = named.collect();
    if named.is_empty() {
        return "boothwright: closed without a cause, so that nothing is learnt from it".to_owned();
    }
    format!(
        "boothwright: closed without a cause, so that nothing is learnt from it; --cause takes one of these: {}",
        named.join(", ")
    )
}

/// Asks at the terminal which of the known causes it was; nothing: nobody knows.
pub(super) fn ask_cause(
    open: &OpenFault<'_>,
    lines: &mut dyn Iterator<Item = std::io::Result<String>>,
) -> Result<Option<String>, Failure> {
    let causes = open.causes_to_close_with();
    for (place, odd) in causes.iter().enumerate() {
        print::text(&format!("{:>3}  {}: {}\n", place + 1, odd.name, odd.in_words))?;
    }
    loop {
        print::text("What was it? Its number or name; nothing where nobody knows: ")?;
        let Some(line) = lines.next() else { return Ok(None) };
        let line =
            line.map_err(|error| Failure::new(Kind::World, format!("nothing can be read: {error}")))?;
        let said = line.trim();
        if said.is_empty() {
            return Ok(None);
        }
        let by_number = said.parse::<usize>().ok().and_then(|number| causes.get(number.checked_sub(1)?));
        match by_number {
            Some(odd) => return Ok(Some(odd.cause.clone())),
            None => match find_cause(open.kind, said) {
                Ok(cause) => return Ok(Some(cause.id.to_string())),
                Err(error) => print::aside(&format!("boothwright: {error}")),
            },
        }
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
