//! What happened to a machine or at one of its parts, as far as the booth remembers it.

use crate::{
    answer::{Answer, Caveat, CaveatKind},
    known::{NotKnown, find_machine},
};
use logbook::{
    Booth, EntryId, MachineId, PersonId, When,
    booth::{Machine, Query},
    fact::{About, Ending, Outcome},
    ids::SlotId,
};
use serde::Serialize;

/// What sort of thing happened.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Happening {
    /// The machine entered.
    Entered,
    /// A run.
    Ran,
    /// Care.
    Care,
    /// Care was put off.
    PutOff,
    /// A part went in.
    Fitted,
    /// A part came out.
    Removed,
    /// A reading.
    Reading,
    /// A fault was opened, noted on or closed.
    Fault,
    /// A stoppage.
    Stoppage,
    /// Transport, repair and the like.
    Event,
    /// A note.
    Note,
    /// A decision whether it may be used.
    Fitness,
}

/// One thing that happened.
#[derive(Clone, PartialEq, Debug)]
pub struct HistoryLine<'a> {
    /// When.
    pub at: When,
    /// Its entry.
    pub entry: Option<EntryId>,
    /// What sort of thing.
    pub what: Happening,
    /// The slot, if it was at one.
    pub slot: Option<&'a SlotId>,
    /// Who wrote it, where the booth remembers.
    pub by: Option<&'a PersonId>,
    /// In words.
    pub words: String,
}

/// Returns what happened to a machine, the latest first; only at one slot if one is named.
///
/// The booth remembers the last time of each care task; earlier times stand in the logbook itself.
pub fn history<'a>(
    booth: &'a Booth,
    machine: &str,
    slot: Option<&str>,
) -> Result<Answer<Vec<HistoryLine<'a>>>, NotKnown> {
    let (_, id, machine) = find_machine(booth, machine)?;
    let mut value = Vec::new();
    value.extend(of_machine(machine));
    value.extend(of_care(machine));
    value.extend(of_parts(booth, id));
    value.extend(of_readings(machine));
    value.extend(of_faults(booth, id));
    value.extend(of_notes(booth, id));
    if let Some(slot) = slot {
        value.retain(|line| line.slot.is_some_and(|own| own.as_str() == slot));
    }
    value.sort_by_key(|line| std::cmp::Reverse((line.at, line.entry)));
    let words = "Of each care task the last time is listed; earlier times stand in the logbook.";
    Ok(Answer { value, because: Vec::new(), caveats: vec![Caveat::new(CaveatKind::OnlyTheLast, words)] })
}

/// Returns what does not add up, of one machine or of all, in order of time.
pub fn queries<'a>(booth: &'a Booth, machine: Option<&str>) -> Answer<Vec<&'a Query>> {
    let asked = |query: &&Query| {
        machine.is_none_or(|asked| query.machine.as_ref().is_some_and(|own| own.as_str() == asked))
    };
    let value = booth.queries.iter().filter(asked).collect();
    Answer { value, because: Vec::new(), caveats: Vec::new() }
}

type Lines<'a> = Vec<HistoryLine<'a>>;

fn line<'a>(at: When, entry: EntryId, what: Happening, words: String) -> HistoryLine<'a> {
    HistoryLine { at, entry: Some(entry), what, slot: None, by: None, words }
}

fn of_machine(machine: &Machine) -> Lines<'_> {
    let (at, entry) = machine.added;
    let mut lines = vec![line(at, entry, Happening::Entered, "entered the logbook".into())];
    for run in &machine.runs {
        let what = match run.run {
            logbook::fact::RunKind::Showing => "ran a showing",
            logbook::fact::RunKind::Rehearsal => "ran a rehearsal",
            logbook::fact::RunKind::Test => "ran a test",
            logbook::fact::RunKind::Rewind => "rewound",
        };
        lines.push(line(run.at, run.entry, Happening::Ran, format!("{what}, {:.1}", run.hours)));
    }
    for event in &machine.events {
        lines.push(line(event.at, event.entry, Happening::Event, with_note(&event.event, &event.note)));
    }
    if let Some((at, entry)) = machine.fitness.since {
        let words = with_note(fitness_word(machine.fitness.fitness), &machine.fitness.why);
        lines.push(line(at, entry, Happening::Fitness, words));
    }
    lines
}

const fn fitness_word(fitness: logbook::fact::Fitness) -> &'static str {
    match fitness {
        logbook::fact::Fitness::Fit => "fit",
        logbook::fact::Fitness::Limited => "fit within limits",
        logbook::fact::Fitness::Unfit => "not to be used until mended",
        logbook::fact::Fitness::Danger => "quarantined until a technician releases it",
    }
}

fn with_note(what: &str, note: &str) -> String {
    if note.is_empty() { what.to_owned() } else { format!("{what}: {note}") }
}

fn of_care(machine: &Machine) -> Lines<'_> {
    let done = machine.care.iter().map(|(point, record)| HistoryLine {
        slot: point.slot.as_ref(),
        by: Some(&record.by),
        ..line(
            record.at,
            record.entry,
            Happening::Care,
            with_note(&format!("{} {}", point.task, outcome_word(record.outcome)), &record.note),
        )
    });
    let put_off = machine.deferred.iter().map(|(point, deferral)| HistoryLine {
        slot: point.slot.as_ref(),
        by: Some(&deferral.by),
        ..line(deferral.at, deferral.entry, Happening::PutOff, with_note(point.task.as_str(), &deferral.why))
    });
    done.chain(put_off).collect()
}

const fn outcome_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Fine => "looked at and in order",
        Outcome::Done => "done",
        Outcome::Attention => "wants attention",
        Outcome::CannotTell => "could not be told",
        Outcome::Skipped => "left out",
    }
}

fn of_parts<'a>(booth: &'a Booth, machine: &MachineId) -> Lines<'a> {
    let mut lines = Vec::new();
    for (part, life) in &booth.parts {
        for stint in life.stints.iter().filter(|stint| stint.machine == *machine) {
            let slot = Some(&stint.slot);
            let fitted = line(stint.fitted, stint.entry, Happening::Fitted, format!("{part} fitted"));
            lines.push(HistoryLine { slot, ..fitted });
            if let Some(end) = &stint.ended {
                let words = format!("{part} came out: {}", ending_word(end.why));
                lines.push(HistoryLine { slot, ..line(end.at, end.entry, Happening::Removed, words) });
            }
        }
    }
    lines
}

const fn ending_word(ending: Ending) -> &'static str {
    match ending {
        Ending::Failed => "failed",
        Ending::Worn => "worn past use",
        Ending::Planned => "changed as planned",
        Ending::Borrowed => "taken for another machine or use",
        Ending::Damaged => "broken by something else",
        Ending::Unknown => "nobody wrote down why",
    }
}

fn of_readings(machine: &Machine) -> Lines<'_> {
    let read = |reading: &'_ logbook::booth::ReadingRecord| {
        format!("{} {} {}", reading.quantity, reading.value, reading.unit)
    };
    let lines = machine.readings.iter().map(|reading| HistoryLine {
        slot: reading.slot.as_ref(),
        ..line(reading.at, reading.entry, Happening::Reading, read(reading))
    });
    lines.collect()
}

fn of_faults<'a>(booth: &'a Booth, machine: &MachineId) -> Lines<'a> {
    let mut lines = Vec::new();
    for fault in booth.faults.values().filter(|fault| fault.machine == *machine) {
        let mut say = |at, entry, words| {
            lines.push(HistoryLine { slot: fault.slot.as_ref(), ..line(at, entry, Happening::Fault, words) });
        };
        say(fault.opened.0, fault.opened.1, format!("fault: {}", fault.words));
        for (at, words, entry) in &fault.notes {
            say(*at, *entry, format!("learnt: {words}"));
        }
        if let Some((at, cause, cure, entry)) = &fault.closed {
            say(*at, *entry, with_note(&with_note("fault closed", cause), cure));
        }
    }
    lines
}

fn of_notes<'a>(booth: &'a Booth, machine: &MachineId) -> Lines<'a> {
    let is_about = |about: &Option<About>| matches!(about, Some(About::Machine(own)) if own == machine);
    let notes = booth.notes.iter().filter(|note| is_about(&note.about));
    let notes = notes.map(|note| line(note.at, note.entry, Happening::Note, note.words.clone()));
    let here = booth.stoppages.iter().filter(|stoppage| stoppage.machine.as_ref() == Some(machine));
    let stoppages = here.map(|stoppage| {
        let words = format!("dark for {:.0}: {}", stoppage.dark, stoppage.what);
        line(stoppage.at, stoppage.entry, Happening::Stoppage, words)
    });
    notes.chain(stoppages).collect()
}
