//! Showings: planned, held, cancelled.

use super::{Ask, Form, as_typed, new_name};
use crate::{
    fields::{self, Field, Kind, Problem, put},
    typed::Typed,
};
use jiff::{ZonedDateTime, civil, tz::TimeZone};
use logbook::Fact;
use serde_json::{Map, Value, json};
use units::Hours;

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "showing-planned",
        title: "A showing in the diary",
        hint: "What is shown, when, where, on which machines",
        needs_machine: false,
        offered: false,
        fields: planned,
        complete: complete_planned,
    },
    Form {
        kind: "showing-held",
        title: "A showing was held",
        hint: "It took place",
        needs_machine: false,
        offered: false,
        fields: held,
        complete: as_typed,
    },
    Form {
        kind: "showing-cancelled",
        title: "A showing is cancelled",
        hint: "It will not take place",
        needs_machine: false,
        offered: false,
        fields: cancelled,
        complete: as_typed,
    },
];

/// The day on which it starts.
pub const START_DAY: &str = "start_day";
/// The time at which it starts.
pub const START_TIME: &str = "start_time";
/// The machines, by their ids.
pub const MACHINE: &str = "on_machine";

fn planned(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("title", "What is shown", Kind::Line).required(),
        Field::new("length_minutes", "How long the programme runs", Kind::Number("min")).required(),
        Field::new("place", "Where", Kind::Pick(ask.places())),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}

/// The name of the field for a machine's hours in a showing.
pub fn hours_field(machine: &str) -> String {
    format!("hours-of-{machine}")
}

fn complete_planned(body: &mut Map<String, Value>, ask: &Ask<'_>, typed: &Typed) -> Vec<Problem> {
    let mut problems = Vec::new();
    match read_start(typed, ask) {
        Ok(starts) => put(body, "starts", json!(starts)),
        Err(problem) => problems.push(problem),
    }
    match read_machines(typed, ask) {
        Ok(machines) if machines.is_empty() => drop(body.remove("machines")),
        Ok(machines) => put(body, "machines", json!(machines)),
        Err(problem) => problems.push(problem),
    }
    if !body.contains_key("showing") {
        let title = body.get("title").and_then(Value::as_str).unwrap_or_default();
        let words = format!("{} {title}", typed.get(START_DAY).unwrap_or_default());
        let id = new_name(&words, |id| ask.booth.showings.contains_key(id));
        body.insert("showing".to_owned(), json!(id));
    }
    problems
}

/// Reads the start on the clock of the booth's zone.
pub fn read_start(typed: &Typed, ask: &Ask<'_>) -> Result<ZonedDateTime, Problem> {
    let day = typed.get(START_DAY).ok_or_else(|| Problem::new(START_DAY, "Say on which day."))?;
    let time = typed.get(START_TIME).ok_or_else(|| Problem::new(START_TIME, "Say at what time."))?;
    let day: civil::Date = day.parse().map_err(|_| {
        Problem::new(START_DAY, format!("\"{day}\" is not a day; write for example 2026-03-07."))
    })?;
    let time: civil::Time = time.parse().map_err(|_| {
        Problem::new(START_TIME, format!("\"{time}\" is not a time; write for example 19:30."))
    })?;
    let zone = TimeZone::get(&ask.booth.settings.zone).unwrap_or(TimeZone::UTC);
    super::on_the_clock(day, time, &zone, [START_DAY, START_TIME])
}

fn read_machines(typed: &Typed, ask: &Ask<'_>) -> Result<Vec<Value>, Problem> {
    let mut machines = Vec::new();
    for machine in typed.all(MACHINE) {
        if !ask.booth.machines.contains_key(machine) {
            return Err(Problem::new(
                MACHINE,
                format!("There is no machine \"{machine}\"; choose from the list."),
            ));
        }
        let mut assigned = json!({ "machine": machine });
        let key = hours_field(machine);
        if let Some(text) = typed.get(&key) {
            let hours: Hours = fields::hours(text).map_err(|words| Problem::new(key, words))?;
            assigned["running_hours"] = json!(hours);
        }
        machines.push(assigned);
    }
    Ok(machines)
}

/// Fills in what the fields of a showing do not cover: start and machines.
pub fn fill_more(typed: &mut Typed, fact: &Fact) {
    let Fact::ShowingPlanned(planned) = fact else { return };
    fill_start(typed, &planned.starts);
    for assigned in &planned.machines {
        typed.push(MACHINE, assigned.machine.as_str());
        if let Some(hours) = assigned.running_hours {
            typed.push(hours_field(assigned.machine.as_str()), views::wording::tenths(hours.hours()));
        }
    }
}

/// Fills in a start.
pub fn fill_start(typed: &mut Typed, starts: &ZonedDateTime) {
    typed.push(START_DAY, starts.date().to_string());
    typed.push(START_TIME, starts.strftime("%H:%M").to_string());
}

fn held(_: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("lasted_minutes", "How long it lasted, from start to end", Kind::Number("min")).required(),
        Field::new("audience", "How many came", Kind::Whole),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}

fn cancelled(_: &Ask<'_>) -> Vec<Field> {
    vec![Field::new("why", "Why", Kind::Paragraph).required()]
}
