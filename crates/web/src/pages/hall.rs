//! The halls: how each was last set up, and the page that works out a set-up as one types.

use super::{unseen_fields, writer_field};
use crate::{
    fields::{self, Choice, Problem},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use ::logbook::{
    Draft, EntryId, Fact, PlaceId,
    fact::{PlaceAdded, SetupKept},
};
use ::venue::{FIELDS, Field, FieldError, Group, fields::Kind, formats};
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use booth::hall::{HallAnswers, HallRow, hall, hall_answers, halls};
use maud::{Markup, html};
use std::{collections::BTreeMap, sync::Arc};
use views::{Block, Place, html as show_as};

/// The field that names a new hall.
const NAME: &str = "hall-name";
/// The field that says what else to know.
const NOTE: &str = "note";
/// The last part of the address under which a hall is set up that is not known yet.
const NEW: &str = "new";

/// Lists the halls.
pub async fn choose(visit: Visit) -> Answered {
    let rows = halls(visit.booth());
    let main = html! {
        h1 { "Halls" }
        p { "Lens, light, seats, sound and power of a hall, worked out as you type and kept for the next visit." }
        p.ways { a.main href="/halls/new" { "Set up a new hall" } }
        @if rows.is_empty() { p.quiet { "No hall is known yet." } }
        ul.choices {
            @for row in &rows {
                li { a href=(Place::Hall(row.place.clone()).href()) {
                    strong { (row.name) }
                    " " span.quiet { @if row.setup.is_some() { (row.notes) } @else { "not set up yet. " (row.notes) } }
                } }
            }
        }
    };
    Ok(layout::page(&visit, Section::Halls, "Halls", &main))
}

/// What stands in the fields: what was typed, else what was kept.
fn values(typed: &Typed, row: Option<&HallRow<'_>>) -> BTreeMap<String, String> {
    let asked = FIELDS.iter().any(|field| typed.raw(field.key).is_some());
    if !asked {
        return row.and_then(|row| row.setup).map(|setup| setup.values.clone()).unwrap_or_default();
    }
    let filled =
        FIELDS.iter().filter_map(|field| Some((field.key.to_owned(), typed.get(field.key)?.to_owned())));
    filled.collect()
}

/// Finds a hall by the address; none for a new one.
fn find<'v>(visit: &'v Visit, place: &str) -> Result<Option<HallRow<'v>>, Trouble> {
    if place == NEW {
        return Ok(None);
    }
    hall(visit.booth(), &PlaceId::new(place)).map(Some).ok_or_else(|| {
        Trouble::not_found(format!("There is no hall \"{place}\" in this booth."), "Choose one of the halls.")
            .way("/halls", "Halls")
    })
}

/// Shows a hall with what its set-up says.
pub async fn show(visit: Visit, Path(place): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let row = find(&visit, &place)?;
    let values = values(&typed, row.as_ref());
    Ok(page(&visit, row, &values, &typed, &[], StatusCode::OK))
}

/// What a set-up says, for the script: the answers as a fragment, and what is wrong beside each field.
pub async fn figures(RawQuery(query): RawQuery) -> Response {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let answers = hall_answers(&values(&typed, None));
    let problems: BTreeMap<&str, String> =
        answers.errors.iter().map(|error| (error.field, sentence(error))).collect();
    let body = serde_json::json!({ "answers": told(&answers).into_string(), "problems": problems });
    ([(header::CONTENT_TYPE, "application/json")], body.to_string()).into_response()
}

/// Keeps a set-up.
pub async fn take(visit: Visit, Path(place): Path<String>, posted: Posted) -> Answered {
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let row = find(&visit, &place)?;
    let known = row.map(|row| row.place.clone());
    let values = values(&posted.typed, None);
    let kept = {
        let (visit, posted, values) = (Arc::clone(&visit), Arc::clone(&posted), values.clone());
        write::blocking(move || keep(&visit, &posted.typed, known, &values)).await
    };
    match kept {
        Ok((entry, place)) => Ok(write::onwards(&visit, &posted.typed, entry, &Place::Hall(place).href())),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            Ok(page(&visit, row, &values, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}

/// Writes the hall down if it is new, and its set-up. What is sent again is written once.
fn keep(
    visit: &Visit,
    typed: &Typed,
    known: Option<PlaceId>,
    values: &BTreeMap<String, String>,
) -> Result<(EntryId, PlaceId), NotWritten> {
    let id = write::id_of(typed)?;
    if let Some(there) = visit.desk.store().get(id)?
        && let Fact::SetupKept(kept) = &there.chained.entry.fact
    {
        return Ok((id, kept.place.clone()));
    }
    let wrong: Vec<Problem> = hall_answers(values)
        .errors
        .iter()
        .map(|error| Problem::new(error.field, sentence(error)).asked(error.label))
        .collect();
    if !wrong.is_empty() {
        return Err(NotWritten::Problems(wrong));
    }
    let (by, happened) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    let draft = |id, fact| Draft { id, device: visit.desk.device(), happened, by: by.clone(), fact };
    let kept = |place: &PlaceId| {
        let note = typed.get(NOTE).unwrap_or_default().to_owned();
        draft(id, Fact::SetupKept(SetupKept { place: place.clone(), values: values.clone(), note }))
    };
    let Some(place) = known else {
        let place = new_hall(visit, typed)?;
        let hall = place.place.clone();
        let added = draft(visit.desk.new_id(), Fact::PlaceAdded(place));
        write::put_down_in_turn(visit, &[added, kept(&hall)])?;
        return Ok((id, hall));
    };
    write::put_down(visit, &[kept(&place)])?;
    Ok((id, place))
}

/// A hall under the name that was typed.
fn new_hall(visit: &Visit, typed: &Typed) -> Result<PlaceAdded, NotWritten> {
    let name = typed.get(NAME).ok_or_else(|| {
        NotWritten::Problems(vec![
            Problem::new(NAME, "A new hall needs a name.").asked("What people call it"),
        ])
    })?;
    let taken = |id: &str| id == NEW || visit.booth().places.contains_key(id);
    let place = PlaceId::new(crate::forms::new_name(name, taken));
    Ok(PlaceAdded { place, name: name.to_owned(), notes: String::new() })
}

/// What is wrong, as a sentence without the field's name.
fn sentence(error: &FieldError) -> String {
    let words = error.problem.to_string();
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", letters.as_str())
}

fn page(
    visit: &Visit,
    row: Option<HallRow<'_>>,
    values: &BTreeMap<String, String>,
    typed: &Typed,
    problems: &[Problem],
    status: StatusCode,
) -> Response {
    let answers = hall_answers(values);
    let title = row.map_or("A new hall", |row| row.name);
    let address = row.map_or_else(|| "/halls/new".to_owned(), |row| Place::Hall(row.place.clone()).href());
    let wrong: BTreeMap<&str, String> =
        answers.errors.iter().map(|error| (error.field, sentence(error))).collect();
    let note =
        typed.raw(NOTE).or(row.and_then(|row| row.setup).map(|setup| setup.note.as_str())).unwrap_or("");
    let main = html! {
        link rel="stylesheet" href="/assets/hall.css";
        h1 { (title) }
        @if let Some(row) = row.filter(|row| !row.notes.is_empty()) { p.said { (row.notes) } }
        p.quiet { "Give what you know. A range will do: 11 to 12 m, about 3 m, 230 ± 5 V." }
        (fields::problems(problems))
        div.hall-page {
            form.entry #hall-form method="post" action=(address) data-form="setup-kept" data-figures="/halls/figures" data-answers="hall-answers" novalidate {
                @if row.is_none() { (name_field(typed, problems)) }
                @for group in Group::ALL { (group_of_fields(group, values, &wrong)) }
                div.field data-field=(NOTE) {
                    label for="field-note" { "What else to know" span.quiet { " (optional)" } }
                    span.hint { "Sockets, dimmer, keys, where to park." }
                    textarea #field-note name=(NOTE) rows="2" { (note) }
                }
                (writer_field(visit, typed, problems))
                (unseen_fields(visit, typed))
                p.ways {
                    button.main type="submit" { "Keep this set-up" }
                    button type="submit" formmethod="get" { "Work it out" }
                }
            }
            div #hall-answers.reckoned aria-live="polite" { (told(&answers)) }
        }
    };
    layout::page_with_scripts(visit, Some(Section::Halls), title, &main, status, &["/assets/reckon.js"])
}

fn name_field(typed: &Typed, problems: &[Problem]) -> Markup {
    let field = fields::Field::new(NAME, "What people call it", fields::Kind::Line).required();
    fields::show_one(&field, typed, problems)
}

/// The words over a group of fields.
fn legend(group: Group) -> &'static str {
    match group {
        Group::Lens => "Film, lens and screen",
        Group::Light => "Light",
        Group::Sight => "Room and seats",
        Group::Sound => "Sound",
        Group::Power => "Power",
    }
}

fn group_of_fields(
    group: Group,
    values: &BTreeMap<String, String>,
    wrong: &BTreeMap<&str, String>,
) -> Markup {
    let own: Vec<&Field> = FIELDS.iter().filter(|field| field.group == group).collect();
    let used = own.iter().any(|field| values.contains_key(field.key) || wrong.contains_key(field.key));
    html! {
        details.hall-group open[used || group == Group::Lens] data-group=(group.id()) {
            summary { (legend(group)) }
            div.hall-fields data-figured { @for field in own { (one_field(field, values, wrong.get(field.key))) } }
        }
    }
}

fn one_field(field: &Field, values: &BTreeMap<String, String>, wrong: Option<&String>) -> Markup {
    let id = format!("field-{}", field.key);
    let value = values.get(field.key).map_or("", String::as_str);
    let choices = choices(field);
    html! {
        div.field.wrong[wrong.is_some()] data-field=(field.key) {
            label for=(id) { (field.label) }
            @if choices.is_empty() {
                input id=(id) name=(field.key) type="text" value=(value) placeholder=(field.hint) autocomplete="off"
                    aria-describedby={ (id) "-problem" } aria-invalid=[wrong.map(|_| "true")];
            } @else {
                select id=(id) name=(field.key) aria-describedby={ (id) "-problem" } aria-invalid=[wrong.map(|_| "true")] {
                    option value="" { "–" }
                    @for choice in &choices {
                        option value=(choice.value) selected[choice.value == value] { (choice.words) }
                    }
                    @if !value.is_empty() && choices.iter().all(|choice| choice.value != value) {
                        option value=(value) selected { (value) }
                    }
                }
            }
            span.problem id={ (id) "-problem" } { @if let Some(words) = wrong { (words) } }
        }
    }
}

/// What there is to choose from; a format with the gauges that have it.
fn choices(field: &Field) -> Vec<Choice> {
    if field.kind != Kind::Format {
        return field.choices().into_iter().map(|(id, words)| Choice::new(id, words)).collect();
    }
    let mut all: Vec<Choice> = Vec::new();
    for format in film::Gauge::ALL.into_iter().flat_map(formats) {
        match all.iter_mut().find(|choice| choice.value == format.format) {
            Some(choice) => choice.words.push_str(&format!(", {}", format.gauge)),
            None => all.push(Choice::new(format.format, format!("{} – {}", format.format, format.gauge))),
        }
    }
    all
}

/// The drawing and every answer.
fn told(answers: &HallAnswers) -> Markup {
    let drawn = answers.lens.as_ref().ok().map(|lens| {
        let setting = &answers.setting;
        let picture =
            views::hall::drawing(&setting.picture, &setting.seats, lens, answers.sight.as_ref().ok());
        Block::Picture(Box::new(picture))
    });
    html! {
        @if let Some(drawn) = drawn { (show_as::blocks(&[drawn])) }
        @for sheet in views::hall::sheets(answers) {
            section.hall-answer data-answer=(sheet.title) {
                h2 { (sheet.title) }
                (show_as::blocks(&sheet.blocks))
            }
        }
    }
}
