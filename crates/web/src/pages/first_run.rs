//! The first questions: seven of them, and the booth is set up.

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
    fact::{BoothNamed, MachineAdded, PartFitted, PersonAdded, PreferredUnits, Role},
};
use maud::html;
use std::sync::Arc;
use units::Hours;
use views::Place;

/// The ids of the entries that the answers become; the last one only where the lamp's hours are known.
const IDS: [&str; 4] = ["booth-id", "person-id", "machine-id", "lamp-id"];

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
            .hint("For example Europe/Lisbon, or a town that gives its name to a zone: Lisbon."),
        Field::new("machine", "4. What do you call the machine?", Kind::Line)
            .required()
            .hint("One is enough to begin; add others afterwards."),
        Field::new("machine_type", "5. What kind is it?", Kind::Pick(types))
            .required()
            .hint("Nothing near? Choose the nearest now; you can describe your own kind later."),
        Field::new("meter_hours", "6. What does its hour meter show?", Kind::Hours)
            .hint("Leave this empty if it has none."),
        Field::new("lamp_hours", "7. How many hours has the lamp that is in it?", Kind::Hours)
            .hint("If you know them: the lamp's card or its own meter says. Left empty, it is taken as possibly past its limit."),
    ]
}

fn page(visit: &Visit, typed: &Typed, problems: &[Problem], status: StatusCode) -> Response {
    let main = html! {
        h1 { "Set up the booth" }
        p.lead { "Seven questions. Everything can be changed later, and nothing leaves this computer." }
        (fields::problems(problems))
        form.entry #first-run method="post" action="/first-run" novalidate {
            (fields::show(&questions(visit), typed, problems))
            @for name in IDS {
                input type="hidden" name=(name) value=(typed.get(name).map_or_else(|| visit.desk.new_id().to_string(), str::to_owned));
            }
            button.main type="submit" { "Set it up" }
        }
    };
    let scripts = ["/assets/zone.js"];
    layout::page_with_scripts(visit, None, "Set up the booth", &main, status, &scripts)
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
    let zone = zone_named(typed.get("zone").unwrap_or_default());
    let text = |key: &str| match (key, &zone) {
        ("zone", Some(zone)) => zone.clone(),
        _ => typed.get(key).unwrap_or_default().to_owned(),
    };
    if !text("zone").is_empty() && zone.is_none() {
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
    let mut facts = facts(&text, &person, &machine, meter).to_vec();
    let lamp: Option<Hours> = body.get("lamp_hours").and_then(serde_json::Value::as_f64).map(Hours::new);
    let kind = visit.library().get(&text("machine_type"));
    let slot = kind.and_then(|kind| booth::join::lamp_slots(kind).next());
    if let (Some(hours), Some(slot)) = (lamp, slot) {
        facts.push(lamp_of(&machine, slot.as_str(), hours));
    }
    let zone = TimeZone::get(&text("zone")).unwrap_or(TimeZone::UTC);
    let now = When::from_zoned(&visit.now.timestamp().to_zoned_datetime(zone));
    let drafts = ids.into_iter().zip(facts).map(|(id, fact)| Draft {
        id,
        device: visit.desk.device(),
        happened: now,
        by: person.clone(),
        fact,
    });
    write::put_down_in_turn(visit, &drafts.collect::<Vec<_>>())?;
    Ok((machine, person))
}

fn named(words: &str, otherwise: &str) -> String {
    let name = forms::slug(words);
    if name.is_empty() { otherwise.to_owned() } else { name }
}

fn read_ids(typed: &Typed) -> Result<[EntryId; 4], NotWritten> {
    let read = |name: &str| typed.get(name).and_then(|id| id.parse().ok());
    match IDS.map(read) {
        [Some(booth), Some(person), Some(machine), Some(lamp)] => Ok([booth, person, machine, lamp]),
        _ => {
            Err(Trouble::not_understood("This form has lost its ids.", "Open it again and fill it in there.")
                .way("/first-run", "Set up the booth")
                .into())
        }
    }
}

/// The zone that somebody means: by its own name, or by the town that only one zone is named after.
fn zone_named(words: &str) -> Option<String> {
    let words = words.trim();
    if !words.is_empty() && TimeZone::get(words).is_ok() {
        return Some(words.to_owned());
    }
    let town = words.replace(' ', "_").to_lowercase();
    let named_after = |zone: &String| zone.rsplit('/').next().is_some_and(|last| last.to_lowercase() == town);
    // Some computers keep each zone three times over, in folders of their own.
    let twice = |zone: &String| zone.starts_with("posix/") || zone.starts_with("right/");
    let zones = jiff::tz::db().available().map(|zone| zone.to_string()).filter(|zone| !twice(zone));
    let mut found = zones.filter(named_after);
    let zone = found.next()?;
    // Old names of the same place point at the same zone under another continent; two of them are two answers.
    found.next().is_none().then_some(zone)
}

/// The lamp that is in the machine, with the hours that it has had.
fn lamp_of(machine: &MachineId, slot: &str, hours: Hours) -> Fact {
    PartFitted {
        part: logbook::PartId::new(format!("{machine}-{slot}-1")),
        slot: logbook::ids::SlotId::new(slot),
        machine: machine.clone(),
        age_hours: Some(hours),
        age_band_hours: None,
        age_days: None,
        strikes: None,
        lot: String::new(),
        replaces: None,
        item: None,
        note: String::new(),
    }
    .into()
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
