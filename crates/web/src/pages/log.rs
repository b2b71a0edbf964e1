//! Writing something down: which kind, which machine, then its form.

use super::form_frame;
use crate::{
    fields::{self, Problem},
    forms::{self, Ask, Form},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten, common_fields as common},
};
use axum::{
    extract::{Path, RawQuery},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
};
use logbook::ids::MachineId;
use maud::{Markup, html};
use std::sync::Arc;
use views::{Place, address::escaped};

/// Shows what can be written down.
pub async fn choose(visit: Visit) -> Answered {
    let main = html! {
        h1 { "Write down" }
        ul.choices {
            @for form in forms::all().filter(|form| form.offered) {
                li { a href=(Place::LogKind(form.kind.to_owned(), Vec::new()).href()) data-kind=(form.kind) {
                    strong { (form.title) } span { (form.hint) }
                } }
            }
        }
    };
    Ok(layout::page(&visit, Section::Log, "Write down", &main))
}

/// Shows the form for one kind; asks for the machine first if it needs one.
pub async fn show(visit: Visit, Path(kind): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let form = form_of(&kind)?;
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    if visit.booth().people.is_empty() && visit.booth().machines.is_empty() {
        return Ok(Redirect::to(&Place::FirstRun.href()).into_response());
    }
    if form.needs_machine && typed.get("machine").is_none() {
        return Ok(choose_machine(&visit, form, &typed));
    }
    if let Some(machine) = typed.get("machine")
        && !visit.booth().machines.contains_key(machine)
    {
        return Err(Trouble::no_machine(machine));
    }
    Ok(form_page(&visit, form, &prefilled(&visit, form, typed), &[], StatusCode::OK))
}

/// Fills in what is known beforehand: the booth's own settings, so that changing one keeps the others.
fn prefilled(visit: &Visit, form: &Form, mut typed: Typed) -> Typed {
    let settings = &visit.booth().settings;
    if form.kind == "booth-named" {
        typed.set_if_missing("name", || settings.name.clone());
        typed.set_if_missing("zone", || settings.zone.clone());
        typed.set_if_missing("night_ends", || settings.night_ends.to_string());
        typed.set_if_missing("units", || {
            if settings.units == logbook::fact::PreferredUnits::Us { "us" } else { "metric" }.to_owned()
        });
        if settings.invented {
            typed.set_if_missing("invented", || "yes".to_owned());
        }
    }
    typed
}

fn form_of(kind: &str) -> Result<&'static Form, Trouble> {
    forms::of_kind(kind).filter(|form| form.offered).ok_or_else(|| {
        Trouble::not_found(
            format!("Nothing of the kind \"{kind}\" can be written down here."),
            "Choose what to write down.",
        )
        .way("/log", "Write down")
    })
}

/// How many machines are offered to choose from; beyond them one searches by name and writes from the machine's page.
const MOST_CHOICES: usize = 60;

fn choose_machine(visit: &Visit, form: &Form, typed: &Typed) -> Response {
    let machines: Vec<_> = visit.booth().machines.iter().filter(|(_, one)| one.retired.is_none()).collect();
    let rest = typed.as_query_without("machine");
    let href = |id: &MachineId| format!("/log/{}?machine={}{rest}", form.kind, escaped(id.as_str()));
    if let [(id, _)] = machines.as_slice() {
        return Redirect::to(&href(id)).into_response();
    }
    let main = html! {
        h1 { (form.title) }
        p { "On which machine?" }
        ul.choices {
            @for (id, machine) in machines.iter().take(MOST_CHOICES) {
                li { a href=(href(id)) data-machine=(id) { strong { (machine.name) } } }
            }
        }
        p.ways {
            @if machines.len() > MOST_CHOICES { a href="/machines" { "All machines" } }
            a href="/log/machine-added" { "Add a machine" }
        }
    };
    layout::page(visit, Section::Log, form.title, &main)
}

/// Whether entries of a kind may carry photos.
fn takes_photos(kind: &str) -> bool {
    matches!(kind, "care-done" | "noted" | "fault-noted")
}

fn form_page(
    visit: &Visit,
    form: &Form,
    typed: &Typed,
    problems: &[Problem],
    status: StatusCode,
) -> Response {
    let machine = typed.get("machine").map(MachineId::new);
    let ask = Ask { machine: machine.as_ref(), fault: typed.get("fault"), ..Ask::of(visit) };
    let about = machine.as_ref().filter(|_| form.needs_machine);
    let main = html! {
        h1 { (form.title) }
        @if let Some(machine) = about {
            p.quiet { "On " (views::common::machine_name(visit.booth(), machine.as_str())) }
        }
        (fields::problems(problems))
        form.entry method="post" action={ "/log/" (form.kind) } enctype=[takes_photos(form.kind).then_some("multipart/form-data")]
            data-form=(form.kind) novalidate {
            @if let Some(machine) = about { input type="hidden" name="machine" value=(machine); }
            (fields::show(&(form.fields)(&ask), typed, problems))
            @if takes_photos(form.kind) { (photo_field(problems)) }
            (form_frame(visit, typed, problems))
            button.main type="submit" { "Write it down" }
        }
        @if form.kind == "fault-closed" { (closed_before(&ask)) }
    };
    layout::page_with(visit, Some(Section::Log), form.title, &main, status)
}

/// What was closed is not closed again: its entry is corrected.
fn closed_before(ask: &Ask<'_>) -> Markup {
    let closed = forms::faults::closed_before(ask);
    html! {
        @if !closed.is_empty() {
            details.folded #older {
                summary { "An older one" }
                p { "It is closed. What it was is put right by correcting that entry:" }
                ul.choices { @for (entry, words) in &closed {
                    li { a href={ "/logbook/" (entry) "/correct" } { (words) } }
                } }
            }
        }
    }
}

fn photo_field(problems: &[Problem]) -> Markup {
    let problem = problems.iter().find(|problem| problem.key == common::PHOTO);
    html! {
        div class=(if problem.is_some() { "field wrong" } else { "field" }) data-field=(common::PHOTO) {
            label for="field-photo" { "Photo" span.quiet { " (if wanted)" } }
            input #field-photo type="file" name=(common::PHOTO) accept="image/*";
            @if let Some(problem) = problem { span.problem { (problem.words) } }
        }
    }
}

/// Takes a filled form.
pub async fn take(visit: Visit, Path(kind): Path<String>, posted: Posted) -> Answered {
    let form = form_of(&kind)?;
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    match write::form_in_background(&visit, form, &posted).await {
        Ok(entry) => {
            let otherwise = match posted.typed.get("machine") {
                Some(machine) => Place::Machine(MachineId::new(machine)).href(),
                None => Place::Logbook.href(),
            };
            Ok(write::onwards(&visit, &posted.typed, entry, &otherwise))
        }
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            Ok(form_page(&visit, form, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}
