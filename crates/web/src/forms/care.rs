//! Care done, care put off, readings, events, fitness.

use super::{Ask, Form, as_typed};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use machine::Trigger;
use serde_json::{Map, Value, json};

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "care-done",
        title: "Care done",
        hint: "Cleaned, oiled, looked at, changed: any care of a machine, outside a walk",
        needs_machine: true,
        offered: true,
        fields: care_done,
        complete: as_typed,
    },
    Form {
        kind: "reading",
        title: "A reading",
        hint: "Something measured: light, tension, speed, level",
        needs_machine: true,
        offered: true,
        fields: reading,
        complete: unit_of_quantity,
    },
    Form {
        kind: "machine-event",
        title: "Something happened to a machine",
        hint: "Transport, a new site, a knock, wet or salt: it may call for care",
        needs_machine: true,
        offered: true,
        fields: event,
        complete: as_typed,
    },
    Form {
        kind: "care-deferred",
        title: "Care put off",
        hint: "Put off with a reason and a limit; never care on which safety hangs",
        needs_machine: true,
        offered: true,
        fields: deferred,
        complete: as_typed,
    },
    Form {
        kind: "fitness-set",
        title: "May it be used?",
        hint: "Fit, fit with limits, not fit, or dangerous",
        needs_machine: true,
        offered: true,
        fields: fitness,
        complete: as_typed,
    },
];

/// What a care step can have found, as choices.
pub const OUTCOMES: [(&str, &str); 5] = [
    ("fine", "Fine"),
    ("done", "Done"),
    ("attention", "Attention"),
    ("cannot-tell", "Can't tell"),
    ("skipped", "Skip"),
];

pub(super) fn tasks(ask: &Ask<'_>) -> Vec<Choice> {
    let tasks = ask.machine_type().into_iter().flat_map(|kind| &kind.care);
    tasks.map(|task| Choice::new(task.id.as_str(), &task.name)).collect()
}

fn tasks_to_put_off(ask: &Ask<'_>) -> Vec<Choice> {
    let tasks = ask.machine_type().into_iter().flat_map(|kind| &kind.care);
    tasks.filter(|task| !task.safety).map(|task| Choice::new(task.id.as_str(), &task.name)).collect()
}

fn care_done(ask: &Ask<'_>) -> Vec<Field> {
    let outcomes = OUTCOMES.map(|(value, words)| Choice::new(value, words)).to_vec();
    vec![
        Field::new("task", "What was done", Kind::Pick(tasks(ask))).required(),
        Field::new("slot", "At which part", Kind::Pick(ask.slots()))
            .hint("Only for care that is kept part by part."),
        Field::new("outcome", "What was found", Kind::Pick(outcomes)).required(),
        Field::new("note", "Note", Kind::Paragraph),
        Field::new("minutes", "How long it took", Kind::Number("min")),
    ]
}

fn reading(ask: &Ask<'_>) -> Vec<Field> {
    let quantities: Vec<Choice> = ask
        .machine_type()
        .into_iter()
        .flat_map(|kind| &kind.limits)
        .map(|limit| {
            Choice::new(
                limit.quantity.as_str(),
                format!("{} ({})", limit.name, machine::unit_as_read(limit.unit.as_str())),
            )
        })
        .collect();
    vec![
        Field::new("quantity", "What was measured", Kind::Pick(quantities)).required(),
        Field::new("value", "Reading", Kind::Number("")).required(),
        Field::new("unit", "Unit", Kind::Line).hint("Left empty: the unit that stands beside the quantity."),
        Field::new("uncertainty", "Give or take", Kind::Number("")),
        Field::new("slot", "At which part", Kind::Pick(ask.slots())),
        Field::new("method", "With what", Kind::Line).hint("The instrument or test film."),
        Field::new("baseline", "This is the machine's reference from now on", Kind::Tick),
    ]
}

fn unit_of_quantity(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    if !body.contains_key("unit") {
        let quantity = body.get("quantity").and_then(Value::as_str).unwrap_or_default();
        let limit = ask.machine_type().and_then(|kind| kind.limit(quantity));
        body.insert("unit".to_owned(), json!(limit.map_or(String::new(), |limit| limit.unit.to_string())));
    }
    Vec::new()
}

fn event(ask: &Ask<'_>) -> Vec<Field> {
    let mut events: Vec<Choice> = Trigger::PLAIN
        .iter()
        .filter(|event| !matches!(event, Trigger::EveryReel | Trigger::BeforeShowing | Trigger::AfterShowing))
        .map(|event| Choice::new(event.to_string(), event.in_words()))
        .collect();
    events.sort_by_key(|choice| {
        let known = ask.machine_type().is_some_and(|kind| {
            Trigger::from_word(&choice.value).is_some_and(|event| kind.walk_tasks(event).next().is_some())
        });
        !known
    });
    vec![
        Field::new("event", "What happened", Kind::Pick(events)).required(),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}

fn deferred(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("task", "What is put off", Kind::Pick(tasks_to_put_off(ask))).required(),
        Field::new("slot", "At which part", Kind::Pick(ask.slots())),
        Field::new("why", "Why", Kind::Paragraph).required(),
        Field::new("until_date", "Until this day", Kind::Day),
        Field::new("until_hours_run", "Until the machine has run", Kind::Hours)
            .hint("Hours run in all, as its page shows them."),
    ]
}

fn fitness(_: &Ask<'_>) -> Vec<Field> {
    let choices = vec![
        Choice::new("fit", "Fit"),
        Choice::new("limited", "Fit with limits (say which)"),
        Choice::new("unfit", "Not fit: not to be used until it is mended"),
        Choice::new("danger", "Dangerous: quarantined until a qualified technician releases it"),
    ];
    vec![
        Field::new("fitness", "May it be used?", Kind::Pick(choices)).required(),
        Field::new("why", "Why, and within which limits", Kind::Paragraph).required(),
    ]
}
