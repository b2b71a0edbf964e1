//! The service plan: the coming weeks drawn over the diary, pins, and the plan as files for other programs.

use crate::{
    dark_minute::DarkMinute,
    fields::{self, Problem},
    forms,
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten, common_fields as common},
};
use ::logbook::EntryId;
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use booth::{
    Answer,
    service_plan::{
        BEFORE_MINUTES, BenchSession, EVENING_MINUTES, LONGEST_DAYS, PlannedShowing, PlannedWork,
        ServicePlan, Standing, USUAL_DAYS, Wanted, WorkKind, service_plan,
    },
};
use maud::{Markup, html};
use std::sync::Arc;
use views::{Place, html as show_as};

/// The fields of the question.
const DAYS: &str = "days";
const AFRESH: &str = "afresh";
const EVENING: &str = "evening_minutes";
const BEFORE: &str = "before_minutes";

/// Shows the plan.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    planned(Arc::new(visit), typed, Vec::new(), StatusCode::OK).await
}

/// Planning takes a second or so of work: other requests go on meanwhile.
async fn planned(visit: Arc<Visit>, typed: Typed, problems: Vec<Problem>, status: StatusCode) -> Answered {
    let made = tokio::task::spawn_blocking(move || page(&visit, &typed, &problems, status));
    made.await.map_err(|_| broken())
}

fn broken() -> Trouble {
    Trouble::new(
        StatusCode::INTERNAL_SERVER_ERROR,
        "Something broke",
        "The plan could not be made.",
        "Go back and ask again; nothing was changed.",
    )
}

/// What is asked for; what cannot be read is taken as not asked.
fn wanted(typed: &Typed) -> Wanted {
    let number = |key: &str, usual: i64, most: i64| {
        let said = typed.get(key).and_then(|text| text.parse().ok());
        said.filter(|minutes| (0..=most).contains(minutes)).unwrap_or(usual)
    };
    let days = number(DAYS, i64::from(USUAL_DAYS), i64::from(LONGEST_DAYS));
    Wanted {
        days: i32::try_from(days).unwrap_or(USUAL_DAYS).max(1),
        afresh: typed.get(AFRESH).is_some(),
        evening_minutes: number(EVENING, EVENING_MINUTES, 600),
        before_minutes: number(BEFORE, BEFORE_MINUTES, 600),
        dark_minute: DarkMinute::of(typed).worth,
    }
}

fn asked(visit: &Visit, wanted: Wanted) -> Answer<ServicePlan<'_>> {
    service_plan(visit.booth(), visit.library(), &visit.now, visit.beliefs(), wanted)
}

fn page(visit: &Visit, typed: &Typed, problems: &[Problem], status: StatusCode) -> Response {
    let wanted = wanted(typed);
    let answer = asked(visit, wanted);
    let plan = &answer.value;
    let something = !plan.showings.is_empty() || !plan.sessions.is_empty();
    let mut rest = views::Sheet::new("");
    views::common::reasons(&mut rest, &answer);
    let main = html! {
        h1 { "Plan" }
        (fields::problems(problems))
        p.lead #plan-sentence { (plan.sentence) }
        @if something {
            (show_as::picture(&views::plan::picture(plan, visit.booth())))
            p.quiet { "Blocks are showings, one with a light square is pinned; a ring says how many pieces of work stand at the bench that day." }
        }
        @if !plan.not_met.is_empty() {
            h2 { "What cannot be met" }
            ul #plan-not-met { @for words in &plan.not_met { li { (words) } } }
        }
        @if !plan.heed.is_empty() {
            h2 { "For you to settle" }
            ul #plan-heed { @for words in &plan.heed { li { (words) } } }
        }
        @if something { (files(typed)) }
        @if !plan.pins_that_cannot_hold.is_empty() { (all_pins(visit)) }
        @if !plan.sessions.is_empty() {
            h2 { "At the bench" }
            @for session in &plan.sessions { (bench_session(visit, session, plan)) }
        }
        @if !plan.showings.is_empty() {
            h2 { "Showings" }
            @for showing in &plan.showings { (one_showing(visit, showing)) }
        }
        (question(wanted, &DarkMinute::of(typed)))
        (show_as::blocks(&rest.blocks))
    };
    layout::page_with(visit, Some(Section::Diary), "Plan", &main, status)
}

/// The plan as files.
fn files(typed: &Typed) -> Markup {
    let query: Vec<String> = [DAYS, AFRESH, EVENING, BEFORE, DarkMinute::KEY]
        .iter()
        .filter_map(|key| Some(format!("{key}={}", views::address::escaped(typed.get(key)?))))
        .collect();
    let query = if query.is_empty() { String::new() } else { format!("?{}", query.join("&")) };
    html! {
        p.ways {
            a href={ "/plan/files/plan.ics" (query) } download="plan.ics" { "As a calendar" }
            a href={ "/plan/files/plan.csv" (query) } download="plan.csv" { "As a table (CSV)" }
            a href={ "/plan/files/plan.json" (query) } download="plan.json" { "As JSON" }
        }
    }
}

fn bench_session(visit: &Visit, session: &BenchSession<'_>, plan: &ServicePlan<'_>) -> Markup {
    let card = views::plan::session_card(session, visit.booth(), visit.today());
    html! {
        section.card id={ "bench-" (session.starts.date()) } data-session=(session.starts.date()) {
            h3 { (show_as::words(&card.title)) }
            @if let Some(line) = card.lines.first() { p { (show_as::words(line)) } }
            ul {
                @for work in &session.work {
                    li data-work=(work.what) data-machine=(work.machine) {
                        (show_as::words(&views::plan::work_line(work, visit.booth())))
                        @match work.pin {
                            Some(entry) => (unpin(visit, entry, &session.starts.date().to_string())),
                            None => @if work.kind == WorkKind::Care { (pin_care(visit, work, session, plan)) },
                        }
                    }
                }
            }
        }
    }
}

fn pin_care(
    visit: &Visit,
    work: &PlannedWork<'_>,
    session: &BenchSession<'_>,
    plan: &ServicePlan<'_>,
) -> Markup {
    let day = session.starts.date();
    let id = format!("on-{}-{}-{day}", work.machine, work.what);
    html! {
        details {
            summary { "Pin it to a day" }
            form.ask method="post" action="/plan/pins" data-form="plan-pinned" {
                input type="hidden" name="machine" value=(work.machine);
                input type="hidden" name="task" value=(work.what);
                label for=(id) { "Day" }
                input id=(id) type="date" name="on" value=(day) min=(plan.from) max=(plan.to) required;
                (frame(visit, &format!("/plan#bench-{day}")))
                button type="submit" { "Pin" }
            }
        }
    }
}

/// Who writes, under which id, and where to go then.
fn frame(visit: &Visit, back: &str) -> Markup {
    let writer = visit.probable_writer().map(|writer| writer.to_string()).unwrap_or_default();
    html! {
        input type="hidden" name=(common::BY) value=(writer);
        input type="hidden" name=(common::ID) value=(visit.desk.new_id());
        input type="hidden" name=(common::BACK) value=(back);
    }
}

fn unpin(visit: &Visit, entry: EntryId, day: &str) -> Markup {
    html! {
        form.ask method="post" action={ "/logbook/" (entry) "/withdraw" } data-unpin=(entry) {
            input type="hidden" name="why" value="the plan may choose again";
            (frame(visit, &format!("/plan#bench-{day}")))
            button type="submit" { "Unpin" }
        }
    }
}

fn one_showing(visit: &Visit, showing: &PlannedShowing<'_>) -> Markup {
    let when = format!(
        "{}, {}",
        views::wording::date(showing.starts.date(), visit.today()),
        showing.starts.strftime("%H:%M")
    );
    let pinned = showing.machines.iter().filter_map(|seat| match seat.standing {
        Standing::Pinned(entry) => Some(entry),
        Standing::InDiary | Standing::Chosen => None,
    });
    html! {
        section.card id={ "showing-" (showing.showing) } data-showing=(showing.showing) {
            h3 { (when) " " a href=(Place::Showing(showing.showing.clone()).href()) { (showing.title) } }
            p data-machines { (show_as::words(&views::plan::machines(showing, visit.booth()))) }
            @for entry in pinned { (unpin(visit, entry, showing.starts.date().to_string().as_str())) }
            details {
                summary { "Pin another machine" }
                form.ask method="post" action="/plan/pins" data-form="plan-pinned" {
                    input type="hidden" name="showing" value=(showing.showing);
                    label for={ "pin-" (showing.showing) } { "Machine" }
                    select id={ "pin-" (showing.showing) } name="machine" {
                        @for (id, machine) in visit.booth().machines.iter().filter(|(_, one)| booth::is_offered(one)) {
                            option value=(id) { (machine.name) }
                        }
                    }
                    (frame(visit, &format!("/plan#showing-{}", showing.showing)))
                    button type="submit" { "Pin" }
                }
            }
        }
    }
}

/// Every pin with a way to take it out, where they cannot all hold.
fn all_pins(visit: &Visit) -> Markup {
    html! {
        h2 { "What is pinned" }
        ul #plan-pins {
            @for pin in &visit.booth().pins {
                li {
                    a href=(Place::Entry(pin.entry).href()) { (pin_in_words(visit, pin)) }
                    (unpin(visit, pin.entry, ""))
                }
            }
        }
    }
}

fn pin_in_words(visit: &Visit, pin: &::logbook::booth::PlanPin) -> String {
    let name = visit.booth().machine_name(&pin.machine);
    match &pin.what {
        ::logbook::booth::Pinned::At(showing) => {
            let title = visit.booth().showings.get(showing).map_or(showing.as_str(), |it| it.title.as_str());
            format!("{name} runs at {title}")
        }
        ::logbook::booth::Pinned::Care { task, on } => format!("{name}: {task} on {on}"),
    }
}

/// What is asked for, to ask anew.
fn question(wanted: Wanted, dark: &DarkMinute) -> Markup {
    html! {
        h2 { "Plan again" }
        form.entry method="get" action="/plan" {
            div.field {
                label for="plan-days" { "Days from today" }
                input #plan-days type="number" name=(DAYS) min="1" max=(LONGEST_DAYS) value=(wanted.days);
            }
            div.field {
                label for="plan-evening" { "Minutes at the bench on an evening without a showing" }
                input #plan-evening type="number" name=(EVENING) min="0" max="600" value=(wanted.evening_minutes);
            }
            div.field {
                label for="plan-before" { "Minutes at the bench before a showing" }
                input #plan-before type="number" name=(BEFORE) min="0" max="600" value=(wanted.before_minutes);
            }
            div.field { (dark.field()) }
            label.tick {
                input type="checkbox" name=(AFRESH) value="yes" checked[wanted.afresh];
                span { "Choose the machines of every showing anew, also where the diary names them" }
            }
            button.main type="submit" { "Plan again" }
        }
    }
}

/// Takes a pin.
pub async fn pin(visit: Visit, posted: Posted) -> Answered {
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let form = forms::of_kind("plan-pinned").expect("a test sees that every kind has a form");
    match write::form_in_background(&visit, form, &posted).await {
        Ok(entry) => Ok(write::onwards(&visit, &posted.typed, entry, &Place::Plan.href())),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            planned(visit, Typed::from_query(""), problems, StatusCode::UNPROCESSABLE_ENTITY).await
        }
    }
}

/// Gives the plan as a file.
pub async fn file(visit: Visit, Path(name): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let kind = match name.as_str() {
        "plan.ics" => "text/calendar; charset=utf-8",
        "plan.csv" => "text/csv; charset=utf-8",
        "plan.json" => "application/json",
        _ => {
            let words = format!("There is no file \"{name}\" of the plan.");
            return Err(Trouble::not_found(words, "Choose a calendar, a table or JSON.").way("/plan", "Plan"));
        }
    };
    let text = tokio::task::spawn_blocking({
        let name = name.clone();
        move || {
            let answer = asked(&visit, wanted(&typed));
            match name.as_str() {
                "plan.ics" => views::plan::calendar(&answer.value, visit.booth(), &visit.now),
                "plan.csv" => views::plan::csv(&answer.value, visit.booth()),
                _ => views::plan::json(&answer).to_string(),
            }
        }
    });
    let text = text.await.map_err(|_| broken())?;
    let head = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    Ok((head, text).into_response())
}
