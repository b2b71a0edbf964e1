//! One showing: how it stands, changing its plan, writing down that it was held or cancelled.

use super::{diary, form_frame};
use crate::{
    fields::{self, Problem},
    forms::{self, Ask, showings},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use axum::{extract::Path, http::StatusCode, response::Response};
use logbook::{
    EntryId, Fact, MachineId, ShowingId,
    booth::{Showing, ShowingState},
    fact::{Assigned, Ran, RunKind, ShowingCancelled, ShowingHeld, ShowingPlanned},
};
use maud::{Markup, html};
use std::sync::Arc;
use units::Hours;
use views::{Place, html as show_as};

fn find<'v>(visit: &'v Visit, id: &str) -> Result<(&'v ShowingId, &'v Showing), Trouble> {
    visit.booth().showings.get_key_value(id).ok_or_else(|| {
        Trouble::not_found(format!("There is no showing \"{id}\" in the diary."), "Look for it in the diary.")
            .way(Place::Diary.href(), "Diary")
    })
}

/// Which form of the page was sent, and what was wrong with it.
#[derive(Default)]
struct Sent<'s> {
    form: &'s str,
    typed: Typed,
    problems: &'s [Problem],
}

/// Shows one showing.
pub async fn show(visit: Visit, Path(id): Path<String>) -> Answered {
    let (id, showing) = find(&visit, &id)?;
    Ok(page(&visit, id, showing, &Sent::default(), StatusCode::OK))
}

fn page(visit: &Visit, id: &ShowingId, showing: &Showing, sent: &Sent<'_>, status: StatusCode) -> Response {
    let sheet = views::diary::showing_sheet(showing, visit.booth(), visit.today());
    let main = html! {
        (show_as::sheet(&sheet))
        (fields::problems(sent.problems))
        @if showing.state == ShowingState::Planned {
            (before_it(showing, visit))
            (held_form(visit, id, showing, sent))
            (change_form(visit, id, showing, sent))
            (cancel_form(visit, id, sent))
        }
    };
    layout::page_with(visit, Some(Section::Diary), &sheet.title, &main, status)
}

fn before_it(showing: &Showing, visit: &Visit) -> Markup {
    html! {
        p.ways {
            @for (machine, _) in &showing.machines {
                @let name = views::common::machine_name(visit.booth(), machine.as_str());
                a href=(Place::Walk(machine.clone(), "before-showing".to_owned()).href()) { "Walk " (name) }
            }
        }
    }
}

fn change_form(visit: &Visit, id: &ShowingId, showing: &Showing, sent: &Sent<'_>) -> Markup {
    let open = sent.form == "change";
    let typed = if open {
        sent.typed.clone()
    } else {
        let ask = ask(visit);
        forms::fill(diary::form(), &ask, &planned(id, showing))
    };
    let problems = if open { sent.problems } else { &[] };
    html! {
        details #change open[open] {
            summary { "Change the plan" }
            (diary::planning_form(visit, &Place::Showing(id.clone()).href(), &typed, problems, "Change it"))
        }
    }
}

fn ask(visit: &Visit) -> Ask<'_> {
    Ask {
        booth: visit.booth(),
        library: visit.library(),
        machine: None,
        now: &visit.now,
        id: visit.desk.new_id(),
    }
}

/// The plan as an entry would say it.
fn planned(id: &ShowingId, showing: &Showing) -> Fact {
    let assigned = |(machine, hours): &(MachineId, Hours)| Assigned {
        machine: machine.clone(),
        running_hours: Some(*hours),
    };
    ShowingPlanned {
        showing: id.clone(),
        title: showing.title.clone(),
        starts: showing.starts.clone(),
        length_minutes: showing.length_minutes,
        place: showing.place.clone(),
        machines: showing.machines.iter().map(assigned).collect(),
        prints: showing.prints.clone(),
        note: showing.note.clone(),
    }
    .into()
}

fn held_form(visit: &Visit, id: &ShowingId, showing: &Showing, sent: &Sent<'_>) -> Markup {
    let open = sent.form == "held";
    let mut typed = if open { sent.typed.clone() } else { Typed::default() };
    let problems = if open { sent.problems } else { &[] };
    typed.set_if_missing("lasted_minutes", || views::wording::tenths(showing.length_minutes));
    forms::fill_when(
        &mut typed,
        logbook::When::from_zoned(&showing.starts).known_to(logbook::Precision::Minute),
    );
    let form = forms::of_kind("showing-held").expect("a test sees that every kind has a form");
    html! {
        details #held open[open] {
            summary { "It was held" }
            form.entry method="post" action={ (Place::Showing(id.clone()).href()) "/held" } data-form="showing-held" novalidate {
                (fields::show(&(form.fields)(&ask(visit)), &typed, problems))
                fieldset {
                    legend { "What each machine ran" }
                    span.hint { "These hours are added to the machine. Leave empty what is written down elsewhere." }
                    @for (machine, hours) in &showing.machines { (ran_field(visit, machine, *hours, &typed, problems)) }
                }
                (form_frame(visit, &typed, problems))
                button.main type="submit" { "Write it down" }
            }
        }
    }
}

/// The name of the field for the id of a machine's run.
fn run_id_field(machine: &str) -> String {
    format!("run-id-of-{machine}")
}

fn ran_field(
    visit: &Visit,
    machine: &MachineId,
    hours: Hours,
    typed: &Typed,
    problems: &[Problem],
) -> Markup {
    let key = showings::hours_field(machine.as_str());
    let run_id = run_id_field(machine.as_str());
    let id = typed.get(&run_id).map_or_else(|| visit.desk.new_id().to_string(), str::to_owned);
    let value = typed.raw(&key).map_or_else(|| format!("{:.2}", hours.hours()), str::to_owned);
    let problem = problems.iter().find(|problem| problem.key == key);
    html! {
        div class=(if problem.is_some() { "field wrong" } else { "field" }) data-field=(key) {
            label for={ "field-ran-" (machine) } { (views::common::machine_name(visit.booth(), machine.as_str())) }
            span.with-unit {
                input id={ "field-ran-" (machine) } type="text" name=(key) value=(value) autocomplete="off";
                span { "h" }
            }
            input type="hidden" name=(run_id) value=(id);
            @if let Some(problem) = problem { span.problem { (problem.words) } }
        }
    }
}

fn cancel_form(visit: &Visit, id: &ShowingId, sent: &Sent<'_>) -> Markup {
    let open = sent.form == "cancelled";
    let typed = if open { sent.typed.clone() } else { Typed::default() };
    let problems = if open { sent.problems } else { &[] };
    let form = forms::of_kind("showing-cancelled").expect("a test sees that every kind has a form");
    html! {
        details #cancel open[open] {
            summary { "Cancel it" }
            form.entry method="post" action={ (Place::Showing(id.clone()).href()) "/cancelled" } data-form="showing-cancelled" novalidate {
                (fields::show(&(form.fields)(&ask(visit)), &typed, problems))
                (form_frame(visit, &typed, problems))
                button type="submit" { "Cancel the showing" }
            }
        }
    }
}

/// Takes a change of plan.
pub async fn change(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    let (id, showing) = find(&visit, &id)?;
    let base = planned(id, showing);
    take(visit, "change", "showing-planned", posted, base, Vec::new()).await
}

/// Takes the word that it was held, and what each machine ran.
pub async fn held(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    let (id, showing) = find(&visit, &id)?;
    let base: Fact =
        ShowingHeld { showing: id.clone(), lasted_minutes: 0.0, audience: None, note: String::new() }.into();
    match runs(id, showing, &posted.typed) {
        Ok(runs) => take(visit, "held", "showing-held", posted, base, runs).await,
        Err(problem) => {
            let problems = [problem];
            let sent = Sent { form: "held", typed: posted.typed, problems: &problems };
            Ok(page(&visit, id, showing, &sent, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}

/// Reads what each machine ran; an empty field is no run.
fn runs(id: &ShowingId, showing: &Showing, typed: &Typed) -> Result<Vec<(EntryId, Fact)>, Problem> {
    let mut runs = Vec::new();
    for (machine, _) in &showing.machines {
        let key = showings::hours_field(machine.as_str());
        let Some(text) = typed.get(&key) else { continue };
        let hours = fields::hours(text).map_err(|words| Problem::new(key, words))?;
        let run_id = typed.get(&run_id_field(machine.as_str())).and_then(|id| id.parse().ok());
        let run_id = run_id.ok_or_else(|| Problem::new("", "This form has lost its ids; open it again."))?;
        let ran = Ran {
            machine: machine.clone(),
            run: RunKind::Showing,
            hours,
            lit_hours: None,
            strikes: None,
            showing: Some(id.clone()),
            print: None,
            passes: None,
            estimated: false,
        };
        runs.push((run_id, ran.into()));
    }
    Ok(runs)
}

/// Takes the word that it will not take place.
pub async fn cancelled(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    let (id, _) = find(&visit, &id)?;
    let base: Fact = ShowingCancelled { showing: id.clone(), why: String::new() }.into();
    take(visit, "cancelled", "showing-cancelled", posted, base, Vec::new()).await
}

async fn take(
    visit: Visit,
    name: &str,
    kind: &str,
    posted: Posted,
    base: Fact,
    with: Vec<(EntryId, Fact)>,
) -> Answered {
    let form = forms::of_kind(kind).expect("a test sees that every kind has a form");
    let showing_id = forms::body_of(&base)["showing"].as_str().unwrap_or_default().to_owned();
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let (pen, read) = (Arc::clone(&visit), Arc::clone(&posted));
    let written = write::blocking(move || write::form_over(&pen, form, &read, Some(&base), with)).await;
    let (id, showing) = find(&visit, &showing_id)?;
    match written {
        Ok(entry) => Ok(write::onwards(&visit, &posted.typed, entry, &Place::Showing(id.clone()).href())),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            let sent = Sent { form: name, typed: posted.typed.clone(), problems: &problems };
            Ok(page(&visit, id, showing, &sent, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}
