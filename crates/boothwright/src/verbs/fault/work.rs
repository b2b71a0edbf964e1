//! `fault work`: step by step at the terminal.

use super::{
    answer::ANSWERS,
    common::{at_desk, word, write},
    tried::{RESULTS, spare},
};
use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::desk::{NextStep, StepCard, StepKind};
use clap::Args;
use logbook::{
    Fact, FaultId,
    fact::{Asked, FaultAnswered, FaultMark, FaultMarked, FaultTried, RemedyResult, Withdraws},
    ids::{AskedId, RemedyId},
};
use std::io::{BufRead, stdin};

/// Step by step, asking and answering at the terminal
#[derive(Debug, Args)]
pub struct Work {
    /// The fault, or the beginning of its name
    fault: String,
}

impl Work {
    /// Asks until it is closed, passed on or left; what was answered stays.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let fault = at_desk(&desk, &self.fault)?.id.clone();
        let mut lines = stdin().lock().lines();
        loop {
            let sheet = at_desk(&desk, fault.as_str())?.sheet();
            print::sheet(&views::desk::sheet(&sheet))?;
            let Some(ways) = ways(&sheet.next) else {
                return print::text(&then(&sheet.next, fault.as_str()));
            };
            print::text(&format!("\n{ways}, undo or leave? "))?;
            let Some(line) = lines.next() else { return Ok(()) };
            let said =
                line.map_err(|error| Failure::new(Kind::World, format!("nothing can be read: {error}")))?;
            let said = said.trim();
            if said == "leave" {
                return Ok(());
            }
            match self::fact(&desk, &fault, &sheet.next, said, sheet.done.last().map(|step| step.entry)) {
                Ok(fact) => {
                    write(common, &desk, fact)?;
                    desk.refresh()?;
                }
                Err(failure) => print::aside(&format!("boothwright: {}", failure.what)),
            }
            print::text("\n")?;
        }
    }
}

/// What may be answered; nothing where the desk has come to an end.
fn ways(next: &NextStep) -> Option<&'static str> {
    match next {
        NextStep::MakeSafe(_) => Some("made-safe"),
        NextStep::AtOnce(_) => Some("done-at-once, show-over"),
        NextStep::Later { .. } => Some("show-over"),
        NextStep::Step(step) if step.kind == StepKind::Remedy => Some("helped, no, cannot-tell, skip"),
        NextStep::Step(_) => Some("yes, no, cannot-tell, skip"),
        NextStep::PassOn { .. }
        | NextStep::Close(_)
        | NextStep::Closed { .. }
        | NextStep::PickSymptom { .. } => None,
    }
}

/// Which verb goes on where the desk has come to an end.
fn then(next: &NextStep, fault: &str) -> String {
    match next {
        NextStep::PassOn { written: false, .. } => {
            format!("\n`fault request {fault}` writes it; `fault undo {fault}` takes back the last answer.\n")
        }
        NextStep::Close(close) => {
            let cause = close.causes.first().map_or("CAUSE", |odd| odd.cause.as_str());
            format!(
                "\n`fault close {fault} --cause {cause}` closes it with what it was; `fault undo {fault}` takes back the last answer.\n"
            )
        }
        NextStep::PickSymptom { .. } => {
            format!(
                "\n`fault answer {fault} SYMPTOM yes` says what you notice; `fault symptoms MACHINE` lists it.\n"
            )
        }
        _ => String::new(),
    }
}

fn fact(
    desk: &Desk,
    fault: &FaultId,
    next: &NextStep,
    said: &str,
    last: Option<logbook::EntryId>,
) -> Result<Fact, Failure> {
    if said == "undo" {
        let entry = last.ok_or_else(|| Failure::new(Kind::Usage, "nothing was answered yet"))?;
        return Ok(Withdraws { entry, why: "answered wrongly".to_owned() }.into());
    }
    if let NextStep::Step(step) = next {
        return step_fact(desk, fault, step, said);
    }
    let marks = [
        ("made-safe", FaultMark::MadeSafe),
        ("done-at-once", FaultMark::DoneAtOnce),
        ("show-over", FaultMark::ShowOver),
    ];
    let mark = word("the answer", said, &marks)?;
    Ok(FaultMarked { fault: fault.clone(), mark, to: None, note: String::new() }.into())
}

fn step_fact(desk: &Desk, fault: &FaultId, step: &StepCard, said: &str) -> Result<Fact, Failure> {
    let asked = match step.kind {
        StepKind::Condition => Asked::Condition,
        StepKind::Check => Asked::Check,
        StepKind::Remedy => {
            let result = word("the answer", said, &RESULTS)?;
            let open = at_desk(desk, fault.as_str())?;
            let known = open.kind.trouble.remedy(&step.id).filter(|_| result != RemedyResult::Skipped);
            let used = known.map_or_else(Vec::new, |remedy| spare(&open, remedy).0);
            let (fault, remedy, note) = (fault.clone(), RemedyId::new(&step.id), String::new());
            return Ok(FaultTried { fault, remedy, result, minutes: None, used, note }.into());
        }
    };
    Ok(FaultAnswered {
        fault: fault.clone(),
        asked,
        which: AskedId::new(&step.id),
        answer: word("the answer", said, &ANSWERS)?,
        quantity: None,
        value: None,
        unit: String::new(),
        minutes: None,
        note: String::new(),
    }
    .into())
}
