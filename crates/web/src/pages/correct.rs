//! Correcting an entry, or taking it back: by another entry that names it.

use super::{entry, show_tap, unseen_fields, writer_field};
use crate::{
    fields::{self, Field, Kind, Problem},
    forms::{self, Ask, Form},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten, common_fields as common},
};
use axum::{extract::Path, http::StatusCode, response::Response};
use logbook::{
    Draft, Entry, EntryId, Fact, ShowingId, When,
    fact::{Corrects, Withdraws},
    ids::MachineId,
};
use maud::{Markup, html};
use std::sync::Arc;
use views::Place;

/// What an entry says now: itself, or its latest correction.
struct Standing {
    entry: Entry,
    fact: Fact,
    happened: When,
}

fn standing(visit: &Visit, id: &str) -> Result<Standing, Trouble> {
    let entry = entry::find(visit, id)?.chained.entry;
    if matches!(entry.fact, Fact::Corrects(_) | Fact::Withdraws(_)) {
        return Err(Trouble::not_understood(
            "This entry settles another one.",
            "Correct the entry that it settles.",
        )
        .way(Place::Entry(entry.id).href(), "Back to the entry"));
    }
    let mut standing = Standing { fact: entry.fact.clone(), happened: entry.happened, entry };
    let latest =
        visit.desk.store().settlements(standing.entry.id)?.into_iter().find_map(|later| match later.fact {
            Fact::Corrects(corrects) => Some(corrects),
            _ => None,
        });
    if let Some(corrects) = latest {
        standing.fact = *corrects.with;
        standing.happened = corrects.happened.unwrap_or(standing.happened);
    }
    Ok(standing)
}

/// Shows the form, filled with what the entry says now.
pub async fn show(visit: Visit, Path(id): Path<String>) -> Answered {
    let standing = standing(&visit, &id)?;
    let typed = match forms::of_kind(standing.fact.kind()) {
        Some(form) => {
            let machine = machine_of(&standing.fact);
            let mut typed =
                forms::fill(form, &Ask { machine: machine.as_ref(), ..Ask::of(&visit) }, &standing.fact);
            forms::fill_when(&mut typed, standing.happened);
            typed
        }
        None => Typed::default(),
    };
    Ok(correct_page(&visit, &standing, &typed, &[], StatusCode::OK))
}

fn machine_of(fact: &Fact) -> Option<MachineId> {
    forms::body_of(fact).get("machine").and_then(serde_json::Value::as_str).map(MachineId::new)
}

fn why_field() -> Field {
    Field::new(common::WHY, "Why it is corrected", Kind::Line)
        .required()
        .hint("For example: wrong machine, misread.")
}

/// The fields to correct: the form's own, and the machine, which may have been the wrong one.
fn fields_of(form: &Form, ask: &Ask<'_>, fact: &Fact) -> Vec<Field> {
    let mut fields = (form.fields)(ask);
    if form.needs_machine {
        fields.insert(0, Field::new("machine", "Machine", Kind::Pick(ask.machines())).required());
    }
    forms::keep_recorded(&mut fields, ask, fact);
    fields
}

fn correct_page(
    visit: &Visit,
    standing: &Standing,
    typed: &Typed,
    problems: &[Problem],
    status: StatusCode,
) -> Response {
    let id = standing.entry.id;
    let main = html! {
        h1 { "Correct an entry" }
        p { "The entry stays as it was written; what you write here is put in its place." }
        (fields::problems(problems))
        @match forms::of_kind(standing.fact.kind()) {
            Some(form) => (correction_form(visit, standing, form, typed, problems)),
            None => p { "This kind of entry can only be taken back." },
        }
        (withdraw_form(visit, id))
    };
    layout::page_with(visit, Some(Section::Logbook), "Correct an entry", &main, status)
}

fn correction_form(
    visit: &Visit,
    standing: &Standing,
    form: &Form,
    typed: &Typed,
    problems: &[Problem],
) -> Markup {
    let machine = typed.get("machine").map(MachineId::new).or_else(|| machine_of(&standing.fact));
    let ask = Ask { machine: machine.as_ref(), ..Ask::of(visit) };
    let mut typed = typed.clone();
    if let Some(machine) = &machine {
        typed.set_if_missing("machine", || machine.to_string());
    }
    html! {
        form.entry #correction method="post" action={ "/logbook/" (standing.entry.id) "/correct" } novalidate {
            (fields::show(&fields_of(form, &ask, &standing.fact), &typed, problems))
            @if form.kind == "showing-planned" { (super::diary::start_and_machines(visit, &typed, problems)) }
            (super::when_fields(visit, &typed, problems))
            (fields::show_one(&why_field(), &typed, problems))
            (writer_field(visit, &typed, problems))
            (unseen_fields(visit, &typed))
            button.main type="submit" { "Put this in its place" }
        }
    }
}

fn withdraw_form(visit: &Visit, id: EntryId) -> Markup {
    let writer = visit.probable_writer().map(|writer| writer.to_string()).unwrap_or_default();
    html! {
        h2 #take-back { "Take it back" }
        p { "It then counts as never written, but stays readable." }
        form.entry method="post" action={ "/logbook/" (id) "/withdraw" } {
            div.field {
                label for="field-withdraw" { "Why" }
                input #field-withdraw type="text" name="why" required autocomplete="off";
            }
            input type="hidden" name=(common::BY) value=(writer);
            input type="hidden" name=(common::ID) value=(visit.desk.new_id());
            button type="submit" { "Take it back" }
        }
    }
}

/// Takes a correction.
pub async fn take(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    let standing = standing(&visit, &id)?;
    let corrected = standing.entry.id;
    let (visit, posted, standing) = (Arc::new(visit), Arc::new(posted), Arc::new(standing));
    let (pen, read, about) = (Arc::clone(&visit), Arc::clone(&posted), Arc::clone(&standing));
    match write::blocking(move || put_correction(&pen, &about, &read.typed)).await {
        Ok(()) => Ok(write::onwards(&visit, &posted.typed, corrected, &Place::Entry(corrected).href())),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            Ok(correct_page(&visit, &standing, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}

fn put_correction(visit: &Visit, standing: &Standing, typed: &Typed) -> Result<(), NotWritten> {
    let form = forms::of_kind(standing.fact.kind()).ok_or_else(|| {
        Trouble::not_understood("This kind of entry cannot be corrected here.", "Take it back instead.")
    })?;
    let machine = typed.get("machine").map(MachineId::new).or_else(|| machine_of(&standing.fact));
    let mut problems = Vec::new();
    let why = typed.get(common::WHY).map(str::to_owned).unwrap_or_default();
    if why.is_empty() {
        problems.push(Problem::new(common::WHY, "Say why, so that others can follow it."));
    }
    let happened = forms::read_when(typed, &visit.now).unwrap_or_else(|problem| {
        problems.push(problem);
        standing.happened
    });
    let read =
        forms::read(form, &Ask { machine: machine.as_ref(), ..Ask::of(visit) }, typed, Some(&standing.fact));
    let fact = match read {
        Ok(fact) if problems.is_empty() => fact,
        Ok(_) => return Err(NotWritten::Problems(problems)),
        Err(more) => {
            problems.extend(more);
            return Err(NotWritten::Problems(problems));
        }
    };
    let happened = (!same_moment(happened, standing.happened)).then_some(happened);
    let showings = [show_of(&standing.fact), show_of(&fact)];
    let corrects = Corrects { entry: standing.entry.id, with: Box::new(fact), happened, why };
    append(visit, typed, standing.entry.happened, Fact::Corrects(corrects))?;
    follow(visit, typed, &showings)
}

/// The show of which a fact is a mark.
fn show_of(fact: &Fact) -> Option<ShowingId> {
    match fact {
        Fact::ShowMarked(marked) => Some(marked.showing.clone()),
        _ => None,
    }
}

/// Lets what the marks of these shows wrote beside themselves follow them.
fn follow(visit: &Visit, typed: &Typed, showings: &[Option<ShowingId>]) -> Result<(), NotWritten> {
    let by = write::writer_of(visit, typed).map_err(|problem| NotWritten::Problems(vec![problem]))?;
    showings.iter().flatten().try_for_each(|showing| show_tap::follow(visit, showing, &by))
}

/// Forms speak in minutes: what falls into the same minute is the same moment.
fn same_moment(one: When, other: When) -> bool {
    one.unix_ms.div_euclid(60_000) == other.unix_ms.div_euclid(60_000)
}

/// Takes an entry back.
pub async fn withdraw(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    let standing = standing(&visit, &id)?;
    let withdrawn = standing.entry.id;
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let (pen, read) = (Arc::clone(&visit), Arc::clone(&posted));
    let written = write::blocking(move || {
        let why = read.typed.get("why").map(str::to_owned).ok_or_else(|| {
            Trouble::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "Not taken back",
                "It does not say why.",
                "Say why, so that others can follow it.",
            )
            .way(format!("/logbook/{withdrawn}/correct"), "Back to the form")
        })?;
        append(&pen, &read.typed, standing.entry.happened, Withdraws { entry: withdrawn, why }.into())?;
        follow(&pen, &read.typed, &[show_of(&standing.fact)])
    })
    .await;
    match written {
        Ok(()) => Ok(write::onwards(&visit, &posted.typed, withdrawn, &Place::Entry(withdrawn).href())),
        Err(refused) => {
            let back = (Place::Entry(withdrawn).href(), "Back to the entry");
            Err(refused.on_a_page("Not taken back", "Look at the entry again.", back))
        }
    }
}

/// Writes a settling entry down, once however often it is sent.
fn append(visit: &Visit, typed: &Typed, happened: When, fact: Fact) -> Result<(), NotWritten> {
    let id = write::id_of(typed)?;
    if let Some(there) = visit.desk.store().get(id)?
        && there.chained.entry.fact == fact
    {
        return Ok(());
    }
    let by = write::writer_of(visit, typed).map_err(|problem| NotWritten::Problems(vec![problem]))?;
    write::put_down(visit, &[Draft { id, device: visit.desk.device(), happened, by, fact }])
}
