//! `[[consumable]]`, `[[spare]]` and `[[life]]`.

use super::form::{Allowed, Form, listed};
use super::names::Names;
use super::part::cautions;
use crate::id::SourceTag;
use crate::stock::{Consumable, Cost, Lead, LifeClock, Loss, PriorLife, Spare, Stops};
use std::collections::HashSet;
use units::Grams;

pub(super) fn consumables(top: &Form<'_, '_>, names: &Names<'_>) -> Vec<Consumable> {
    let mut consumables = Vec::new();
    for mut form in top.forms("consumable") {
        let id = form.named("consumable");
        consumables.push(Consumable {
            id,
            name: form.text("name"),
            words: form.text("words"),
            cautions: cautions(&form),
            source: form.source(names),
        });
        form.finish();
    }
    consumables
}

pub(super) fn spares(top: &Form<'_, '_>, names: &Names<'_>) -> Vec<Spare> {
    let mut spares: Vec<Spare> = Vec::new();
    for mut form in top.forms("spare") {
        let spare = spare(&mut form, names);
        form.finish();
        spares.push(spare);
    }
    spares
}

fn spare(form: &mut Form<'_, '_>, names: &Names<'_>) -> Spare {
    let id = form.named("spare");
    let spare = Spare {
        id,
        name: form.text("name"),
        fits: form.references("fits", &names.parts),
        carry: form.whole("carry", 0, 1000),
        depot: form.text("depot"),
        mass: form.maybe_number("grams", Allowed::Positive { most: 1.0e6 }).map(Grams::new),
        cost: cost(form, names),
        lead: lead(form, names),
        source: form.source(names),
    };
    if spare.fits.is_empty() {
        form.note("fits", format!("{} fits nothing", form.what), "add fits = [\"…\"] with the slots it fits");
    }
    spare
}

fn cost(form: &Form<'_, '_>, names: &Names<'_>) -> Cost {
    let right = "add cost = { credits = 12, source = \"…\" }";
    let Some(table) = form.form("cost", format!("`cost` of {}", form.what), right) else {
        return Cost { credits: 0.0, source: SourceTag::default() };
    };
    let most = Allowed::Between { least: 0.0, most: 1.0e6 };
    let cost = Cost { credits: table.number("credits", most), source: table.source(names) };
    table.finish();
    cost
}

fn lead(form: &Form<'_, '_>, names: &Names<'_>) -> Lead {
    let right = "add lead = { days = 21, source = \"…\" }";
    let Some(table) = form.form("lead", format!("`lead` of {}", form.what), right) else {
        return Lead { days: 0, rare_days: None, source: SourceTag::default() };
    };
    let lead = Lead {
        days: table.whole("days", 0, 3650),
        rare_days: table.maybe_whole("rare_days", 0, 3650),
        source: table.source(names),
    };
    if lead.rare_days.is_some_and(|rare| rare < lead.days) {
        table.note(
            "rare_days",
            format!("{} is shorter when the thing is rare", table.what),
            "let rare_days be at least days",
        );
    }
    table.finish();
    lead
}

pub(super) fn lives(top: &Form<'_, '_>, names: &Names<'_>) -> Vec<PriorLife> {
    let mut lives: Vec<PriorLife> = Vec::new();
    let mut seen = HashSet::new();
    for mut form in top.forms("life") {
        let life = life(&mut form, names);
        let fresh = seen.insert((life.slot.clone(), life.variant.clone(), life.clock));
        if !fresh && !life.slot.is_empty() {
            form.note(
                "part",
                format!("a second life of `{}` on the same clock", life.slot),
                "tell them apart by variant = \"…\"",
            );
        }
        form.finish();
        lives.push(life);
    }
    lives
}

fn life(form: &mut Form<'_, '_>, names: &Names<'_>) -> PriorLife {
    let slot: crate::id::SlotId = form.reference("part", &names.parts);
    form.call("life of", &slot);
    let (clock, scale) = scale(form);
    PriorLife {
        variant: form.maybe_text("variant").unwrap_or_default(),
        shape: form.number("shape", Allowed::Between { least: 0.1, most: 50.0 }),
        clock,
        scale,
        alternative: form.flag("alternative"),
        modifiers: form.text("modifiers"),
        loss: loss(form, names),
        source: form.source(names),
        slot,
    }
}

/// `loss = { stops = "picture", minutes = 3, spare = true, at_strike = 0.6, bench_minutes = 5, source = "…" }`.
fn loss(form: &Form<'_, '_>, names: &Names<'_>) -> Option<Loss> {
    let table = form.maybe_form("loss", format!("`loss` of {}", form.what))?;
    let minutes = Allowed::Between { least: 0.1, most: 600.0 };
    let loss = Loss {
        stops: table.word("stops"),
        minutes: table.maybe_number("minutes", minutes),
        spare: table.flag("spare"),
        at_strike: table.maybe_number("at_strike", Allowed::Between { least: 0.0, most: 1.0 }).unwrap_or(0.0),
        bench_minutes: table.maybe_number("bench_minutes", minutes),
        source: table.source(names),
    };
    let idle = loss.minutes.is_some() || loss.spare || loss.at_strike > 0.0;
    if loss.stops == Stops::Nothing && idle {
        table.note(
            "stops",
            format!("{} stops nothing, yet says what it takes to go on", table.what),
            "leave minutes, spare and at_strike out, or say what it stops",
        );
    }
    table.finish();
    Some(loss)
}

/// `scale = { lamp_hours = 55 }`: the clock is the key.
fn scale(form: &Form<'_, '_>) -> (LifeClock, f64) {
    let right = "add scale = { hours = 2500 }, with the clock as the key";
    let fallback = (LifeClock::Hours, 1.0);
    let Some(table) = form.form("scale", format!("`scale` of {}", form.what), right) else { return fallback };
    let most = Allowed::Positive { most: 1.0e7 };
    let clocks = LifeClock::ALL.iter();
    let given: Vec<_> = clocks.filter(|clock| table.has(clock.as_str())).collect();
    let scale = if let [clock] = given.as_slice() {
        (**clock, table.number(clock.as_str(), most))
    } else {
        let words = listed(LifeClock::ALL.iter().map(|clock| clock.as_str()));
        form.note("scale", format!("{} needs exactly one clock", table.what), format!("use one of {words}"));
        fallback
    };
    table.finish();
    scale
}
