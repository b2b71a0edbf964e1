//! `[[symptom]]`: what is noticed, its causes with their odds, and what to do at once.

use super::Known;
use super::chances::SHARE;
use crate::id::CauseId;
use crate::read::form::{Allowed, Form};
use crate::stock::Stops;
use crate::trouble::{CauseChance, During, ForPrint, RunOn, Symptom};
use units::{Probability, Seconds};

/// How far the odds of a symptom may miss 100 per cent.
const SLACK_PERCENT: f64 = 5.0;

pub(super) fn symptom(form: &mut Form<'_, '_>, known: &Known<'_, '_>) -> Symptom {
    let names = known.names;
    let id = form.named("symptom");
    let (causes, unexplained) = odds(form, known);
    let mut symptom = Symptom {
        name: form.text("name"),
        also_said: form.texts("also_said"),
        noticed: form.word("noticed"),
        shows_at: form.references("shows_at", &names.parts),
        per_1000_hours: form.number("per_1000_hours", Allowed::Positive { most: 10_000.0 }),
        causes,
        unexplained,
        stop_now: form.maybe_text("stop_now"),
        drill: form.maybe_reference("drill", &names.drills),
        stops: Stops::Nothing,
        for_print: for_print(form),
        during: during(form),
        after: form.text("after"),
        source: form.source(names),
        id,
    };
    // Where there is a drill, the show stops.
    let by_drill = if symptom.drill.is_some() { Stops::Picture } else { Stops::Nothing };
    symptom.stops = form.maybe_word("stops").unwrap_or(by_drill);
    if symptom.shows_at.is_empty() {
        let right = "add shows_at = [\"…\"] with the parts at which one would look first";
        form.note("shows_at", format!("{} shows at no part", form.what), right);
    }
    check_stop(form, &symptom);
    symptom
}

/// The causes and what is left over, as shares of one whole.
fn odds(form: &Form<'_, '_>, known: &Known<'_, '_>) -> (Vec<CauseChance>, Probability) {
    let faults = form.desk.count();
    let entries = form.chances::<CauseId>("causes", "cause", &known.names.causes, SHARE);
    let left = form.maybe_number("unexplained_percent", Allowed::Between { least: 0.0, most: 95.0 });
    if entries.is_empty() {
        let right = "add causes = [{ cause = \"…\", percent = 60 }]";
        form.note("causes", format!("{} has no causes", form.what), right);
    }
    let named: f64 = entries.iter().map(|entry| entry.percent).sum();
    let sum = named + left.unwrap_or_default();
    if form.desk.count() == faults && (sum - 100.0).abs() > SLACK_PERCENT {
        let what = format!("the odds of {} make {sum} per cent", form.what);
        let right = "let them make 95 to 105, or say in unexplained_percent what is left over";
        form.note("causes", what, right);
    }
    let left = left.unwrap_or_else(|| (100.0 - named).max(0.0));
    let whole = named + left;
    let share = |percent: f64| Probability::clamped(if whole > 0.0 { percent / whole } else { 0.0 });
    let causes = entries.into_iter();
    let causes = causes.map(|entry| CauseChance { cause: entry.id, chance: share(entry.percent) });
    (causes.collect(), share(left))
}

/// `for_print = { disposable = "run-on", lent = "reel-end", only = "stop" }`.
fn for_print(form: &Form<'_, '_>) -> ForPrint {
    let Some(table) = form.maybe_form("for_print", format!("`for_print` of {}", form.what)) else {
        return ForPrint::SAFE;
    };
    let sorts =
        ForPrint { disposable: table.word("disposable"), lent: table.word("lent"), only: table.word("only") };
    if !(sorts.disposable <= sorts.lent && sorts.lent <= sorts.only) {
        table.note(
            "only",
            format!("{} is kinder to a cheaper print", table.what),
            "let the lender's print go no further than a disposable one, and the only print no further than either",
        );
    }
    table.finish();
    sorts
}

/// `during = { words = "…", seconds = 20 }`.
fn during(form: &Form<'_, '_>) -> During {
    let right = "add during = { words = \"what to do with your hands now\", seconds = 20 }";
    let Some(table) = form.form("during", format!("`during` of {}", form.what), right) else {
        return During { words: String::new(), takes: Seconds::new(0.0) };
    };
    let during = During {
        words: table.text("words"),
        takes: Seconds::new(table.number("seconds", Allowed::Between { least: 0.0, most: 3600.0 })),
    };
    table.finish();
    during
}

/// Where everything stops at once, it stops for every print, and a drill says how.
fn check_stop(form: &Form<'_, '_>, symptom: &Symptom) {
    if symptom.stop_now.is_none() {
        return;
    }
    if symptom.drill.is_none() {
        let right = "add drill = \"…\" with the drill that stops it";
        form.note("stop_now", format!("{} stops everything but has no drill", form.what), right);
    }
    if symptom.for_print.disposable != RunOn::Stop && !form.has("for_print") {
        let right = "add for_print = { disposable = \"stop\", lent = \"stop\", only = \"stop\" }";
        form.note("stop_now", format!("{} stops everything but does not say so of prints", form.what), right);
    } else if symptom.for_print.disposable != RunOn::Stop {
        let right = "write \"stop\" for every sort of print, or take stop_now away";
        form.note("for_print", format!("{} stops everything but runs some prints on", form.what), right);
    }
}
