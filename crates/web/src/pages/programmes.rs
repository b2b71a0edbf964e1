//! Programmes of reels: the list, one of them with its plan, and the form by which it is made and changed.

use super::{unseen_fields, writer_field};
use crate::{
    fields::{self, Choice, Problem},
    forms,
    layout::{self, Section},
    pages::programme_form::{self as form, Given, ITEM_FIELDS},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use ::logbook::{
    Draft, EntryId, Fact, MachineId, Precision, ProgrammeId, When,
    booth::{Programme, ShowingState},
    fact::ProgrammeKept,
};
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use booth::show;
use maud::{Markup, html};
use std::{collections::BTreeMap, sync::Arc};
use views::{Block, Place, Sheet, html as show_as};

/// The last part of the address under which a programme is made that is not known yet.
const NEW: &str = "new";

/// The last part of the address under which one is reckoned.
const FIGURES: &str = "figures";

fn address(programme: &str) -> String {
    format!("/programmes/{}", views::address::escaped(programme))
}

/// Lists the programmes.
pub async fn list(visit: Visit) -> Answered {
    let mut rows: Vec<_> = visit.booth().programmes.iter().collect();
    rows.sort_by_key(|(_, programme)| std::cmp::Reverse(programme.kept.0.unix_ms));
    let main = html! {
        h1 { "Programmes" }
        p { "Reels in the order in which they are shown: running times, changeovers, take-up, and the show itself." }
        p.ways { a.main href="/programmes/new" { "A new programme" } }
        @if rows.is_empty() { p.quiet { "No programme is kept yet." } }
        ul.choices {
            @for (id, programme) in rows {
                @let n_reels = programme.items.iter().map(|item| item.reels.len()).sum::<usize>();
                li { a href=(address(id.as_str())) data-programme=(id) {
                    strong { (programme.title) } " "
                    span.quiet { (views::wording::counted(n_reels, "reel")) }
                } }
            }
        }
    };
    Ok(layout::page(&visit, Section::Programmes, "Programmes", &main))
}

fn find<'v>(visit: &'v Visit, id: &str) -> Result<Option<(&'v ProgrammeId, &'v Programme)>, Trouble> {
    if id == NEW {
        return Ok(None);
    }
    visit.booth().programmes.get_key_value(id).map(Some).ok_or_else(|| {
        Trouble::not_found(format!("There is no programme \"{id}\" in this booth."), "Choose one of them.")
            .way("/programmes", "Programmes")
    })
}

/// Shows a programme with its plan, and the form to change it.
pub async fn show(visit: Visit, Path(id): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let found = find(&visit, &id)?;
    let filled = match found {
        Some((_, programme)) => form::filled(programme),
        None => form::filled_for(visit.booth(), typed.get("showing")),
    };
    Ok(page(&visit, found, &filled, &[], StatusCode::OK))
}

/// What a programme says as it is typed, for the script: its plan as a fragment, and what is wrong beside each field.
pub async fn figures(visit: Visit, RawQuery(query): RawQuery) -> Response {
    let mut typed = Typed::from_query(query.as_deref().unwrap_or(""));
    // A name is wanted when it is kept; times need none.
    typed.set_if_missing("title", || "A new programme".to_owned());
    let is_begun = form::has_reels(&typed);
    let (answers, problems) = match form::read(&typed) {
        Ok(given) => (Some(plans(&visit, &programme_of(given)).into_string()), Vec::new()),
        Err(_) if !is_begun => (Some(String::new()), Vec::new()),
        Err(problems) => (None, problems),
    };
    let problems: BTreeMap<String, String> =
        problems.into_iter().map(|problem| (problem.key, problem.words)).collect();
    let body = serde_json::json!({ "answers": answers, "problems": problems });
    ([(header::CONTENT_TYPE, "application/json")], body.to_string()).into_response()
}

/// A programme as it would stand if it were kept.
fn programme_of(given: Given) -> Programme {
    let Given { title, items, showings, machines, run_up, relace, interval, note } = given;
    let never = (When { unix_ms: 0, offset_s: 0, precision: Precision::Second }, EntryId(uuid::Uuid::nil()));
    Programme { title, items, showings, machines, run_up, relace, interval, note, kept: never }
}

/// Keeps a programme.
pub async fn take(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    let known = find(&visit, &id)?.map(|(id, _)| id.clone());
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let (pen, read) = (Arc::clone(&visit), Arc::clone(&posted));
    match write::blocking(move || keep(&pen, &read.typed, known)).await {
        Ok((entry, programme)) => {
            Ok(write::onwards(&visit, &posted.typed, entry, &address(programme.as_str())))
        }
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            let found = find(&visit, &id)?;
            Ok(page(&visit, found, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}

fn keep(
    visit: &Visit,
    typed: &Typed,
    known: Option<ProgrammeId>,
) -> Result<(EntryId, ProgrammeId), NotWritten> {
    let id = write::id_of(typed)?;
    if let Some(there) = visit.desk.store().get(id)?
        && let Fact::ProgrammeKept(kept) = &there.chained.entry.fact
    {
        return Ok((id, kept.programme.clone()));
    }
    let Given { title, items, showings, machines, run_up, relace, interval, note } =
        form::read(typed).map_err(NotWritten::Problems)?;
    let programme = known.unwrap_or_else(|| {
        let taken = |id: &str| id == NEW || id == FIGURES || visit.booth().programmes.contains_key(id);
        ProgrammeId::new(forms::new_name(&title, taken))
    });
    let (by, happened) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    let fact = ProgrammeKept {
        programme: programme.clone(),
        title,
        items,
        showings,
        machines,
        run_up_seconds: run_up,
        relace_seconds: relace,
        interval_seconds: interval,
        note,
    };
    let draft = Draft { id, device: visit.desk.device(), happened, by, fact: fact.into() };
    write::put_down(visit, &[draft])?;
    Ok((id, programme))
}

fn page(
    visit: &Visit,
    found: Option<(&ProgrammeId, &Programme)>,
    typed: &Typed,
    problems: &[Problem],
    status: StatusCode,
) -> Response {
    let title = found.map_or("A new programme", |(_, programme)| programme.title.as_str());
    let action = found.map_or_else(|| address(NEW), |(id, _)| address(id.as_str()));
    let main = html! {
        h1 { (title) }
        @if let Some((_, programme)) = found {
            (ways_to_the_show(visit, programme))
            div #programme-answers.reckoned aria-live="polite" { (plans(visit, programme)) }
        }
        (fields::problems(problems))
        details.broad open[found.is_none() || !problems.is_empty()] #programme-change {
            summary { @if found.is_some() { "Change it" } @else { "Its reels" } }
            (entry_form(visit, &action, typed, problems))
        }
        @if found.is_none() { div #programme-answers.reckoned aria-live="polite" {} }
    };
    layout::page_with_scripts(visit, Some(Section::Programmes), title, &main, status, &["/assets/reckon.js"])
}

fn ways_to_the_show(visit: &Visit, programme: &Programme) -> Markup {
    let showings = programme.showings.iter().filter_map(|id| Some((id, visit.booth().showings.get(id)?)));
    html! {
        p.ways {
            @for (id, showing) in showings {
                @let when = views::wording::date(showing.starts.date(), visit.today());
                @match showing.state {
                    ShowingState::Planned => { a.main href={ (Place::Showing(id.clone()).href()) "/show" } { "Run it on " (when) } }
                    _ => { a href={ (Place::Showing(id.clone()).href()) "/show/report" } { "Report of " (when) } }
                }
            }
        }
    }
}

/// The machines of the first showing that the programme is for.
fn machines_of_showing(visit: &Visit, programme: &Programme) -> Vec<MachineId> {
    let showings = programme.showings.iter().filter_map(|id| visit.booth().showings.get(id));
    let mut machines = showings.map(|showing| showing.machines.iter().map(|(id, _)| id.clone()).collect());
    machines.next().unwrap_or_default()
}

/// The plan, the same on one machine alone, and what could be joined.
fn plans(visit: &Visit, programme: &Programme) -> Markup {
    let (booth, library) = (visit.booth(), visit.library());
    let machines = machines_of_showing(visit, programme);
    let mut sheet = Sheet::new("");
    let answer = match show::plan_of_programme(booth, library, programme, &machines) {
        Ok(answer) => answer,
        Err(error) => return html! { p.done-notice { (error) "." } },
    };
    views::show::plan(&mut sheet, &answer, &show::checks(booth, library, &answer.value));
    let mut further = Vec::new();
    if answer.value.machines.len() > 1 {
        for on in &answer.value.machines {
            let alone = Programme { machines: vec![on.machine.clone()], ..programme.clone() };
            if let Ok(alone) = show::plan_of_programme(booth, library, &alone, &[]) {
                let mut one = Sheet::new("");
                views::show::plan(&mut one, &alone, &[]);
                further.push((format!("On {} alone, should the other fail", on.name), one));
            }
        }
    }
    html! {
        (show_as::blocks(&sheet.blocks))
        @for (summary, one) in further {
            details { summary { (summary) } (show_as::blocks(&one.blocks)) }
        }
        (joined(visit, programme, &answer.value))
        @if !programme.note.is_empty() { p { (programme.note) } }
    }
}

/// The fewest spools on which it could be built up.
fn joined(visit: &Visit, programme: &Programme, plan: &show::ShowPlan) -> Markup {
    let kind = plan.machines.first().and_then(|on| {
        let machine = visit.booth().machines.get(&on.machine)?;
        visit.library().get(machine.machine_type.as_str())
    });
    let Some(kind) = kind else { return html! {} };
    let draws_in = kind.features.threading == machine::Threading::SelfThreading;
    let spools = show::film_items(programme)
        .and_then(|items| show::joined_spools(&items, kind.features.max_spool, draws_in));
    let Ok(spools) = spools else { return html! {} };
    if spools.len() >= plan.reels.len() {
        return html! {};
    }
    let lines = spools.iter().map(|spool| {
        let gauge = plan.reels.first().map_or(film::Gauge::Mm16, |reel| reel.gauge);
        let names: Vec<String> = spool
            .reels
            .iter()
            .map(|(item, reel)| {
                format!(
                    "{}, reel {}",
                    programme.items[*item].title, programme.items[*item].reels[*reel].number
                )
            })
            .collect();
        format!("{}: {}", units::show::film_length(gauge.length_of(spool.total)), names.join("; ")).into()
    });
    let block = Block::List(lines.collect());
    html! {
        details { summary { "Built up on " (views::wording::counted(spools.len(), "spool")) } (show_as::blocks(&[block]))
            p.quiet { "What is lent or unique stays apart and keeps its leaders. Take it apart again before it goes home." }
        }
    }
}

fn entry_form(visit: &Visit, action: &str, typed: &Typed, problems: &[Problem]) -> Markup {
    let n_items = form::n_items(typed);
    html! {
        form.entry method="post" action=(action) data-form="programme-kept" data-figures={ (address(FIGURES)) }
            data-answers="programme-answers" novalidate {
            div data-figured {
                (fields::show(&form::head_fields(), typed, problems))
                @for at in 1..=n_items { (item_fieldset(at, typed, problems)) }
                (boxes("showing", "For which showing", &coming(visit, typed), typed))
                (boxes("machine", "On which machines", &machines(visit), typed))
                (fields::show(&form::tail_fields(), typed, problems))
            }
            (writer_field(visit, typed, problems))
            (unseen_fields(visit, typed))
            button.main type="submit" { "Keep the programme" }
        }
    }
}

fn item_fieldset(at: usize, typed: &Typed, problems: &[Problem]) -> Markup {
    html! {
        fieldset data-item=(at) {
            legend { "Item " (at) @if at > 1 { span.quiet { " (left empty: none)" } } }
            (form::print_of(at, typed))
            @for field in ITEM_FIELDS { (form::item_field(at, field, typed, problems)) }
        }
    }
}

/// Boxes to tick.
fn boxes(name: &str, legend: &str, choices: &[Choice], typed: &Typed) -> Markup {
    html! {
        @if !choices.is_empty() {
            fieldset.ticks {
                legend { (legend) }
                @for choice in choices {
                    label.tick {
                        input type="checkbox" name=(name) value=(choice.value) checked[typed.all(name).any(|value| value == choice.value)];
                        span { (choice.words) }
                    }
                }
            }
        }
    }
}

/// The showings that are planned still, and those that it is for already.
fn coming(visit: &Visit, typed: &Typed) -> Vec<Choice> {
    let named: Vec<&str> = typed.all("showing").collect();
    let mut showings: Vec<_> = visit
        .booth()
        .showings
        .iter()
        .filter(|(id, showing)| {
            let is_near = showing.starts.date() >= visit.today() && showing.state == ShowingState::Planned;
            is_near || named.contains(&id.as_str())
        })
        .collect();
    showings.sort_by_key(|(_, showing)| showing.starts.timestamp());
    let words = |showing: &::logbook::booth::Showing| {
        format!("{}, {}", views::wording::date(showing.starts.date(), visit.today()), showing.title)
    };
    showings.into_iter().map(|(id, showing)| Choice::new(id.as_str(), words(showing))).collect()
}

fn machines(visit: &Visit) -> Vec<Choice> {
    let there = visit.booth().machines.iter().filter(|(_, machine)| machine.retired.is_none());
    there.map(|(id, machine)| Choice::new(id.as_str(), &machine.name)).collect()
}
