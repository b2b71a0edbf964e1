//! The steps of a fault's case in a line each.

use super::{Names, with_note};
use logbook::{
    Fact,
    fact::{Asked, FaultAnswered, FaultMark, FaultMarked, FaultReply, FaultTried, RemedyResult},
};
use machine::Trouble;

pub(super) fn in_words(fact: &Fact, names: Names<'_>) -> String {
    match fact {
        Fact::FaultAnswered(answered) => self::answered(answered, names),
        Fact::FaultTried(tried) => self::tried(tried, names),
        Fact::FaultMarked(marked) => self::marked(marked, names),
        Fact::RepairRequested(request) => {
            format!("{}: {}", names.fault(request.fault.as_str()), request.words)
        }
        _ => fact.kind().to_owned(),
    }
}

/// What the type of a fault's machine knows of its troubles.
fn trouble_of<'a>(names: Names<'a>, fault: &str) -> Option<&'a Trouble> {
    let machine = names.booth.machines.get(&names.booth.faults.get(fault)?.machine)?;
    names.library.get(machine.machine_type.as_str()).map(|kind| &kind.trouble)
}

fn answered(answered: &FaultAnswered, names: Names<'_>) -> String {
    let which = answered.which.as_str();
    let known =
        trouble_of(names, answered.fault.as_str()).and_then(|trouble| asked(trouble, answered.asked, which));
    let said = match answered.value {
        Some(value) => format!("{}, {value} {}", reply(answered.answer), answered.unit),
        None => reply(answered.answer).to_owned(),
    };
    with_note(format!("{}: {said}", known.unwrap_or_else(|| which.to_owned())), &answered.note)
}

fn asked(trouble: &Trouble, asked: Asked, which: &str) -> Option<String> {
    match asked {
        Asked::Symptom => trouble.symptom(which).map(|symptom| symptom.name.clone()),
        Asked::Condition => trouble.condition(which).map(|condition| condition.asks.clone()),
        Asked::Check => trouble.check(which).map(|check| check.name.clone()),
    }
}

/// An answer in words.
pub fn reply(reply: FaultReply) -> &'static str {
    match reply {
        FaultReply::Yes => "yes",
        FaultReply::No => "no",
        FaultReply::CannotTell => "cannot tell",
        FaultReply::Skipped => "skipped",
    }
}

/// What a remedy did, in words.
pub fn result(result: RemedyResult) -> &'static str {
    match result {
        RemedyResult::Helped => "it helped",
        RemedyResult::DidNotHelp => "it did not help",
        RemedyResult::CannotTell => "done, not tried out",
        RemedyResult::Skipped => "skipped",
    }
}

fn tried(tried: &FaultTried, names: Names<'_>) -> String {
    let remedy = tried.remedy.as_str();
    let known = trouble_of(names, tried.fault.as_str()).and_then(|trouble| trouble.remedy(remedy));
    let name = known.map_or(remedy, |remedy| remedy.name.as_str());
    with_note(format!("{name}: {}", result(tried.result)), &tried.note)
}

/// What happened to a case, in words.
pub fn mark(mark: FaultMark) -> &'static str {
    match mark {
        FaultMark::MadeSafe => "stopped and made safe",
        FaultMark::DoneAtOnce => "what is done at once is done",
        FaultMark::ShowRuns => "an audience waits",
        FaultMark::ShowOver => "the audience has gone",
        FaultMark::HandedOver => "handed over",
    }
}

fn marked(marked: &FaultMarked, names: Names<'_>) -> String {
    let to = marked.to.as_ref().map(|person| {
        let known = names.booth.people.get(person);
        format!(" to {}", known.map_or(person.as_str(), |person| person.name.as_str()))
    });
    let said =
        format!("{}: {}{}", names.fault(marked.fault.as_str()), mark(marked.mark), to.unwrap_or_default());
    with_note(said, &marked.note)
}
