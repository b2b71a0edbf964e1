//! Parts that go in, move and come out.

use super::{Ask, Form, as_typed, slug};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use logbook::Fact;
use serde_json::{Map, Value, json};

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "part-fitted",
        title: "A part was fitted",
        hint: "A lamp, a belt, a roller: what went in and what came out",
        needs_machine: true,
        offered: true,
        fields: fitted,
        complete: name_part,
    },
    Form {
        kind: "part-moved",
        title: "A part was moved",
        hint: "From another machine or place: it keeps its age",
        needs_machine: true,
        offered: true,
        fields: moved,
        complete: as_typed,
    },
    Form {
        kind: "part-removed",
        title: "A part came out",
        hint: "Taken out and not replaced",
        needs_machine: false,
        offered: true,
        fields: removed,
        complete: as_typed,
    },
];

fn endings() -> Vec<Choice> {
    vec![
        Choice::new("failed", "It failed"),
        Choice::new("worn", "It was worn past use"),
        Choice::new("planned", "It was still good: changed as planned"),
        Choice::new("borrowed", "It was taken for another machine or use"),
        Choice::new("damaged", "Something else broke it"),
        Choice::new("unknown", "Nobody knows"),
    ]
}

/// The parts that the booth knows by themselves, with where they are.
fn parts(ask: &Ask<'_>) -> Vec<Choice> {
    let parts = ask.booth.parts.iter();
    parts
        .map(|(id, part)| {
            let place = part.stints.last().filter(|stint| stint.ended.is_none());
            let place = place.map_or("not fitted".to_owned(), |stint| format!("in {}", stint.machine));
            Choice::new(id.as_str(), format!("{id} ({}, {place})", part.slot))
        })
        .collect()
}

/// The field that says whether a part is new; the entry itself knows only hours.
const AGE: &str = "age";

fn ages() -> Vec<Choice> {
    vec![
        Choice::new("new", "New"),
        Choice::new("used", "Used: it had run the hours below"),
        Choice::new("unknown", "Used, and nobody knows how long"),
    ]
}

/// Makes hours of what was said about the age.
fn read_age(body: &mut Map<String, Value>) -> Vec<Problem> {
    let age = body.remove(AGE);
    let hours = body.get("age_hours").and_then(Value::as_f64);
    match (age.as_ref().and_then(Value::as_str), hours) {
        (Some("new"), None) => drop(body.insert("age_hours".to_owned(), json!(0.0))),
        (Some("new"), Some(hours)) if hours > 0.0 => {
            let words = "A new part has run no hours; choose used, or take the hours away.";
            return vec![Problem::new("age_hours", words).asked("Hours it had run already")];
        }
        (Some("used"), None) => {
            let words = "Say how long it had run, or that nobody knows.";
            return vec![Problem::new("age_hours", words).asked("Hours it had run already")];
        }
        (Some("unknown"), _) => drop(body.remove("age_hours")),
        _ => {}
    }
    Vec::new()
}

/// Fills in what was said about the age of a part.
pub(super) fn fill_age(typed: &mut Typed, fact: &Fact) {
    let Fact::PartFitted(fitted) = fact else { return };
    let age = match fitted.age_hours {
        None => "unknown",
        Some(hours) if hours.hours() <= 0.0 => "new",
        Some(_) => "used",
    };
    typed.push(AGE, age);
}

fn fitted(ask: &Ask<'_>) -> Vec<Field> {
    let stock = ask.booth.stock.iter();
    let stock: Vec<Choice> = stock
        .map(|(id, item)| Choice::new(id.as_str(), format!("{} ({} there)", item.name, item.count)))
        .collect();
    vec![
        Field::new("slot", "Where it went", Kind::Pick(ask.slots())).required(),
        Field::new("replaces.why", "What became of the one that came out", Kind::Pick(endings())),
        Field::new(AGE, "Is it new?", Kind::Pick(ages())).required().preset("new"),
        Field::new("age_hours", "Hours it had run already", Kind::Hours).hint("Only for a used part."),
        Field::new("lot", "Batch", Kind::Line),
        Field::new("item", "Taken from stock", Kind::Pick(stock)),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}

/// Gives a new part an id of its own: its slot and the end of the entry's id, which no other part has.
fn name_part(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    if !body.contains_key("part") {
        let slot = body.get("slot").and_then(Value::as_str).unwrap_or("part");
        let id = ask.id.to_string();
        let tail = id.rsplit('-').next().unwrap_or(&id);
        body.insert("part".to_owned(), json!(format!("{}-{tail}", slug(slot))));
    }
    read_age(body)
}

fn moved(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("part", "Which part", Kind::Pick(parts(ask))).required(),
        Field::new("slot", "Where it went", Kind::Pick(ask.slots())).required(),
        Field::new("why", "Why it left where it was", Kind::Pick(endings())).required(),
        Field::new("replaces.why", "What became of the one that came out here", Kind::Pick(endings())),
    ]
}

fn removed(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("part", "Which part", Kind::Pick(parts(ask))).required(),
        Field::new("why", "Why it came out", Kind::Pick(endings())).required(),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}
