//! `[[reading]]`: what is measured and how good is good.

use super::form::{Allowed, Form};
use super::names::Names;
use crate::limit::{Basis, Better, Bounds, ReadingLimit, Repeats};

/// A bound may be any number of ordinary size, of either sign.
const ANY: Allowed = Allowed::Between { least: -1.0e9, most: 1.0e9 };

pub(super) fn limits(top: &Form<'_, '_>, names: &Names<'_>) -> Vec<ReadingLimit> {
    let mut limits = Vec::new();
    for mut form in top.forms("reading") {
        limits.push(limit(&mut form, names));
        form.finish();
    }
    limits
}

fn limit(form: &mut Form<'_, '_>, names: &Names<'_>) -> ReadingLimit {
    let faults = form.desk.count();
    let quantity = form.named("reading");
    let limit = ReadingLimit {
        name: form.text("name"),
        unit: form.word("unit"),
        better: form.word("better"),
        basis: form.maybe_word("basis").unwrap_or(Basis::Reading),
        good: good(form),
        act: outer(form, "act"),
        stop: outer(form, "stop"),
        parts: form.references("parts", &names.parts),
        instrument: form.text("instrument"),
        how: form.text("how"),
        conditions: form.texts("conditions"),
        every: form.text("often"),
        clock: form.maybe_word("clock"),
        repeats: repeats(form),
        tells: form.text("tells"),
        source: form.source(names),
        quantity,
    };
    // A stand-in for a misread word would only give echoes of the first fault.
    if form.desk.count() == faults {
        check_bounds(form, &limit);
    }
    limit
}

/// `good = { at_least = 0.8, at_most = 1.8 }`.
fn good(form: &Form<'_, '_>) -> Bounds {
    let right = "add good = { at_least = 0.8, at_most = 1.8 }, or one of the two";
    let Some(table) = form.form("good", format!("`good` of {}", form.what), right) else {
        return Bounds::default();
    };
    let bounds =
        Bounds { low: table.maybe_number("at_least", ANY), high: table.maybe_number("at_most", ANY) };
    finish_bounds(form, "good", table, bounds)
}

/// `act = { below = 0.6, above = 2.2 }`: the bounds beyond which something is done.
fn outer(form: &Form<'_, '_>, key: &'static str) -> Option<Bounds> {
    let table = form.maybe_form(key, format!("`{key}` of {}", form.what))?;
    let bounds = Bounds { low: table.maybe_number("below", ANY), high: table.maybe_number("above", ANY) };
    Some(finish_bounds(form, key, table, bounds))
}

fn finish_bounds(form: &Form<'_, '_>, key: &str, table: Form<'_, '_>, bounds: Bounds) -> Bounds {
    if let (Some(low), Some(high)) = (bounds.low, bounds.high)
        && low > high
    {
        form.note(
            key,
            format!("{} runs from {low} down to {high}", table.what),
            "write the smaller number as the lower bound",
        );
    }
    table.finish();
    bounds
}

/// Good lies within act, act within stop, and the bounds look the way that is better.
fn check_bounds(form: &Form<'_, '_>, limit: &ReadingLimit) {
    let open_ends = match limit.better {
        Better::Lower => limit.good.high.is_none() || limit.good.low.is_some(),
        Better::Higher => limit.good.low.is_none() || limit.good.high.is_some(),
        Better::Within => limit.good.low.is_none() || limit.good.high.is_none(),
    };
    if form.has("good") && open_ends {
        let right = match limit.better {
            Better::Lower => "where lower is better, good has at_most and no at_least",
            Better::Higher => "where higher is better, good has at_least and no at_most",
            Better::Within => "where within is better, good has at_least and at_most",
        };
        form.note(
            "good",
            format!("`good` of {} does not fit better = \"{}\"", form.what, limit.better),
            right,
        );
    }
    if let Some(act) = limit.act
        && !act.contain(&limit.good)
    {
        form.note(
            "act",
            format!("`act` of {} begins inside good", form.what),
            "let the bounds of act lie at or beyond those of good",
        );
    }
    let inner = limit.act.unwrap_or(limit.good);
    if let Some(stop) = limit.stop
        && !stop.contain(&inner)
    {
        form.note(
            "stop",
            format!("`stop` of {} begins inside act or good", form.what),
            "let the bounds of stop lie beyond those of act",
        );
    }
}

/// `repeats = { percent = 5 }` or `repeats = { amount = 0.5 }`.
fn repeats(form: &Form<'_, '_>) -> Option<Repeats> {
    let table = form.maybe_form("repeats", format!("`repeats` of {}", form.what))?;
    let percent = table.maybe_number("percent", Allowed::Positive { most: 100.0 });
    let amount = table.maybe_number("amount", Allowed::Positive { most: 1.0e6 });
    let repeats = match (table.has("percent"), table.has("amount")) {
        (true, false) => percent.map(Repeats::Percent),
        (false, true) => amount.map(Repeats::Amount),
        _ => {
            form.note(
                "repeats",
                format!("{} needs one of `percent` and `amount`", table.what),
                "write repeats = { percent = 5 }",
            );
            None
        }
    };
    table.finish();
    repeats
}
