//! Notes, people, places, prints, and the booth itself.

use super::{Ask, Form, as_typed, new_name};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use serde_json::{Map, Value, json};

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "noted",
        title: "A note",
        hint: "Anything worth remembering, in plain words",
        needs_machine: false,
        offered: true,
        fields: noted,
        complete: as_typed,
    },
    Form {
        kind: "print-added",
        title: "A print",
        hint: "A print comes, or more is known of it",
        needs_machine: false,
        offered: true,
        fields: print,
        complete: name_print,
    },
    Form {
        kind: "place-added",
        title: "A place",
        hint: "A hall, booth or depot",
        needs_machine: false,
        offered: true,
        fields: place,
        complete: name_place,
    },
    Form {
        kind: "setup-kept",
        title: "A hall's set-up",
        hint: "Lens, light, seats, sound and power of a hall, for the next visit",
        needs_machine: false,
        // A set-up is made on the hall's own page; this form only mends where it belongs and what is noted.
        offered: false,
        fields: setup,
        complete: with_values,
    },
    Form {
        kind: "person-added",
        title: "A person",
        hint: "Somebody who writes in this logbook",
        needs_machine: false,
        offered: true,
        fields: person,
        complete: name_person,
    },
    Form {
        kind: "booth-named",
        title: "The booth",
        hint: "Its name, time zone and customs",
        needs_machine: false,
        offered: true,
        fields: named,
        complete: as_typed,
    },
];

fn noted(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("words", "Note", Kind::Paragraph).required(),
        Field::new("about.machine", "About which machine", Kind::Pick(ask.machines())),
    ]
}

fn print(ask: &Ask<'_>) -> Vec<Field> {
    let known: Vec<Choice> =
        ask.booth.prints.iter().map(|(id, print)| Choice::new(id.as_str(), &print.title)).collect();
    let gauges = ["16mm", "35mm", "8mm", "super8"].map(|gauge| Choice::new(gauge, gauge)).to_vec();
    let standings = [
        ("replaceable", "Yes, it can be had again"),
        ("lent", "It is lent, and wanted back as it came"),
        ("unique", "No, it is the only one"),
    ];
    let standings = standings.map(|(value, words)| Choice::new(value, words)).to_vec();
    let mut fields = vec![
        Field::new("title", "Title", Kind::Line).required(),
        Field::new("gauge", "Gauge", Kind::Suggest(gauges)).required(),
        Field::new("lender", "Whose it is", Kind::Line),
        Field::new("standing", "Is there another copy?", Kind::Pick(standings)),
        Field::new("made_year", "Year in which the film was made", Kind::Whole),
        Field::new("note", "Note", Kind::Paragraph),
    ];
    if !known.is_empty() {
        let hint = "Left empty: a new print.";
        fields.insert(0, Field::new("print", "Which print", Kind::Pick(known)).hint(hint));
    }
    fields
}

fn name_print(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    name_after(body, "print", "title", |id| ask.booth.prints.contains_key(id))
}

fn place(_: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("name", "What people call it", Kind::Line).required(),
        Field::new("notes", "What to know before going there", Kind::Paragraph),
    ]
}

fn name_place(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    name_after(body, "place", "name", |id| ask.booth.places.contains_key(id))
}

fn setup(ask: &Ask<'_>) -> Vec<Field> {
    let halls = ask.booth.places.iter().map(|(id, place)| Choice::new(id.as_str(), &place.name)).collect();
    vec![
        Field::new("place", "Which hall", Kind::Pick(halls))
            .required()
            .hint("Its measures are set on the hall's own page, under Halls."),
        Field::new("note", "What else to know", Kind::Paragraph),
    ]
}

fn with_values(body: &mut Map<String, Value>, _: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    body.entry("values").or_insert_with(|| json!({}));
    Vec::new()
}

/// What a person may decide, as choices.
pub fn roles() -> Vec<Choice> {
    vec![
        Choice::new("keeper", "Keeper: looks after the machines and runs the show"),
        Choice::new("operator", "Operator: runs the show from the keeper's card"),
        Choice::new("technician", "Technician: qualified to open, set and release machines"),
    ]
}

fn person(_: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("name", "Name", Kind::Line).required(),
        Field::new("role", "What they may decide", Kind::Pick(roles())).required(),
    ]
}

fn name_person(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    name_after(body, "person", "name", |id| ask.booth.people.contains_key(id))
}

/// Gives a new thing an id made of what it is called.
fn name_after(
    body: &mut Map<String, Value>,
    key: &str,
    called: &str,
    is_taken: impl Fn(&str) -> bool,
) -> Vec<Problem> {
    if !body.contains_key(key) {
        let words = body.get(called).and_then(Value::as_str).unwrap_or_default().to_owned();
        body.insert(key.to_owned(), json!(new_name(&words, is_taken)));
    }
    Vec::new()
}

fn named(_: &Ask<'_>) -> Vec<Field> {
    let units = vec![
        Choice::new("metric", "Metres and millimetres first"),
        Choice::new("us", "Feet and inches first"),
    ];
    vec![
        Field::new("name", "What the booth is called", Kind::Line).required(),
        Field::new("zone", "Time zone", Kind::Line).required().hint("For example Europe/Lisbon."),
        Field::new("night_ends", "A night ends at", Kind::Line)
            .required()
            .hint("What happens before this time belongs to the evening before; for example 05:00:00."),
        Field::new("units", "Units", Kind::Pick(units)).required(),
        Field::new("invented", "Everything in this logbook is invented", Kind::Tick),
    ]
}
