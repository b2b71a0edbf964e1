//! Running, the hour meter, and machines that come, change and go.

use super::{Ask, Form, as_typed, new_name};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use serde_json::{Map, Value, json};

pub(super) const RUNNING: &[Form] = &[
    Form {
        kind: "ran",
        title: "A run",
        hint: "A machine ran: a showing, a rehearsal, a test, a rewind",
        needs_machine: true,
        offered: true,
        fields: ran,
        complete: as_typed,
    },
    Form {
        kind: "meter-read",
        title: "The hour meter",
        hint: "What the meter shows now",
        needs_machine: true,
        offered: true,
        fields: meter_read,
        complete: as_typed,
    },
    Form {
        kind: "meter-replaced",
        title: "The hour meter was changed",
        hint: "Replaced, rolled over or set back",
        needs_machine: true,
        offered: true,
        fields: meter_replaced,
        complete: as_typed,
    },
];

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "machine-added",
        title: "A machine comes",
        hint: "Add a machine to the booth",
        needs_machine: false,
        offered: true,
        fields: machine_added,
        complete: name_machine,
    },
    Form {
        kind: "machine-changed",
        title: "A machine's particulars",
        hint: "Its name, type, number or place",
        needs_machine: true,
        offered: true,
        fields: machine_changed,
        complete: as_typed,
    },
    Form {
        kind: "machine-retired",
        title: "A machine goes",
        hint: "It leaves the booth for good",
        needs_machine: true,
        offered: true,
        fields: machine_retired,
        complete: as_typed,
    },
];

fn ran(ask: &Ask<'_>) -> Vec<Field> {
    let runs = vec![
        Choice::new("showing", "A showing"),
        Choice::new("rehearsal", "A rehearsal"),
        Choice::new("test", "A test or warm-up"),
        Choice::new("rewind", "Rewinding"),
    ];
    let prints: Vec<Choice> =
        ask.booth.prints.iter().map(|(id, print)| Choice::new(id.as_str(), &print.title)).collect();
    vec![
        Field::new("run", "What for", Kind::Pick(runs)).required(),
        Field::new("hours", "How long", Kind::Hours).required().hint("1:30, 1.5 or 90 min."),
        Field::new("estimated", "This is an estimate, not read from a meter", Kind::Tick),
        Field::new("showing", "Which showing", Kind::Pick(ask.showings())),
        Field::new("print", "Which print", Kind::Pick(prints)),
        Field::new("passes", "How often the print passed", Kind::Whole),
        Field::new("lit_hours", "How long the lamp was lit", Kind::Hours)
            .hint("Left empty: all of a showing or rehearsal, none of a test or rewind."),
        Field::new("strikes", "How often the lamp was struck", Kind::Whole),
    ]
}

fn meter_read(ask: &Ask<'_>) -> Vec<Field> {
    let machine = ask.machine.and_then(|machine| ask.booth.machines.get(machine.as_str()));
    let last = machine.and_then(|machine| machine.meter.as_ref());
    let hint = last.map_or_else(
        || "This is the first reading of its meter.".to_owned(),
        |meter| format!("Last read: {} on {}.", views::wording::meter(meter.reading), meter.at.date()),
    );
    vec![Field::new("reading_hours", "The meter shows", Kind::Hours).required().hint(hint)]
}

fn meter_replaced(_: &Ask<'_>) -> Vec<Field> {
    let reasons = vec![
        Choice::new("replaced", "Another meter was fitted"),
        Choice::new("rolled-over", "It passed its last figure and began again"),
        Choice::new("reset", "It was set back by hand"),
    ];
    vec![
        Field::new("why", "What happened", Kind::Pick(reasons)).required(),
        Field::new("old_reading_hours", "Last figure before", Kind::Hours),
        Field::new("new_reading_hours", "First figure after", Kind::Hours).required(),
    ]
}

/// The machine types as choices.
pub fn types(ask: &Ask<'_>) -> Vec<Choice> {
    ask.library.iter().map(|kind| Choice::new(kind.id.as_str(), &kind.name)).collect()
}

fn machine_added(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("name", "What you call it", Kind::Line).required().hint("Its own name in this booth."),
        Field::new("machine_type", "What kind it is", Kind::Pick(types(ask))).required(),
        Field::new("meter_hours", "Its hour meter shows", Kind::Hours)
            .hint("Leave this empty if it has no hour meter."),
        Field::new("hours_before", "Hours it has run so far", Kind::Hours)
            .hint("Leave this empty if nobody knows: its parts' ages then count from today."),
        Field::new("hours_estimated", "These hours are a guess", Kind::Tick),
        Field::new("serial", "Serial or asset number", Kind::Line),
        Field::new("made_year", "Year of making", Kind::Whole),
        Field::new("place", "Where it lives", Kind::Pick(ask.places())),
    ]
}

/// Gives a new machine an id made of its name.
pub fn name_machine(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    if !body.contains_key("machine") {
        let name = body.get("name").and_then(Value::as_str).unwrap_or_default().to_owned();
        let id = new_name(&name, |id| ask.booth.machines.contains_key(id));
        body.insert("machine".to_owned(), json!(id));
    }
    Vec::new()
}

fn machine_changed(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("name", "New name", Kind::Line),
        Field::new("machine_type", "New type", Kind::Pick(types(ask))),
        Field::new("serial", "New serial or asset number", Kind::Line),
        Field::new("place", "Where it lives now", Kind::Pick(ask.places())),
    ]
}

fn machine_retired(_: &Ask<'_>) -> Vec<Field> {
    vec![Field::new("why", "Why", Kind::Paragraph).required()]
}
