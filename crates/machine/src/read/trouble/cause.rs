//! `[[cause]]` and `[[condition]]`.

use super::Known;
use super::chances::IMPERFECT;
use super::step::with_dangers_of;
use crate::care::MachineState;
use crate::id::ConditionId;
use crate::part::Hand;
use crate::read::form::Form;
use crate::read::part::cautions;
use crate::trouble::{Cause, Condition, ConditionChance, Refer};
use units::Probability;

pub(super) fn cause(form: &mut Form<'_, '_>, known: &Known<'_, '_>) -> Cause {
    let names = known.names;
    let id = form.named("cause");
    let faults = form.desk.count();
    let mut cause = Cause {
        name: form.text("name"),
        kind: form.word("kind"),
        part: form.maybe_reference("part", &names.parts),
        who: form.word("who"),
        cautions: cautions(form),
        goes_with: goes_with(form, known),
        wears: form.flag("wears"),
        care: form.references("care", &names.care),
        refer: refer(form),
        source: form.source(names),
        id,
    };
    if form.desk.count() == faults {
        check_cause(form, &cause, known);
    }
    cause.cautions = with_dangers_of(&cause.cautions, &known.parts(&cause.part), MachineState::Running);
    cause
}

fn goes_with(form: &Form<'_, '_>, known: &Known<'_, '_>) -> Vec<ConditionChance> {
    let entries = form.chances::<ConditionId>("goes_with", "condition", &known.names.conditions, IMPERFECT);
    let chance = |percent: f64| Probability::clamped(percent / 100.0);
    let entries = entries.into_iter();
    entries.map(|entry| ConditionChance { condition: entry.id, chance: chance(entry.percent) }).collect()
}

/// `refer = { to = "technician", words = "…" }`.
fn refer(form: &Form<'_, '_>) -> Option<Refer> {
    let table = form.maybe_form("refer", format!("`refer` of {}", form.what))?;
    let refer = Refer { to: table.word("to"), words: table.text("words") };
    if let Some(claim) = claim_in(&refer.words) {
        let what = format!("{} is passed on with “{claim}”, though nobody may have done that", form.what);
        table.note(
            "words",
            what,
            "say only what is asked for: the desk adds what was answered, tried and read",
        );
    }
    table.finish();
    Some(refer)
}

/// What tells of a figure or a trial that nobody may have: a request is written for whatever is likely, also where
/// nobody looked. Single words stay free, for a file may be written in any language.
const CLAIMS: [&str; 5] =
    ["as measured", "as read", "goes with the request", "go with the request", "was tried"];

/// The first of those that stands in a request.
fn claim_in(words: &str) -> Option<&'static str> {
    let said = words.to_lowercase();
    CLAIMS.into_iter().find(|claim| said.contains(claim))
}

fn check_cause(form: &Form<'_, '_>, cause: &Cause, known: &Known<'_, '_>) {
    if cause.who == Hand::Technician && cause.refer.is_none() {
        let right = "add refer = { to = \"technician\", words = \"what they are asked to do\" }";
        form.note("who", format!("{} is for the technician but is passed on to nobody", form.what), right);
    }
    if cause.wears {
        let part = cause.part.as_deref();
        if !part.is_some_and(|slot| known.lived.contains(slot)) {
            let what = format!("{} wears, but its part has no life in this file", form.what);
            form.note("wears", what, "name a part that has a [[life]], or add one, or take `wears` away");
        }
    }
}

pub(super) fn condition(form: &mut Form<'_, '_>, known: &Known<'_, '_>) -> Condition {
    let id = form.named("condition");
    Condition {
        asks: form.text("asks"),
        takes: form.minutes(),
        otherwise: form.percent("otherwise_percent", IMPERFECT),
        source: form.source(known.names),
        id,
    }
}
