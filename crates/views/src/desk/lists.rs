//! Faults, symptoms to pick from, and what was learnt, as lists.

use crate::{
    common,
    sheet::{Block, Sheet, Table},
    wording,
    words::Words,
};
use booth::desk::{LearntHere, MatchingSymptom};
use logbook::{Booth, FaultId, booth::Fault};
use machine::MachineType;

/// Which faults to list.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Pick {
    /// Those that are open.
    Open,
    /// All of them.
    All,
}

/// Lists faults, the latest first.
pub fn list(booth: &Booth, faults: &[(&FaultId, &Fault)]) -> Sheet {
    let mut sheet = Sheet::new("Faults");
    let mut table =
        Table::new("Faults", &["Fault", "Machine", "Since", "What", "Steps", "State"], "No fault is open.");
    for (id, fault) in faults {
        let state = match &fault.closed {
            Some((at, cause, ..)) => format!("closed {}: {cause}", at.date()),
            None if fault.requests.is_empty() => "open".to_owned(),
            None => "passed on".to_owned(),
        };
        let cells = [
            id.to_string(),
            common::machine_name(booth, fault.machine.as_str()),
            fault.opened.0.date().to_string(),
            fault.words.clone(),
            fault.steps.len().to_string(),
            state,
        ];
        table.push(cells.into_iter().map(Words::from).collect(), vec![("fault", id.to_string())]);
    }
    sheet.push(Block::Table(table));
    sheet
}

/// Lists the symptoms that can be picked: those that fit some words, the best hits first, or all of them by what is
/// noticed.
pub fn symptoms(kind: &MachineType, fitting: &[MatchingSymptom], all: &[MatchingSymptom]) -> Sheet {
    let mut sheet = Sheet::new(format!("What can be noticed at a {}", kind.name));
    let line = |symptom: &MatchingSymptom| {
        let words = Words::new().strong(symptom.symptom.clone()).plain(format!("  {}", symptom.name));
        if symptom.stop_now.is_some() { words.plain("  Stop now.") } else { words }
    };
    if !fitting.is_empty() {
        sheet.heading("What fits best");
        sheet.push(Block::List(fitting.iter().map(line).collect()));
        return sheet;
    }
    for group in all.chunk_by(|a, b| a.group == b.group) {
        sheet.heading(group.first().map_or("", |symptom| symptom.group));
        sheet.push(Block::List(group.iter().map(line).collect()));
    }
    sheet
}

/// Shows what was learnt, figure by figure.
pub fn learnt(kind: &MachineType, learnt: &LearntHere) -> Sheet {
    let mut sheet = Sheet::new(format!("What was learnt of {}", kind.name));
    let from = wording::counted(learnt.cases, "closed fault");
    sheet.say(format!("From {from} with a confirmed cause, over {:.0} running hours.", learnt.hours_run));
    let heads = ["Figure", "#Before", "#After", "#Yes", "#Of"];
    let mut table = Table::new("Figures that moved", &heads, "Nothing yet: the type's own figures stand.");
    for one in &learnt.figures {
        let percent = |chance: units::Probability| format!("{:.2} %", chance.value() * 100.0);
        let cells = [
            one.words.clone(),
            percent(one.before),
            percent(one.after),
            one.count.yes.to_string(),
            (one.count.yes + one.count.no).to_string(),
        ];
        table.push(cells.into_iter().map(Words::from).collect(), Vec::new());
    }
    sheet.push(Block::Table(table));
    sheet
}
