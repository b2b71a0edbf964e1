//! `[[access]]` and `[[check]]`.

use super::Known;
use super::chances::IMPERFECT;
use super::step::{Step, check_access, check_dangers, check_hand, with_dangers_of};
use crate::id::SlotId;
use crate::part::{Caution, Danger, Hand};
use crate::read::form::Form;
use crate::read::part::cautions;
use crate::trouble::{Access, Answers, Check};

pub(super) fn access(form: &mut Form<'_, '_>, known: &Known<'_, '_>) -> Access {
    let id = form.named("access");
    Access {
        name: form.text("name"),
        words: form.text("words"),
        takes: form.minutes(),
        state: form.word("state"),
        who: form.word("who"),
        needs_tool: form.flag("needs_tool"),
        cautions: cautions(form),
        source: form.source(known.names),
        id,
    }
}

pub(super) fn check(form: &mut Form<'_, '_>, known: &Known<'_, '_>, accesses: &[Access]) -> Check {
    let names = known.names;
    let id = form.named("check");
    let faults = form.desk.count();
    let mut check = Check {
        name: form.text("name"),
        words: form.text("words"),
        answers: answers(form),
        takes: form.minutes(),
        state: form.word("state"),
        access: form.maybe_reference("access", &names.accesses),
        who: form.word("who"),
        looks_at: form.references("looks_at", &names.parts),
        touches: form.references("touches", &names.parts),
        swap: form.maybe_word("swap"),
        reading: form.maybe_reference("reading", &names.readings),
        tells: form.cause_chances("tells", names, IMPERFECT),
        not_found_tells: form.maybe_cause_chances("not_found_tells", names, IMPERFECT),
        false_alarm: form.percent("false_alarm_percent", IMPERFECT),
        cautions: cautions(form),
        source: form.source(names),
        id,
    };
    // A stand-in for a misread word would only give echoes of the first fault.
    if form.desk.count() == faults {
        check_safety(form, &check, known, accesses);
        check_worth(form, &check);
    }
    let own = with_dangers_of(&check.cautions, &known.parts(handled(&check)), check.state);
    let seen = with_dangers_of(&own, &known.parts(&check.looks_at), check.state);
    // A look spoils nothing: what a wrong touch would spoil is cautioned where a hand is laid on it.
    let is_spoilt_by_a_touch = |caution: &Caution| caution.danger == Danger::Delicate;
    let of_a_look = seen[own.len()..].iter().filter(|caution| !is_spoilt_by_a_touch(caution));
    check.cautions = own.iter().chain(of_a_look).cloned().collect();
    check
}

/// The parts that come into a hand: those that are touched, and in a swap those that are looked at, too.
fn handled(check: &Check) -> impl Iterator<Item = &SlotId> {
    let swapped = check.swap.is_some().then_some(&check.looks_at);
    check.touches.iter().chain(swapped.into_iter().flatten())
}

/// `answers = { found = "It glows", not_found = "It is dark" }`.
fn answers(form: &Form<'_, '_>) -> Answers {
    let right =
        "add answers = { found = \"Dark\", not_found = \"It glows\" }; `found` points to the causes in tells";
    let Some(table) = form.form("answers", format!("`answers` of {}", form.what), right) else {
        return Answers { found: String::new(), not_found: String::new() };
    };
    let answers = Answers { found: table.text("found"), not_found: table.text("not_found") };
    table.finish();
    answers
}

fn check_safety(form: &Form<'_, '_>, check: &Check, known: &Known<'_, '_>, accesses: &[Access]) {
    let touched = known.parts(&check.touches);
    let step = Step {
        state: check.state,
        who: check.who,
        access: check.access.as_ref(),
        touched: &touched,
        cautions: &check.cautions,
    };
    check_dangers(form, &step);
    check_hand(form, &step, |part| part.who.look);
    check_access(form, &step, accesses);
    if check.who == Hand::Operator
        && check.looks_at.is_empty()
        && check.touches.is_empty()
        && check.swap.is_none()
    {
        let right = "add looks_at = [\"…\"], touches = [\"…\"] or swap = \"print\"";
        form.note(
            "looks_at",
            format!("{} looks at nothing, touches nothing and swaps nothing", form.what),
            right,
        );
    }
}

/// A check that finds its cause no more often than it cries wolf tells nothing.
fn check_worth(form: &Form<'_, '_>, check: &Check) {
    for tell in check.tells.iter().filter(|tell| tell.chance <= check.false_alarm) {
        let what = format!("{} finds `{}` no more often than it gives a false alarm", form.what, tell.cause);
        form.note("tells", what, "let the percentage be above false_alarm_percent, or take the cause away");
    }
    // The other answer comes with its cause at least as often as without.
    for tell in check.not_found_tells.iter().filter(|tell| tell.chance < check.false_alarm.complement()) {
        let what = format!("{} points to `{}` less often than to nothing", form.what, tell.cause);
        let right = "let the percentage be 100 less false_alarm_percent or more, or take the cause away";
        form.note("not_found_tells", what, right);
    }
    for tell in &check.not_found_tells {
        if check.tells.iter().any(|other| other.cause == tell.cause) {
            let what = format!("both answers of {} point to `{}`", form.what, tell.cause);
            form.note("not_found_tells", what, "name a cause in one of the two lists");
        }
    }
}
