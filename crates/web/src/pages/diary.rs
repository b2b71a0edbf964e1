//! The diary, and a new showing in it.

use super::{unseen_fields, writer_field};
use crate::{
    fields::{self, Problem},
    forms::{self, Ask, Form, showings},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use axum::{extract::RawQuery, http::StatusCode, response::Response};
use jiff::{ToSpan, civil::Date};
use maud::{Markup, html};
use std::sync::Arc;
use views::{Place, html as show_as};

/// When an evening's showing begins unless somebody says otherwise (common practice, no source).
const USUAL_START: (i8, i8) = (19, 30);
/// How many days the diary shows at a time.
const DAYS_SHOWN: i64 = 35;

/// Shows five weeks of the diary, from today or from a given day.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let from = match typed.get("from") {
        None => visit.today(),
        Some(text) => text.parse::<Date>().map_err(|_| {
            Trouble::not_understood(
                format!("\"{text}\" is not a day."),
                "Write it as year, month, day: 2026-03-07.",
            )
            .way("/diary", "Diary")
        })?,
    };
    let moved = |days: i64| from.checked_add(days.days()).unwrap_or(from);
    let to = moved(DAYS_SHOWN - 1);
    let answer = booth::diary(visit.booth(), visit.library(), from, to, &visit.now);
    let sheet = views::diary::sheet(&answer, visit.booth(), visit.today());
    let main = html! {
        h1 { (sheet.title) }
        p.ways {
            a.main href=(Place::NewShowing.href()) { "Add a showing" }
            a href=(Place::Plan.href()) { "Plan the month" }
            a href={ "/diary?from=" (moved(-DAYS_SHOWN)) } rel="prev" { "Earlier" }
            a href={ "/diary?from=" (moved(DAYS_SHOWN)) } rel="next" { "Later" }
        }
        p.quiet { (views::wording::date(from, visit.today())) " to " (views::wording::date(to, visit.today())) }
        (show_as::blocks(&sheet.blocks))
    };
    Ok(layout::page(&visit, Section::Diary, &sheet.title, &main))
}

/// The form for a showing.
pub fn form() -> &'static Form {
    forms::of_kind("showing-planned").expect("a test sees that every kind has a form")
}

/// Shows an empty form for a showing.
pub async fn new(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let mut typed = Typed::from_query(query.as_deref().unwrap_or(""));
    // The usual hour of this evening, or of the next one where that has passed.
    let day = if visit.now.datetime() < visit.today().at(USUAL_START.0, USUAL_START.1, 0, 0) {
        visit.today()
    } else {
        visit.today().tomorrow().unwrap_or_else(|_| visit.today())
    };
    typed.set_if_missing(showings::START_DAY, || day.to_string());
    typed.set_if_missing(showings::START_TIME, || format!("{:02}:{:02}", USUAL_START.0, USUAL_START.1));
    Ok(new_page(&visit, &typed, &[], StatusCode::OK))
}

fn new_page(visit: &Visit, typed: &Typed, problems: &[Problem], status: StatusCode) -> Response {
    let main = html! {
        h1 { "A new showing" }
        (fields::problems(problems))
        (planning_form(visit, "/diary/new", typed, problems, "Put it in the diary"))
    };
    layout::page_with(visit, Some(Section::Diary), "A new showing", &main, status)
}

/// The form that plans a showing or changes its plan.
pub fn planning_form(
    visit: &Visit,
    action: &str,
    typed: &Typed,
    problems: &[Problem],
    words: &str,
) -> Markup {
    let all = (form().fields)(&Ask::of(visit));
    let (first, rest) = all.split_at(1.min(all.len()));
    html! {
        form.entry method="post" action=(action) data-form="showing-planned" novalidate {
            (fields::show(first, typed, problems))
            (start_and_machines(visit, typed, problems))
            @if problems.iter().any(|problem| problem.key == showings::START_DAY && begins_in_the_past(visit, typed).is_some()) {
                label.tick { input type="checkbox" name=(PAST_IS_MEANT) value="yes"; span { "It is meant so: it has begun already" } }
            }
            (fields::show(rest, typed, problems))
            (writer_field(visit, typed, problems))
            (unseen_fields(visit, typed))
            button.main type="submit" { (words) }
        }
    }
}

/// When it starts and on which machines.
pub fn start_and_machines(visit: &Visit, typed: &Typed, problems: &[Problem]) -> Markup {
    let about = |key: &str| problems.iter().find(|problem| problem.key == key);
    let problem = about(showings::START_DAY).or(about(showings::START_TIME));
    let on: Vec<&str> = typed.all(showings::MACHINE).collect();
    html! {
        fieldset class=[problem.map(|_| "field wrong")] data-field="starts" {
            legend { "When it starts" }
            div.two {
                div {
                    label.unseen for="field-start_day" { "Day" }
                    input #field-start_day type="date" name=(showings::START_DAY) required
                        value=(typed.raw(showings::START_DAY).unwrap_or(""));
                }
                div {
                    label.unseen for="field-start_time" { "Time" }
                    input #field-start_time type="time" name=(showings::START_TIME) required
                        value=(typed.raw(showings::START_TIME).unwrap_or(""));
                }
            }
            @if let Some(problem) = problem { span.problem { (problem.words) } }
        }
        fieldset #field-on_machine data-field=(showings::MACHINE) {
            legend { "On which machines" }
            span.hint { "Hours left empty: an equal share of the programme." }
            @for (id, machine) in visit.booth().machines.iter().filter(|(id, one)| one.retired.is_none() || on.contains(&id.as_str())) {
                @let barred = !booth::is_offered(machine);
                @let ticked = on.contains(&id.as_str());
                @let key = showings::hours_field(id.as_str());
                div.two {
                    label.tick {
                        input type="checkbox" name=(showings::MACHINE) value=(id) checked[ticked] disabled[barred && !ticked];
                        span {
                            (machine.name)
                            @if barred { " " (views::html::mark_with(views::Mark::NotForUse, "not for use")) }
                            @if barred && !machine.fitness.why.is_empty() { " " span.quiet { (machine.fitness.why) } }
                        }
                    }
                    span.with-unit {
                        label.unseen for={ "field-" (key) } { "Hours on " (machine.name) }
                        input id={ "field-" (key) } type="text" name=(key) value=(typed.raw(&key).unwrap_or("")) autocomplete="off";
                        span { "h" }
                    }
                }
                @if let Some(problem) = about(&key) { span.problem { (problem.words) } }
            }
            @if let Some(problem) = about(showings::MACHINE) { span.problem { (problem.words) } }
        }
    }
}

/// The field with which one says that a showing in the past is meant.
const PAST_IS_MEANT: &str = "past_is_meant";

/// A new showing that would have begun already is asked back once: mostly the day is wrong.
fn begins_in_the_past(visit: &Visit, typed: &Typed) -> Option<Problem> {
    if typed.get(PAST_IS_MEANT).is_some() {
        return None;
    }
    let starts = showings::read_start(typed, &Ask::of(visit)).ok()?;
    let words = format!(
        "{} has passed already. Choose another day, or tick below that it is meant so.",
        starts.strftime("%A %-d %B, %H:%M")
    );
    (starts.timestamp() < visit.now.timestamp()).then(|| Problem::new(showings::START_DAY, words))
}

/// Takes a new showing.
pub async fn take_new(visit: Visit, posted: Posted) -> Answered {
    if let Some(problem) = begins_in_the_past(&visit, &posted.typed) {
        return Ok(new_page(&visit, &posted.typed, &[problem], StatusCode::UNPROCESSABLE_ENTITY));
    }
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    match write::form_in_background(&visit, form(), &posted).await {
        Ok(entry) => Ok(write::onwards(&visit, &posted.typed, entry, &Place::Diary.href())),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            Ok(new_page(&visit, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}
