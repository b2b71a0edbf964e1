//! What is said at a fault, by itself.

use super::{Checked, Refusal, between, id, line, list, must, optional, text, words};
use crate::{
    fact::{FaultAnswered, FaultMark, FaultMarked, FaultTried, RepairRequested, Used},
    rules,
};

/// The most of one stock item that a step may use.
const MOST_USED: u32 = 10_000;

pub(super) fn answered(fact: &FaultAnswered) -> Checked {
    id("fault", fact.fault.as_str())?;
    id("which", fact.which.as_str())?;
    optional(fact.quantity.as_ref(), |quantity| id("quantity", quantity.as_str()))?;
    optional(fact.value, |value| {
        must(value.is_finite(), || Refusal::new("value", "the value is no number", "a plain number"))
    })?;
    line("unit", &fact.unit)?;
    minutes(fact.minutes)?;
    text("note", &fact.note)
}

pub(super) fn tried(fact: &FaultTried) -> Checked {
    id("fault", fact.fault.as_str())?;
    id("remedy", fact.remedy.as_str())?;
    minutes(fact.minutes)?;
    used(&fact.used)?;
    text("note", &fact.note)
}

pub(super) fn marked(fact: &FaultMarked) -> Checked {
    id("fault", fact.fault.as_str())?;
    optional(fact.to.as_ref(), |person| id("to", person.as_str()))?;
    must((fact.mark == FaultMark::HandedOver) == fact.to.is_some(), || {
        Refusal::new(
            "to",
            "it is not clear who goes on with it",
            "a person where it is handed over, else nobody",
        )
    })?;
    text("note", &fact.note)
}

pub(super) fn requested(fact: &RepairRequested) -> Checked {
    id("fault", fact.fault.as_str())?;
    line("to", &fact.to)?;
    words("words", &fact.words)?;
    let lists = [
        ("about", &fact.about),
        ("symptoms", &fact.symptoms),
        ("tried", &fact.tried),
        ("not_tried", &fact.not_tried),
        ("likely", &fact.likely),
        ("unlikely", &fact.unlikely),
        ("ruled_out", &fact.ruled_out),
        ("readings", &fact.readings),
    ];
    for (field, lines) in lists {
        list(field, lines.len())?;
        lines.iter().try_for_each(|said| text(field, said))?;
    }
    Ok(())
}

fn minutes(minutes: Option<f64>) -> Checked {
    optional(minutes, |minutes| between("minutes", minutes, 0.0, rules::LONGEST_SHOWING_MINUTES, "minutes"))
}

fn used(used: &[Used]) -> Checked {
    list("used", used.len())?;
    used.iter().try_for_each(|used| {
        id("used", used.item.as_str())?;
        between("used", f64::from(used.count), 1.0, f64::from(MOST_USED), "pieces")
    })
}
