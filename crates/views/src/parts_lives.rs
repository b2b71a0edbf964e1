//! How long the parts last: all of them at a glance, and one with its curve.

use crate::{
    address::Place,
    common,
    plot::life::{LifePlot, life},
    sheet::{Block, Sheet, Table},
    wording,
    words::{Mark, Words},
};
use booth::{
    Answer, PartLives,
    lived::Entered,
    parts_lives::{FittedLife, OwnLife, age_figure as figure, age_in_words},
};
use lives::bayes::{Chance, Estimate};
use logbook::{Booth, fact::Ending, ids::SlotId};
use machine::LifeClock;
use serde_json::{Value, json};

/// All parts, by machine type; those that may fail soonest first.
pub fn sheet(answer: &Answer<Vec<PartLives<'_>>>, booth: &Booth) -> Sheet {
    let mut sheet = Sheet::new("Parts and lives");
    sheet.lead(lead(&answer.value, booth));
    let mut kinds: Vec<&str> = answer.value.iter().map(|lives| lives.kind.name.as_str()).collect();
    kinds.dedup();
    for kind in kinds {
        let mut of_kind: Vec<&PartLives<'_>> =
            answer.value.iter().filter(|lives| lives.kind.name == kind).collect();
        of_kind.sort_by(|a, b| soonest(b).total_cmp(&soonest(a)));
        sheet.heading(kind);
        sheet.push(Block::Table(overview(kind, &of_kind, booth)));
    }
    common::reasons(&mut sheet, answer);
    sheet
}

fn soonest(lives: &PartLives<'_>) -> f64 {
    lives.fitted.iter().map(|fitted| fitted.chance.chance.value()).fold(0.0, f64::max)
}

/// Which parts are past their best age for a change; and what is known at all.
fn lead(all: &[PartLives<'_>], booth: &Booth) -> String {
    let past: Vec<String> = all.iter().filter_map(|lives| past(lives, booth)).collect();
    let seen: usize = all.iter().map(|lives| lives.own.len()).sum();
    let failed: usize = all.iter().map(|lives| lives.failures).sum();
    let noun = if seen == 1 { "life" } else { "lives" };
    let known = format!("This booth has seen {seen} {noun}, of which {failed} ended in failure.");
    if past.is_empty() {
        return format!("No part of known age is past its best age for a change. {known}");
    }
    format!("Past the best age for a change: {}. {known}", past.join("; "))
}

/// The machines whose part is past its best age.
fn past(lives: &PartLives<'_>, booth: &Booth) -> Option<String> {
    let fitted = lives.fitted.iter().filter(|fitted| fitted.past_change == Some(true));
    let machines: Vec<String> = fitted.map(|fitted| booth.machine_name(fitted.machine).to_owned()).collect();
    (!machines.is_empty()).then(|| format!("{} of {}", lives.name, wording::listed(&machines)))
}

fn overview(kind: &str, of_kind: &[&PartLives<'_>], booth: &Booth) -> Table {
    let heads = ["Part", "Half outlive", "Change at", "Likeliest to fail", "Seen"];
    let mut table = Table::new(kind, &heads, "No part of this type has a life of its own.").tight();
    for lives in of_kind {
        let name = Words::new().link(place(lives), lives.name.as_str());
        let half = Words::new().plain(age_in_words(lives.half.median, lives.life.clock)).quiet(format!(
            " ({} to {})",
            figure(lives.half.low),
            figure(lives.half.high)
        ));
        let change = match &lives.change {
            Ok(change) => age_in_words(change.best_age, lives.life.clock),
            Err(_) => "–".to_owned(),
        };
        let cells = vec![name, half, change.into(), likeliest(lives, booth), seen(lives).into()];
        table.push(cells, vec![("slot", lives.life.slot.to_string())]);
    }
    table
}

fn place(lives: &PartLives<'_>) -> Place {
    Place::PartLives(lives.kind.id.to_string(), SlotId::new(lives.life.slot.as_str()))
}

fn likeliest(lives: &PartLives<'_>, booth: &Booth) -> Words {
    let by_chance = |a: &&FittedLife<'_>, b: &&FittedLife<'_>| {
        a.chance.chance.value().total_cmp(&b.chance.chance.value())
    };
    let Some(fitted) = lives.fitted.iter().max_by(by_chance) else { return "none fitted".into() };
    let words = Words::new().plain(format!(
        "{}: {}",
        booth.machine_name(fitted.machine),
        fitted.chance.chance.in_words()
    ));
    let words = words.quiet(format!(" in {}", age_in_words(fitted.span, lives.life.clock)));
    if fitted.past_change == Some(true) {
        words.plain(" ").mark_as(Mark::Attention, "past its best age")
    } else {
        words
    }
}

fn seen(lives: &PartLives<'_>) -> String {
    let words = format!("{} of {} failed", lives.failures, lives.own.len());
    match (lives.own.is_empty(), lives.on_prior()) {
        (true, _) => "none; the machine type alone".to_owned(),
        (false, true) => words + "; mostly the machine type",
        (false, false) => words,
    }
}

/// One kind of part: a sentence, the curve, the fitted ones, the lives seen.
pub fn part_sheet(answer: &Answer<Vec<PartLives<'_>>>, booth: &Booth) -> Sheet {
    let title = answer.value.first().map_or_else(
        || "Parts and lives".to_owned(),
        |lives| {
            let part = lives.kind.part(lives.life.slot.as_str());
            let name = part.map_or(lives.life.slot.as_str(), |part| part.name.as_str());
            format!("How long it lasts: {name}")
        },
    );
    let mut sheet = Sheet::new(title);
    for lives in &answer.value {
        if answer.value.len() > 1 {
            sheet.heading(lives.name.as_str());
        }
        one(&mut sheet, lives, booth);
    }
    common::reasons(&mut sheet, answer);
    sheet
}

fn one(sheet: &mut Sheet, lives: &PartLives<'_>, booth: &Booth) {
    sheet.lead(lives.sentence.as_str());
    sheet.push(Block::Picture(Box::new(life(&drawn(lives, booth)))));
    sheet.say(Words::new().quiet(
        "The line is what is believed, the shade its band (nine times in ten). Steps and dots are this booth's own lives: a dot is a failure, a stroke a part that was still good. Triangles are the parts fitted now.",
    ));
    sheet.push(Block::Facts(facts(lives)));
    sheet.push(Block::Table(fitted(lives, booth)));
    let own = own(lives, booth);
    let head = format!("Lives seen in this booth: {}", lives.own.len());
    sheet.push(Block::Folded(head, Box::new(Block::Table(own))));
}

fn drawn<'p>(lives: &'p PartLives<'_>, booth: &Booth) -> LifePlot<'p> {
    let believed = lives.believed.iter().map(|at| {
        let Chance { chance, low, high } = at.survival;
        (at.age, chance.value(), low.value(), high.value())
    });
    let fitted = lives
        .fitted
        .iter()
        .filter_map(|fitted| Some((booth.machine_name(fitted.machine).to_owned(), fitted.known_age()?)));
    LifePlot {
        title: format!("How many are still good by age: {}", lives.name),
        clock: clock(lives.life.clock),
        believed: believed.collect(),
        own: lives.curve.as_ref(),
        change: lives.change.as_ref().ok().map(|change| change.best_age),
        fitted: fitted.collect(),
    }
}

fn facts(lives: &PartLives<'_>) -> Vec<(String, Words)> {
    let clock = lives.life.clock;
    let estimate = |estimate: Estimate| {
        Words::new().strong(age_in_words(estimate.median, clock)).quiet(format!(
            " (between {} and {})",
            figure(estimate.low),
            figure(estimate.high)
        ))
    };
    let mut facts = vec![
        ("Half are still good at".to_owned(), estimate(lives.half)),
        ("One in ten has failed by".to_owned(), estimate(lives.tenth)),
    ];
    match &lives.change {
        Ok(change) => {
            let saved = 100.0 * (1.0 - change.rate / change.rate_if_left);
            facts.push((
                "Best change at".to_owned(),
                Words::new()
                    .strong(age_in_words(change.best_age, clock))
                    .quiet(format!(" ({saved:.0} in 100 cheaper than to leave it until it fails)")),
            ));
            let costs = format!(
                "{} of work against {} of work and {} of dark or silent screen",
                wording::minutes(change.planned_minutes),
                wording::minutes(change.planned_minutes),
                wording::minutes(change.dark_minutes)
            );
            facts.push(("A change against a failure".to_owned(), costs.into()));
        }
        Err(why) => facts.push(("Best change".to_owned(), why.words().into())),
    }
    let data = format!(
        "the booth's own record took away {:.0} in 100 of the doubt about how long it lasts; for the rest the machine type's word stands ({})",
        100.0 * lives.from_data,
        lives.life.source
    );
    facts.push(("Rests on".to_owned(), data.into()));
    facts
}

fn fitted(lives: &PartLives<'_>, booth: &Booth) -> Table {
    let mut table = Table::new(
        "Fitted now",
        &["Machine", "#Age", "Fails soon", "State"],
        "None is fitted that the logbook knows.",
    )
    .tight();
    for fitted in &lives.fitted {
        let age = match fitted.age {
            Entered::At(age) => age_in_words(age, lives.life.clock),
            Entered::Within(low, high) => {
                format!("{} to {}", figure(low), age_in_words(high, lives.life.clock))
            }
        };
        let Chance { chance, low, high } = fitted.chance;
        let chance = Words::new().plain(chance.in_words()).quiet(format!(
            " in {} (between {} and {})",
            age_in_words(fitted.span, lives.life.clock),
            low.in_words(),
            high.in_words()
        ));
        let state = match fitted.past_change {
            Some(true) => Words::new().mark_as(Mark::Attention, "past its best age for a change"),
            Some(false) => "before its best age for a change".into(),
            None => "".into(),
        };
        let machine = Place::Part(fitted.machine.clone(), SlotId::new(lives.life.slot.as_str()));
        let cells =
            vec![Words::new().link(machine, booth.machine_name(fitted.machine)), age.into(), chance, state];
        table.push(cells, vec![("machine", fitted.machine.to_string())]);
    }
    table
}

fn own(lives: &PartLives<'_>, booth: &Booth) -> Table {
    let mut table =
        Table::new("Lives seen", &["Part", "Machine", "#From", "#To", "Ended"], "None yet.").tight();
    for own in &lives.own {
        let (from, to) = match own.entered {
            Entered::At(age) => (figure(age), figure(age + own.watched)),
            Entered::Within(..) => ("unknown".to_owned(), format!("{} later", figure(own.watched))),
        };
        let cells = vec![
            Words::new().link(Place::Entry(own.entry), own.part.as_str()),
            booth.machine_name(own.machine).into(),
            from.into(),
            to.into(),
            ended(own).into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}

const fn ended(own: &OwnLife<'_>) -> &'static str {
    match own.ending {
        None => "still in",
        Some(Ending::Failed) => "failed",
        Some(Ending::Worn) => "worn past use",
        Some(Ending::Planned) => "changed as planned, still good",
        Some(Ending::Borrowed) => "taken for another use, still good",
        Some(Ending::Damaged) => "broken by something else",
        Some(Ending::Unknown) => "nobody wrote why",
    }
}

const fn clock(clock: LifeClock) -> &'static str {
    match clock {
        LifeClock::Hours => "hours run",
        LifeClock::LampHours => "lamp hours",
        LifeClock::Years => "years",
        LifeClock::Strikes => "strikes",
        LifeClock::Showings => "showings",
        LifeClock::Operations => "operations",
    }
}

/// The lives as JSON.
pub fn json(lives: &[PartLives<'_>]) -> Value {
    let chance = |chance: Chance| json!({ "chance": chance.chance.value(), "low": chance.low.value(), "high": chance.high.value() });
    let one = |lives: &PartLives<'_>| {
        json!({
            "machine_type": lives.kind.id,
            "slot": lives.life.slot,
            "variant": lives.life.variant,
            "name": lives.name,
            "clock": lives.life.clock,
            "sentence": lives.sentence,
            "lives_seen": lives.own.len(),
            "failures_seen": lives.failures,
            "share_from_data": lives.from_data,
            "half_life": lives.half,
            "tenth_life": lives.tenth,
            "prior": { "shape": lives.life.shape, "scale": lives.life.scale, "source": lives.life.source },
            "change": change(lives),
            "fitted": lives.fitted.iter().map(|fitted| json!({
                "machine": fitted.machine,
                "part": fitted.part,
                "age": fitted.known_age(),
                "age_band": match fitted.age { Entered::At(_) => None, Entered::Within(low, high) => Some([low, high]) },
                "span": fitted.span,
                "failure": chance(fitted.chance),
                "past_change": fitted.past_change,
            })).collect::<Vec<_>>(),
            "own": lives.own.iter().map(|own| json!({
                "part": own.part,
                "machine": own.machine,
                "entered": match own.entered { Entered::At(age) => Some(age), Entered::Within(..) => None },
                "watched": own.watched,
                "ending": own.ending,
                "failed": own.failed,
                "entry": own.entry,
            })).collect::<Vec<_>>(),
            "curve": lives.curve.as_ref().map(|curve| json!({ "steps": curve.steps, "censored": curve.censored })),
            "believed": lives.believed.iter().map(|at| json!({
                "age": at.age,
                "survival": chance(at.survival),
            })).collect::<Vec<_>>(),
        })
    };
    json!({ "parts": lives.iter().map(one).collect::<Vec<_>>() })
}

fn change(lives: &PartLives<'_>) -> Value {
    match &lives.change {
        Ok(change) => json!({
            "best_age": change.best_age,
            "nearly_as_good": change.nearly,
            "cost_rate_minutes": change.rate,
            "run_to_failure_cost_rate_minutes": change.rate_if_left,
            "planned_cost_minutes": change.planned_minutes,
            "failure_cost_minutes": change.failure_minutes,
            "failure_dark_minutes": change.dark_minutes,
        }),
        Err(why) => json!({ "best_age": null, "why_not": why.words() }),
    }
}
