//! Faults and stoppages.

use super::{Ask, Form, as_typed};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use booth::desk::OpenFault;
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
        complete: name_cause,
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
    let (near, older) = faults_open_and_closed(ask);
    vec![
        Field::new("fault", "Which fault", Kind::PickOrOlder { near, older, fold: "An older one" })
            .required(),
        Field::new("words", "What was tried or seen", Kind::Paragraph).required(),
    ]
}

/// The open faults. Where one is settled, what is known of it is offered: a cause by its name teaches the desk, one in
/// words does not.
fn closed(ask: &Ask<'_>) -> Vec<Field> {
    let (open, _) = faults_open_and_closed(ask);
    let mut fields = vec![Field::new("fault", "Which fault", Kind::Pick(open)).required()];
    let case = case(ask);
    let causes = case.iter().flat_map(OpenFault::causes_to_close_with);
    let causes = causes.map(|odd| Choice::new(odd.cause, format!("{}: {}", odd.name, odd.in_words)));
    let remedies = case.iter().flat_map(OpenFault::remedies_to_close_with);
    let remedies = remedies.map(|known| Choice::new(known.id, known.name));
    for (key, label, choices) in [
        ("cause_id", "What it was", causes.collect::<Vec<_>>()),
        ("remedy_id", "What mended it", remedies.collect()),
    ] {
        if !choices.is_empty() {
            fields.push(Field::new(key, label, Kind::Pick(choices)));
        }
    }
    let or =
        |words: &str| if fields.len() > 1 { format!("{words}, in your words") } else { words.to_owned() };
    let in_words = [
        Field::new("cause", or("What it was"), Kind::Paragraph),
        Field::new("cure", or("What mended it"), Kind::Paragraph),
    ];
    fields.extend(in_words);
    fields
}

/// The faults as choices, parted.
fn faults_open_and_closed(ask: &Ask<'_>) -> (Vec<Choice>, Vec<Choice>) {
    let is_open = |choice: &Choice| {
        ask.booth.faults.get(choice.value.as_str()).is_some_and(::logbook::booth::Fault::is_open)
    };
    faults(ask).into_iter().partition(is_open)
}

/// The faults that were closed, in words, each with the entry that closed it: what it was is mended by correcting that.
pub fn closed_before(ask: &Ask<'_>) -> Vec<(::logbook::EntryId, String)> {
    let (_, closed) = faults_open_and_closed(ask);
    let entry = |choice: Choice| {
        let (.., entry) = ask.booth.faults.get(choice.value.as_str())?.closed.as_ref()?;
        Some((*entry, choice.words))
    };
    closed.into_iter().filter_map(entry).collect()
}

/// The case of the fault that is settled, where the desk knows it.
fn case<'a>(ask: &Ask<'a>) -> Option<OpenFault<'a>> {
    booth::desk::open(ask.booth, ask.library, ask.fault?, ask.now).ok()
}

/// A cause and a remedy that are named say so in words, too.
fn name_cause(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    let Some(case) = case(ask) else { return Vec::new() };
    let trouble = &case.kind.trouble;
    let named = |key: &str| body.get(key).and_then(Value::as_str).map(str::to_owned);
    let cause = named("cause_id").and_then(|id| Some(trouble.cause(&id)?.name.clone()));
    let cure = named("remedy_id").and_then(|id| Some(trouble.remedy(&id)?.name.clone()));
    for (key, words) in [("cause", cause), ("cure", cure)] {
        if let (false, Some(words)) = (body.contains_key(key), words) {
            body.insert(key.to_owned(), Value::from(words));
        }
    }
    Vec::new()
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
