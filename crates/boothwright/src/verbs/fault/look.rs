//! `fault next`, `explain`, `list`, `symptoms`: what stands, without writing.

use super::common::at_desk;
use crate::{cli::Common, desk::Desk, failure::Outcome, print};
use booth::desk::symptoms_of;
use clap::Args;
use logbook::{FaultId, booth::Fault};
use serde::Serialize;

/// What to do next
#[derive(Debug, Args)]
pub struct Next {
    /// The fault, or the beginning of its name
    fault: String,
}

impl Next {
    /// Says it.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let sheet = at_desk(&desk, &self.fault)?.sheet();
        if common.json { print::json(&sheet) } else { print::sheet(&views::desk::sheet(&sheet)) }
    }
}

/// Why: the odds, what changed them, what each step is worth
#[derive(Debug, Args)]
pub struct Explain {
    /// The fault, or the beginning of its name
    fault: String,
}

impl Explain {
    /// Says it.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let sheet = at_desk(&desk, &self.fault)?.sheet();
        if common.json { print::json(&sheet) } else { print::sheet(&views::desk::explain(&sheet)) }
    }
}

/// The faults that are open
#[derive(Debug, Args)]
pub struct List {
    /// Only of this machine
    #[arg(long)]
    machine: Option<String>,
    /// Closed ones, too
    #[arg(long)]
    all: bool,
}

/// One fault of the list.
#[derive(Serialize)]
struct Listed<'a> {
    fault: &'a str,
    machine: &'a str,
    words: &'a str,
    opened: String,
    symptoms: Vec<&'a str>,
    steps: usize,
    open: bool,
    passed_on: bool,
    cause: Option<&'a str>,
    remedy: Option<&'a str>,
}

impl List {
    /// Lists them, the latest first.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let machine = desk.machine_if(self.machine.as_ref())?;
        if let Some(machine) = &machine {
            symptoms_of(&desk.booth, &desk.library, machine.as_str(), "")?;
        }
        let wanted = |fault: &Fault| {
            (self.all || fault.is_open()) && machine.as_ref().is_none_or(|machine| fault.machine == *machine)
        };
        let mut faults: Vec<(&FaultId, &Fault)> =
            desk.booth.faults.iter().filter(|(_, fault)| wanted(fault)).collect();
        faults.sort_by_key(|(_, fault)| std::cmp::Reverse(fault.opened.0.unix_ms));
        if common.json {
            let listed: Vec<Listed<'_>> = faults.iter().map(|(id, fault)| listed(id, fault)).collect();
            return print::json(&serde_json::json!({ "faults": listed }));
        }
        print::sheet(&views::desk::list(&desk.booth, &faults))
    }
}

fn listed<'a>(id: &'a FaultId, fault: &'a Fault) -> Listed<'a> {
    Listed {
        fault: id.as_str(),
        machine: fault.machine.as_str(),
        words: &fault.words,
        opened: fault.opened.0.local().to_string(),
        symptoms: fault.symptoms.iter().map(logbook::ids::SymptomId::as_str).collect(),
        steps: fault.steps.len(),
        open: fault.is_open(),
        passed_on: !fault.requests.is_empty(),
        cause: fault.confirmed.cause.as_ref().map(logbook::ids::CauseId::as_str),
        remedy: fault.confirmed.remedy.as_ref().map(logbook::ids::RemedyId::as_str),
    }
}

/// What can be noticed at a machine
#[derive(Debug, Args)]
pub struct Symptoms {
    /// The machine
    machine: String,
    /// Those that fit these words, the best first
    words: Vec<String>,
}

impl Symptoms {
    /// Lists them by what is noticed.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let asked = self.words.join(" ");
        let of = |words: &str| symptoms_of(&desk.booth, &desk.library, &self.machine, words);
        let (kind, found) = of(&asked)?;
        if common.json {
            return print::json(&serde_json::json!({ "machine_type": kind.id.as_str(), "symptoms": found }));
        }
        let fitting: &[_] = if asked.trim().is_empty() { &[] } else { &found };
        print::sheet(&views::desk::symptoms(kind, fitting, &of("")?.1))
    }
}
