//! Faults and stoppages.

use super::{Ask, Form, as_typed};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use serde_json::{Map, Value, json};

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "fault-opened",
        title: "A fault",
        hint: "Something is wrong with a machine",
        needs_machine: true,
        offered: true,
        fields: opened,
        complete: name_fault,
    },
    Form {
        kind: "stoppage",
        title: "A stoppage",
        hint: "The screen went dark or the sound silent",
        needs_machine: false,
        offered: true,
        fields: stoppage,
        complete: as_typed,
    },
    Form {
        kind: "fault-noted",
        title: "More about a fault",
        hint: "What was tried or seen",
        needs_machine: false,
        offered: true,
        fields: noted,
        complete: as_typed,
    },
    Form {
        kind: "fault-answered",
        title: "An answer at a fault",
        hint: "What was asked, and what was answered",
        needs_machine: false,
        // Questions are asked on the fault's own page; this form mends an answer.
        offered: false,
        fields: answered,
        complete: as_typed,
    },
    Form {
        kind: "fault-tried",
        title: "A remedy tried",
        hint: "What was done, and whether it helped",
        needs_machine: false,
        offered: false,
        fields: tried,
        complete: as_typed,
    },
    Form {
        kind: "fault-marked",
        title: "A fault's case",
        hint: "Made safe, the show is over, handed over",
        needs_machine: false,
        offered: false,
        fields: marked,
        complete: as_typed,
    },
    Form {
        kind: "repair-requested",
        title: "A request for repair",
        hint: "What is asked of whoever mends it",
        needs_machine: false,
        offered: false,
        fields: requested,
        complete: as_typed,
    },
    Form {
        kind: "fault-closed",
        title: "A fault is dealt with",
        hint: "What it was and what mended it",
        needs_machine: false,
        offered: true,
        fields: closed,
        complete: as_typed,
    },
];

fn opened(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("words", "What you see, hear or smell", Kind::Paragraph).required(),
        Field::new("slot", "Where", Kind::Pick(ask.slots())),
        Field::new("showing", "In which showing", Kind::Pick(ask.showings())),
    ]
}

/// Gives a new fault an id: its machine and the end of the entry's id.
fn name_fault(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    if !body.contains_key("fault") {
        let machine = ask.machine.map_or("fault", |machine| machine.as_str());
        let id = ask.id.to_string();
        let tail = id.rsplit('-').next().unwrap_or(&id);
        body.insert("fault".to_owned(), json!(format!("{machine}-{tail}")));
    }
    Vec::new()
}

fn stoppage(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("dark_seconds", "For how long", Kind::Seconds).required().hint("In seconds, or as 1:20."),
        Field::new("what", "What happened", Kind::Paragraph).required(),
        Field::new("showing", "In which showing", Kind::Pick(ask.showings())),
        Field::new("machine", "On which machine", Kind::Pick(ask.machines())),
    ]
}

/// The faults as choices, the open ones first and the latest first of each: a closed one may be corrected.
fn faults(ask: &Ask<'_>) -> Vec<Choice> {
    let mut faults: Vec<_> = ask.booth.faults.iter().collect();
    faults.sort_by_key(|(_, fault)| (fault.closed.is_some(), std::cmp::Reverse(fault.opened.0.unix_ms)));
    let date = |when: &::logbook::When| views::wording::date(when.date(), ask.now.date());
    faults
        .into_iter()
        .map(|(id, fault)| {
            let machine = ask.words_for("machine", fault.machine.as_str());
            let words = match &fault.closed {
                Some((closed, ..)) => format!("Closed {}: {machine}, {}", date(closed), fault.words),
                None => format!("{machine}, since {}: {}", date(&fault.opened.0), fault.words),
            };
            Choice::new(id.as_str(), words)
        })
        .collect()
}

fn noted(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("fault", "Which fault", Kind::Pick(faults(ask))).required(),
        Field::new("words", "What was tried or seen", Kind::Paragraph).required(),
    ]
}

fn closed(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("fault", "Which fault", Kind::Pick(faults(ask))).required(),
        Field::new("cause", "What it was", Kind::Paragraph),
        Field::new("cure", "What mended it", Kind::Paragraph),
    ]
}

fn answered(ask: &Ask<'_>) -> Vec<Field> {
    let asked = [("symptom", "Another symptom"), ("condition", "A circumstance"), ("check", "A check")];
    let answers = [("yes", "Yes"), ("no", "No"), ("cannot-tell", "Cannot tell"), ("skipped", "Skipped")];
    let choices =
        |list: &[(&str, &str)]| list.iter().map(|(value, words)| Choice::new(*value, *words)).collect();
    vec![
        Field::new("fault", "Which fault", Kind::Pick(faults(ask))).required(),
        Field::new("asked", "What sort of thing was asked", Kind::Pick(choices(&asked))).required(),
        Field::new("which", "Which, by its name in the machine type", Kind::Line).required(),
        Field::new("answer", "The answer", Kind::Pick(choices(&answers))).required(),
        Field::new("note", "In words", Kind::Paragraph),
    ]
}

fn tried(ask: &Ask<'_>) -> Vec<Field> {
    let results = [
        ("helped", "It helped"),
        ("did-not-help", "It did not help"),
        ("cannot-tell", "Done, and not tried out"),
        ("skipped", "Skipped"),
    ];
    let results = results.map(|(value, words)| Choice::new(value, words)).to_vec();
    vec![
        Field::new("fault", "Which fault", Kind::Pick(faults(ask))).required(),
        Field::new("remedy", "Which remedy, by its name in the machine type", Kind::Line).required(),
        Field::new("result", "What it did", Kind::Pick(results)).required(),
        Field::new("note", "In words", Kind::Paragraph),
    ]
}

fn marked(ask: &Ask<'_>) -> Vec<Field> {
    let marks = [
        ("made-safe", "Stopped and made safe"),
        ("done-at-once", "What is done at once is done"),
        ("show-runs", "An audience waits"),
        ("show-over", "The audience has gone"),
        ("handed-over", "Handed over"),
    ];
    let marks = marks.map(|(value, words)| Choice::new(value, words)).to_vec();
    vec![
        Field::new("fault", "Which fault", Kind::Pick(faults(ask))).required(),
        Field::new("mark", "What", Kind::Pick(marks)).required(),
        Field::new("to", "To whom it was handed over", Kind::Line),
        Field::new("note", "In words", Kind::Paragraph),
    ]
}

fn requested(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("fault", "Which fault", Kind::Pick(faults(ask))).required(),
        Field::new("to", "For whom", Kind::Line),
        Field::new("words", "What is asked for", Kind::Paragraph).required(),
    ]
}
