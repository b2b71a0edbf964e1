//! The first questions: six of them, and the booth is set up.

use crate::{
    fields::{self, Choice, Field, Kind, Problem},
    forms, layout,
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use axum::{
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
};
use jiff::tz::TimeZone;
use logbook::{
    Draft, EntryId, Fact, MachineId, PersonId, When,
    fact::{BoothNamed, MachineAdded, PersonAdded, PreferredUnits, Role},
};
use maud::html;
use std::sync::Arc;
use units::Hours;
use views::Place;

/// The ids of the three entries that the answers become.
const IDS: [&str; 3] = ["booth-id", "person-id", "machine-id"];

/// Shows the questions.
pub async fn show(visit: Visit) -> Answered {
    if !visit.booth().settings.name.is_empty() {
        return Ok(Redirect::to("/").into_response());
    }
    let mut typed = Typed::default();
    typed.push("zone", TimeZone::system().iana_name().unwrap_or("UTC"));
    Ok(page(&visit, &typed, &[], StatusCode::OK))
}

fn questions(visit: &Visit) -> Vec<Field> {
    let zones: Vec<Choice> =
        jiff::tz::db().available().map(|zone| Choice::new(zone.to_string(), "")).collect();
    let types = visit.library().iter().map(|kind| Choice::new(kind.id.as_str(), &kind.name)).collect();
    vec![
        Field::new("booth", "1. What is the booth called?", Kind::Line).required(),
        Field::new("person", "2. What is your name?", Kind::Line)
            .required()
            .hint("You write the first entries, as its keeper."),
        Field::new("zone", "3. In which time zone is it?", Kind::Suggest(zones))
            .required()
            .hint("For example Europe/Lisbon."),
        Field::new("machine", "4. What do you call the machine?", Kind::Line)
            .required()
            .hint("One is enough to begin; add others afterwards."),
        Field::new("machine_type", "5. What kind is it?", Kind::Pick(types))
            .required()
            .hint("The nearest will do; it can be changed."),
        Field::new("meter_hours", "6. What does its hour meter show?", Kind::Hours)
            .hint("Leave this empty if it has none."),
    ]
}

fn page(visit: &Visit, typed: &Typed, problems: &[Problem], status: StatusCode) -> Response {
    let main = html! {
        h1 { "Set up the booth" }
        p.lead { "Six questions. Everything can be changed later, and nothing leaves this computer." }
        (fields::problems(problems))
        form.entry #first-run method="post" action="/first-run" novalidate {
            (fields::show(&questions(visit), typed, problems))
            @for name in IDS {
                input type="hidden" name=(name) value=(typed.get(name).map_or_else(|| visit.desk.new_id().to_string(), str::to_owned));
            }
            button.main type="submit" { "Set it up" }
        }
    };
    layout::page_with(visit, None, "Set up the booth", &main, status)
}

/// Takes the answers.
pub async fn take(visit: Visit, posted: Posted) -> Answered {
    let visit = Arc::new(visit);
    let (pen, typed) = (Arc::clone(&visit), posted.typed.clone());
    match write::blocking(move || set_up(&pen, &typed)).await {
        Ok((machine, person)) => {
            let mut response = Redirect::to(&Place::FilmPath(machine).href()).into_response();
            write::remember_writer(&mut response, Some(person.as_str()));
            Ok(response)
        }
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            Ok(page(&visit, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}

/// Writes booth, person and machine down, all or none; the same form sent twice sets up one booth.
fn set_up(visit: &Visit, typed: &Typed) -> Result<(MachineId, PersonId), NotWritten> {
    let mut body = serde_json::Map::new();
    let mut problems = fields::read_into(&mut body, &questions(visit), typed);
    let text = |key: &str| typed.get(key).unwrap_or_default().to_owned();
    if !text("zone").is_empty() && TimeZone::get(&text("zone")).is_err() {
        let words = format!(
            "\"{}\" is not a time zone that is known here; write for example Europe/Lisbon.",
            text("zone")
        );
        problems.push(Problem::new("zone", words));
    }
    if !problems.is_empty() {
        return Err(NotWritten::Problems(problems));
    }
    let ids = read_ids(typed)?;
    let person = PersonId::new(named(&text("person"), "keeper"));
    let machine = MachineId::new(named(&text("machine"), "machine"));
    if visit.desk.store().get(ids[0])?.is_some() {
        return Ok((machine, person));
    }
    if !visit.booth().settings.name.is_empty() {
        return Err(Trouble::new(
            StatusCode::CONFLICT,
            "Already set up",
            "This booth has been set up already.",
            "Change its name or add a machine instead.",
        )
        .way("/machines", "Machines")
        .into());
    }
    let meter: Option<Hours> = body.get("meter_hours").and_then(serde_json::Value::as_f64).map(Hours::new);
    let facts = facts(&text, &person, &machine, meter);
    let zone = TimeZone::get(&text("zone")).unwrap_or(TimeZone::UTC);
    let now = When::from_zoned(&visit.now.timestamp().to_zoned_datetime(zone));
    let drafts = ids.into_iter().zip(facts).map(|(id, fact)| Draft {
        id,
        device: visit.desk.device(),
        happened: now,
        by: person.clone(),
        fact,
    });
    write::put_down(visit, drafts.collect())?;
    Ok((machine, person))
}

fn named(words: &str, otherwise: &str) -> String {
    let name = forms::slug(words);
    if name.is_empty() { otherwise.to_owned() } else { name }
}

fn read_ids(typed: &Typed) -> Result<[EntryId; 3], NotWritten> {
    let read = |name: &str| typed.get(name).and_then(|id| id.parse().ok());
    match IDS.map(read) {
        [Some(booth), Some(person), Some(machine)] => Ok([booth, person, machine]),
        _ => {
            Err(Trouble::not_understood("This form has lost its ids.", "Open it again and fill it in there.")
                .way("/first-run", "Set up the booth")
                .into())
        }
    }
}

fn facts(
    text: &dyn Fn(&str) -> String,
    person: &PersonId,
    machine: &MachineId,
    meter: Option<Hours>,
) -> [Fact; 3] {
    let booth = BoothNamed {
        name: text("booth"),
        zone: text("zone"),
        night_ends: units::civil::NIGHT_ENDS,
        units: PreferredUnits::Metric,
        invented: false,
    };
    let keeper = PersonAdded { person: person.clone(), name: text("person"), role: Role::Keeper };
    let added = MachineAdded {
        machine: machine.clone(),
        name: text("machine"),
        machine_type: text("machine_type").as_str().into(),
        serial: String::new(),
        place: None,
        meter_hours: meter,
        hours_before: None,
        hours_estimated: false,
        made_year: None,
        settings: std::collections::BTreeMap::new(),
    };
    [booth.into(), keeper.into(), added.into()]
}
