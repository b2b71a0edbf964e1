//! Pins of the service plan, as they are corrected; they are made on the plan's own page.

use super::{Ask, Form, as_typed, care};
use crate::fields::{Field, Kind};

pub(super) const FORMS: &[Form] = &[Form {
    kind: "plan-pinned",
    title: "A pin of the service plan",
    hint: "A machine for a showing, or a day for its care, that the plan keeps",
    needs_machine: true,
    // Pins are set on the plan's own page; this form mends one.
    offered: false,
    fields: pinned,
    complete: as_typed,
}];

fn pinned(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("showing", "Runs at this showing", Kind::Pick(ask.showings()))
            .hint("Leave it empty where care is pinned."),
        Field::new("task", "Or: this care", Kind::Pick(care::tasks(ask))),
        Field::new("on", "is done on this day", Kind::Day),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}
