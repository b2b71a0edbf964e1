//! What is posted at a fault: an answer, a remedy, a mark, a step back, a request, the end; each one entry.

use super::fault_case;
use crate::{
    fields::Problem,
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use ::logbook::{
    Draft, EntryId, Fact, FaultId,
    fact::{
        Asked, FaultAnswered, FaultClosed, FaultMark, FaultMarked, FaultReply, FaultTried, RemedyResult,
        Used, Withdraws,
    },
    ids::{AskedId, CauseId, ItemId, PersonId, RemedyId},
};
use axum::extract::Path;
use booth::desk::{OpenFault, open};
use std::sync::Arc;
use views::Place;

/// Takes one deed.
pub async fn take(visit: Visit, Path(fault): Path<String>, posted: Posted) -> Answered {
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let (pen, read, about) = (Arc::clone(&visit), Arc::clone(&posted), fault.clone());
    match write::blocking(move || put_down(&pen, &read.typed, &about)).await {
        Ok(entry) => {
            let id = FaultId::new(&fault);
            let there = match posted.typed.get("deed") {
                Some("request") => Place::RepairRequest(id),
                _ => Place::Fault(id),
            };
            Ok(write::onwards(&visit, &posted.typed, entry, &there.href()))
        }
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => fault_case::refused(&visit, &fault, &problems),
    }
}

/// Writes the deed down once, however often it is sent.
fn put_down(visit: &Visit, typed: &Typed, fault: &str) -> Result<EntryId, NotWritten> {
    let id = write::id_of(typed)?;
    let case = open(visit.booth(), visit.library(), fault, &visit.now)
        .map_err(|error| super::fault::not_at_desk(&error))?;
    if let Some(there) = visit.desk.store().get(id)? {
        if is_said(&there.chained.entry.fact, &case, typed)? {
            return Ok(id);
        }
        let right = "Go on at the fault; there the last answer can be taken back.";
        let way = Place::Fault(case.id.clone()).href();
        return Err(write::said_otherwise(id, right).way(way, "Go on at the fault").into());
    }
    let fact = fact(&case, typed)?;
    let (by, happened) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    write::put_down(visit, &[Draft { id, device: visit.desk.device(), happened, by, fact }])?;
    Ok(id)
}

/// Whether an entry says what the form says. A request is made of the case as it stood, and a step that was taken back
/// is no longer there: of these only what they are about is compared.
fn is_said(there: &Fact, case: &OpenFault<'_>, typed: &Typed) -> Result<bool, NotWritten> {
    Ok(match (there, typed.get("deed")) {
        (Fact::RepairRequested(request), Some("request")) => request.fault == *case.id,
        (Fact::Withdraws(withdrawn), Some("undo")) => {
            typed.get("entry") == Some(withdrawn.entry.to_string().as_str())
        }
        (_, Some("request" | "undo")) => false,
        (there, _) => *there == fact(case, typed)?,
    })
}

fn fact(case: &OpenFault<'_>, typed: &Typed) -> Result<Fact, NotWritten> {
    let fault = case.id.clone();
    Ok(match typed.get("deed") {
        Some("condition") => answered(case, Asked::Condition, reply(typed)?, typed),
        Some("check") => answered(case, Asked::Check, reply(typed)?, typed),
        Some("noticed") => answered(case, Asked::Symptom, FaultReply::Yes, typed),
        Some("remedy") => tried(case, typed)?,
        Some("mark") => {
            let mark = match typed.get("mark") {
                Some("made-safe") => FaultMark::MadeSafe,
                Some("done-at-once") => FaultMark::DoneAtOnce,
                Some("show-over") => FaultMark::ShowOver,
                Some("show-runs") => FaultMark::ShowRuns,
                _ => return Err(not_understood("what is marked")),
            };
            marked(fault, mark, None)
        }
        Some("hand-over") => marked(fault, FaultMark::HandedOver, typed.get("to").map(PersonId::new)),
        Some("undo") => withdrawn(case, typed)?,
        Some("request") => requested(case),
        Some("close") => closed(case, typed),
        _ => return Err(not_understood("what was done")),
    })
}

fn not_understood(what: &str) -> NotWritten {
    Trouble::not_understood(
        format!("This form does not say {what}."),
        "Open the fault again and answer there.",
    )
    .into()
}

fn answered(case: &OpenFault<'_>, asked: Asked, answer: FaultReply, typed: &Typed) -> Fact {
    Fact::FaultAnswered(FaultAnswered {
        fault: case.id.clone(),
        asked,
        which: AskedId::new(typed.get("which").unwrap_or_default()),
        answer,
        quantity: None,
        value: None,
        unit: String::new(),
        minutes: None,
        note: String::new(),
    })
}

fn reply(typed: &Typed) -> Result<FaultReply, NotWritten> {
    match typed.get("answer") {
        Some("yes") => Ok(FaultReply::Yes),
        Some("no") => Ok(FaultReply::No),
        Some("cannot-tell") => Ok(FaultReply::CannotTell),
        Some("skipped") => Ok(FaultReply::Skipped),
        _ => Err(not_understood("how it was answered")),
    }
}

/// A remedy; what it took leaves the store with it, also when it did not help.
fn tried(case: &OpenFault<'_>, typed: &Typed) -> Result<Fact, NotWritten> {
    let result = match typed.get("result") {
        Some("helped") => RemedyResult::Helped,
        Some("did-not-help") => RemedyResult::DidNotHelp,
        Some("cannot-tell") => RemedyResult::CannotTell,
        Some("skipped") => RemedyResult::Skipped,
        _ => return Err(not_understood("whether it helped")),
    };
    let spare = typed.get("use_spare").filter(|_| result != RemedyResult::Skipped);
    Ok(Fact::FaultTried(FaultTried {
        fault: case.id.clone(),
        remedy: RemedyId::new(typed.get("which").unwrap_or_default()),
        result,
        minutes: None,
        used: spare.map(|item| Used { item: ItemId::new(item), count: 1 }).into_iter().collect(),
        note: String::new(),
    }))
}

fn marked(fault: FaultId, mark: FaultMark, to: Option<PersonId>) -> Fact {
    Fact::FaultMarked(FaultMarked { fault, mark, to, note: String::new() })
}

/// Takes back one step of this very case.
fn withdrawn(case: &OpenFault<'_>, typed: &Typed) -> Result<Fact, NotWritten> {
    let named: Option<EntryId> = typed.get("entry").and_then(|entry| entry.parse().ok());
    let step = case.fault.steps.iter().find(|step| Some(step.entry) == named);
    let step = step.ok_or_else(|| {
        let words = "This answer was taken back already, or is none of this fault's.";
        NotWritten::Problems(vec![Problem::new("entry", words)])
    })?;
    Ok(Fact::Withdraws(Withdraws { entry: step.entry, why: "Taken back at the fault desk".to_owned() }))
}

fn requested(case: &OpenFault<'_>) -> Fact {
    Fact::RepairRequested(case.request().fact(case.id))
}

fn closed(case: &OpenFault<'_>, typed: &Typed) -> Fact {
    let trouble = &case.kind.trouble;
    let cause = typed.get("cause").and_then(|id| trouble.cause(id));
    let remedy = typed.get("remedy").and_then(|id| trouble.remedy(id));
    Fact::FaultClosed(FaultClosed {
        fault: case.id.clone(),
        cause: cause.map_or_else(|| "Not known".to_owned(), |cause| cause.name.clone()),
        cure: remedy.map_or_else(String::new, |remedy| remedy.name.clone()),
        cause_id: cause.map(|cause| CauseId::new(cause.id.as_str())),
        remedy_id: remedy.map(|remedy| RemedyId::new(remedy.id.as_str())),
    })
}
