//! Programmes and the marks of a running show, as they are corrected; both are made on pages of their own.

use super::{Ask, Form, as_typed};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use serde_json::{Map, Value};

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "programme-kept",
        title: "A programme",
        hint: "Reels in the order in which they are shown",
        needs_machine: false,
        // Its reels are set on the programme's own page; this form only mends what it is called and what is noted.
        offered: false,
        fields: programme,
        complete: with_items,
    },
    Form {
        kind: "show-marked",
        title: "A running show",
        hint: "What happened in a show, and when",
        needs_machine: false,
        // Marks are made on the show's own page; this form mends one that was made too late or by mistake.
        offered: false,
        fields: marked,
        complete: as_typed,
    },
];

fn programme(_: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("title", "What it is called", Kind::Line)
            .required()
            .hint("Its reels are set on its own page, under Programmes."),
        Field::new("note", "Anything else", Kind::Paragraph),
    ]
}

fn with_items(body: &mut Map<String, Value>, _: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    if body.contains_key("items") {
        return Vec::new();
    }
    vec![Problem::new("title", "A programme with its reels is made on its own page, under Programmes.")]
}

fn marked(ask: &Ask<'_>) -> Vec<Field> {
    let marks = [
        ("started", "The picture came on the screen"),
        ("changed-over", "Changed over to this reel"),
        ("reel-ended", "The reel ended"),
        ("paused", "Paused"),
        ("stopped", "Stopped: dark or silent unasked"),
        ("resumed", "On again"),
        ("ended", "The programme ended"),
    ];
    let marks = marks.map(|(value, words)| Choice::new(value, words)).to_vec();
    vec![
        Field::new("showing", "Which showing", Kind::Pick(ask.showings())).required(),
        Field::new("mark", "What happened", Kind::Pick(marks)).required(),
        Field::new("reel", "Which reel, counted through the programme", Kind::Whole).required(),
        Field::new("machine", "On which machine", Kind::Pick(ask.machines())),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}
