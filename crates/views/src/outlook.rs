//! Will it run? The chance of a stoppage, what weighs, and what to do in the minutes that are left.

use crate::{
    address::Place,
    common,
    plot::weights::{Row, weights},
    sheet::{Block, Card, Sheet, Table},
    wording,
    words::{Mark, Words},
};
use booth::{
    Answer, Outlook,
    outlook::{Aside, Cause, Deed, Doing, Standing, Weight},
};
use logbook::Booth;
use risk::Band;
use units::Probability;

/// So many causes are drawn; the rest stand in the table.
const MOST_DRAWN: usize = 7;

/// Shows one showing's outlook on a sheet of its own.
pub fn sheet(answer: &Answer<Outlook<'_>>, booth: &Booth) -> Sheet {
    let mut sheet = Sheet::new(format!("Will {} run?", answer.value.showing.title));
    blocks(&mut sheet, &answer.value, booth);
    sheet.heading("All that may stop it");
    sheet.push(Block::Table(causes(&answer.value, booth)));
    common::reasons(&mut sheet, answer);
    sheet
}

/// Puts an outlook on a sheet: the sentence, what to do, the picture.
pub fn blocks(sheet: &mut Sheet, outlook: &Outlook<'_>, booth: &Booth) {
    let (grave, other): (Vec<_>, Vec<_>) = outlook.asides.iter().partition(|aside| aside.is_grave());
    for aside in &grave {
        sheet.say(aside_line(aside, booth));
    }
    for (at, said) in outlook.said_of_the_showing().iter().enumerate() {
        if at == 0 {
            sheet.lead(said.as_str());
        } else {
            sheet.say(said.as_str());
        }
    }
    if !other.is_empty() {
        sheet.push(Block::List(other.iter().map(|aside| aside_line(aside, booth)).collect()));
    }
    sheet.push(Block::Facts(vec![
        ("Runs clean".to_owned(), before_and_after(outlook, |standing| standing.clean)),
        ("Stops and goes on".to_owned(), before_and_after(outlook, |standing| standing.pause)),
        ("Is lost".to_owned(), before_and_after(outlook, |standing| standing.lost)),
    ]));
    let chosen: Vec<Card> =
        outlook.deeds.iter().filter(|deed| deed.chosen).map(|deed| deed_card(deed, booth)).collect();
    if !chosen.is_empty() {
        sheet.heading(format!("Worth doing now: {}", wording::minutes(outlook.chosen_minutes.ceil())));
        sheet.push(Block::Cards(chosen));
    }
    let others: Vec<Words> =
        outlook.deeds.iter().filter(|deed| !deed.chosen).map(|deed| deed_line(deed, booth)).collect();
    if !others.is_empty() {
        let head = wording::counted(others.len(), "other thing") + " that would help";
        sheet.push(Block::Folded(head, Box::new(Block::List(others))));
    }
    let drawn = outlook.weights.iter().take(MOST_DRAWN).map(|weight| Row {
        name: weight.cause.words(booth),
        chance: weight.chance.likely.in_words(),
        before: weight.dark,
        after: weight.dark_after,
    });
    sheet.push(Block::Picture(Box::new(weights("What weighs on it", &drawn.collect::<Vec<_>>()))));
}

/// What is no stoppage but must be known, with the way to it.
fn aside_line(aside: &Aside<'_>, booth: &Booth) -> Words {
    let words = aside.words(booth);
    let line = if aside.is_grave() {
        Words::new().mark_as(Mark::NotForUse, words)
    } else {
        Words::new().plain(words)
    };
    let (place, way) = match aside {
        Aside::MustNotRun { fault, .. } | Aside::Spoils { fault, .. } => {
            (Place::Fault((*fault).clone()), "To the fault")
        }
        Aside::PastLimit { machine, .. } => (Place::Machine((*machine).clone()), "To its readings"),
        Aside::Barred { print, .. } => (Place::Print((*print).clone()), "To the print"),
    };
    line.plain(" ").link(place, way)
}

fn before_and_after(outlook: &Outlook<'_>, of: fn(&Standing) -> Band) -> Words {
    let (before, after) = (of(&outlook.before), of(&outlook.after));
    let words = Words::new().strong(before.likely.in_words()).quiet(between(before));
    // What reads the same is not said twice.
    if before.likely.in_words() == after.likely.in_words() {
        return words;
    }
    words.plain("; then ").strong(after.likely.in_words()).quiet(between(after))
}

/// The band in words; nothing where both ends read the same.
fn between(band: Band) -> String {
    let (low, high) = (band.low.in_words(), band.high.in_words());
    if low == high { String::new() } else { format!(" (between {low} and {high})") }
}

fn deed_card(deed: &Deed<'_>, booth: &Booth) -> Card {
    let saves = format!(
        "{}; saves {} of dark screen on average.",
        wording::minutes(deed.minutes.ceil()),
        wording::counted(deed.saved.seconds().round() as usize, "second")
    );
    let mut lines = vec![Words::new().plain(saves)];
    if deed.takes_last {
        lines.push(Words::new().plain("It is the last one there is."));
    }
    lines.extend(cautions(&deed.doing).map(|caution| Words::new().mark_as(Mark::Attention, caution)));
    Card {
        title: deed.doing.words(booth).into(),
        mark: None,
        lines,
        ways: vec![way(&deed.doing)],
        data: std::iter::once(("deed", deed.doing.as_str().to_owned()))
            .chain(deed.doing.machine().map(|machine| ("machine", machine.to_string())))
            .collect(),
    }
}

/// What can hurt at a deed, as the machine type has it for the part.
fn cautions<'a>(doing: &'a Doing<'_>) -> impl Iterator<Item = String> + 'a {
    let part = match doing {
        Doing::Change { kind, life, .. } | Doing::Fetch { kind, life, .. } => kind.part(life.slot.as_str()),
        Doing::Rehearse { .. }
        | Doing::Care { .. }
        | Doing::Standby { .. }
        | Doing::MendReel { .. }
        | Doing::WorkFault { .. } => None,
    };
    let of_part = part.into_iter().flat_map(|part| part.cautions.iter().map(|caution| caution.words.clone()));
    let of_task = match doing {
        Doing::Care { task, .. } => task.cautions.iter().map(|caution| caution.words.clone()).collect(),
        _ => Vec::new(),
    };
    of_part.chain(of_task)
}

/// Where the deed is written down.
fn way(doing: &Doing<'_>) -> Words {
    let field = |name: &str, value: &str| (name.to_owned(), value.to_owned());
    // Whoever has written it down wants to see what it changed.
    let with_back = |fields: &[(&str, &str)]| -> Vec<(String, String)> {
        let back = field("back", &Place::Tonight.href());
        fields.iter().map(|(name, value)| field(name, value)).chain([back]).collect()
    };
    let filled = |kind: &str, fields: &[(&str, &str)]| Place::LogKind(kind.to_owned(), with_back(fields));
    let (place, words) = match doing {
        Doing::Change { machine, life, item, .. } => {
            // It is a planned change, and what is fitted leaves the stores.
            let mut fields = vec![
                ("machine", machine.as_str()),
                ("slot", life.slot.as_str()),
                ("replaces.why", "planned"),
            ];
            fields.extend(item.map(|item| ("item", item.as_str())));
            (filled("part-fitted", &fields), "Write down the change")
        }
        Doing::Rehearse { machine, .. } => {
            let fields = [("machine", machine.as_str()), ("run", "rehearsal")];
            (filled("ran", &fields), "Write down the rehearsal")
        }
        Doing::Care { machine, task } => {
            let fields = [("machine", machine.as_str()), ("task", task.id.as_str())];
            (filled("care-done", &fields), "Write down the care")
        }
        Doing::Fetch { .. } => (filled("stock-counted", &[]), "Write down the spare"),
        Doing::Standby { of, .. } => (Place::Machine((*of).clone()), "Machine"),
        Doing::MendReel { print, reel, .. } => {
            let fields = with_back(&[("deed", "mended"), ("which_reels", &reel.to_string())]);
            (Place::PrintHandled((*print).clone(), fields), "Write down the mending")
        }
        Doing::WorkFault { fault, .. } => (Place::Fault((*fault).clone()), "Go on with it"),
    };
    Words::new().link(place, words)
}

fn deed_line(deed: &Deed<'_>, booth: &Booth) -> Words {
    let mut line = Words::new().plain(deed.doing.words(booth)).quiet(format!(
        ": {}, saves {} on average. ",
        wording::minutes(deed.minutes.ceil()),
        wording::counted(deed.saved.seconds().round() as usize, "second")
    ));
    line.0.extend(way(&deed.doing).0);
    line
}

/// Everything that may stop it, with what each chance rests on.
fn causes(outlook: &Outlook<'_>, booth: &Booth) -> Table {
    let heads = ["What", "Chance", "If it does", "Rests on"];
    let mut table = Table::new("What may stop it", &heads, "Nothing is known that may stop it.").tight();
    for weight in &outlook.weights {
        let chance = Words::new().plain(weight.chance.likely.in_words()).quiet(between(weight.chance));
        table.push(
            vec![weight.cause.words(booth).into(), chance, weight.then.as_str().into(), rests(weight).into()],
            Vec::new(),
        );
    }
    table
}

fn rests(weight: &Weight<'_>) -> String {
    match &weight.cause {
        Cause::Part { rests, .. } if rests.lives == 0 => "the machine type alone".to_owned(),
        Cause::Part { rests, .. } => {
            let failures = wording::counted(rests.failures as usize, "failure");
            let mostly = if rests.on_prior() { "; mostly on the machine type" } else { "" };
            format!("{failures} in {}{mostly}", wording::counted(rests.lives as usize, "life"))
        }
        Cause::Unexplained { seen, showings } => {
            format!(
                "{} in {}",
                wording::counted(*seen, "such stoppage"),
                wording::counted(*showings, "showing")
            )
        }
        Cause::Fault { likeliest, showings, stoppages, .. } => {
            let behind = likeliest
                .as_ref()
                .map(|(cause, chance)| format!("; likeliest: {cause}, {}", chance.in_words()));
            since(*showings, *stoppages) + &behind.unwrap_or_default()
        }
        Cause::Reading { last, past, showings, stoppages, .. } => {
            let read = last.at.date().strftime("%-d %b %Y");
            let rule = since(*showings, *stoppages);
            format!("{rule}; past it by then: {}, by the readings up to {read}", past.in_words())
        }
        Cause::LooseWork { worked, .. } => {
            format!("what came after {} in the record", wording::counted(*worked, "fitting"))
        }
        Cause::Reel { .. } => "the inspection".to_owned(),
        Cause::NotForUse { .. } => "the decision on its fitness".to_owned(),
    }
}

/// What came since something was first seen to be wrong.
fn since(showings: usize, stoppages: usize) -> String {
    if showings == 0 {
        return "a rule, for the machine has not run since".to_owned();
    }
    let stopped = wording::counted(stoppages, "stoppage");
    format!("{stopped} in {} since", wording::counted(showings, "showing"))
}

/// An outlook as JSON.
pub fn json(outlook: &Outlook<'_>, booth: &Booth) -> serde_json::Value {
    use serde_json::json;
    let chance = |chance: Probability| chance.value();
    let band = |band: Band| json!({ "chance": chance(band.likely), "low": chance(band.low), "high": chance(band.high) });
    let standing = |standing: &Standing| {
        json!({
            "clean": band(standing.clean),
            "pause": band(standing.pause),
            "lost": band(standing.lost),
            "expected_dark_seconds": standing.dark,
        })
    };
    let weight = |weight: &Weight<'_>| {
        let mut value = json!({
            "what": weight.cause.words(booth),
            "machine": weight.cause.machine(),
            "chance": band(weight.chance),
            "expected_dark_seconds": weight.dark,
            "after_expected_dark_seconds": weight.dark_after,
            "clean_chance_without": weight.clean_without,
            "then": weight.then,
        });
        if let Cause::Part { life, part, spares, rests, .. } = &weight.cause {
            value["slot"] = json!(life.slot);
            value["part"] = json!(part);
            value["spares"] = json!(spares);
            value["failures_seen"] = json!(rests.failures);
            value["lives_seen"] = json!(rests.lives);
            value["share_from_data"] = json!(rests.from_data);
        }
        if let Cause::Reading { last, past, .. } = &weight.cause {
            value["reading"] = json!(last.entry);
            value["past_limit_chance"] = json!(past.value());
        }
        value
    };
    let aside = |aside: &Aside<'_>| {
        let (fault, print) = match aside {
            Aside::MustNotRun { fault, .. } | Aside::Spoils { fault, .. } => (Some(fault), None),
            Aside::Barred { print, .. } => (None, Some(print)),
            Aside::PastLimit { .. } => (None, None),
        };
        json!({ "sort": aside.as_str(), "what": aside.words(booth), "fault": fault, "print": print })
    };
    let deed = |deed: &Deed<'_>| {
        json!({
            "do": deed.doing.as_str(),
            "what": deed.doing.words(booth),
            "machine": deed.doing.machine(),
            "minutes": deed.minutes,
            "saved_dark_seconds": deed.saved,
            "saved_dark_seconds_per_minute": deed.rate,
            "chosen": deed.chosen,
            "takes_last": deed.takes_last,
        })
    };
    json!({
        "showing": outlook.id,
        "title": outlook.showing.title,
        "sentence": outlook.sentence(),
        "said": outlook.said,
        "work_minutes": outlook.minutes,
        "checks_minutes": outlook.checks_minutes,
        "before": standing(&outlook.before),
        "after": standing(&outlook.after),
        "asides": outlook.asides.iter().map(aside).collect::<Vec<_>>(),
        "weights": outlook.weights.iter().map(weight).collect::<Vec<_>>(),
        "deeds": outlook.deeds.iter().map(deed).collect::<Vec<_>>(),
        "chosen_minutes": outlook.chosen_minutes,
        "proven": outlook.proven,
    })
}
