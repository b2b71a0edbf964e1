//! What comes next at a fault.

use crate::{
    sheet::{Block, Card, Sheet},
    wording,
    words::Words,
};
use booth::desk::{
    AtOnce, CloseWords, FaultSheet, MakeSafe, NextStep, Odd, RequestLines, ShowClock, StepCard, StepKind,
};

/// So many causes are named in the short form.
const MOST_CAUSES: usize = 6;

/// Shows the fault: what comes next in front, the odds and what was done behind it.
pub fn sheet(fault: &FaultSheet) -> Sheet {
    let mut sheet = Sheet::new(format!("{}: {}", fault.machine_name, fault.words));
    sheet.say(Words::new().quiet(format!("{}, fault {}", clock(fault.clock), fault.fault)));
    next(&mut sheet, &fault.next);
    if !fault.odds.is_empty() {
        sheet.heading("What it may be");
        sheet.push(Block::List(fault.odds.iter().take(MOST_CAUSES).map(odd).collect()));
    }
    if !fault.done.is_empty() {
        sheet.heading("Done so far");
        let done = fault.done.iter().map(|step| {
            let words = Words::new().quiet(format!("{} ", step.at)).plain(step.words.clone());
            if step.note.is_empty() { words } else { words.quiet(format!(" ({})", step.note)) }
        });
        sheet.push(Block::List(done.collect()));
    }
    sheet.caveats(fault.set_aside.iter().chain(&fault.caveats).cloned());
    sheet
}

/// Which clock runs, in words.
pub(super) const fn clock(clock: ShowClock) -> &'static str {
    match clock {
        ShowClock::ShowRunning => "The show is running",
        ShowClock::AfterShow => "After the show",
    }
}

fn odd(odd: &Odd) -> Words {
    let words = Words::new().plain(format!("{}: ", odd.name)).strong(odd.in_words.clone());
    match odd.beyond {
        Some(to) => words.quiet(format!(" (for {to})")),
        None => words,
    }
}

fn next(sheet: &mut Sheet, next: &NextStep) {
    match next {
        NextStep::MakeSafe(make_safe) => stop(sheet, make_safe),
        NextStep::AtOnce(now) => at_once(sheet, now),
        NextStep::Step(step) => {
            sheet.heading("Next");
            // What may hurt is read before the hand moves.
            sheet.push(Block::Cautions(step.cautions.iter().map(|caution| caution.words.clone()).collect()));
            sheet.push(Block::Cards(vec![step_card(step)]));
        }
        NextStep::Later { words } | NextStep::PickSymptom { words } => sheet.lead(words.as_str()),
        NextStep::PassOn { why, request, written } => {
            sheet.lead(why.as_str());
            let said = if *written { "The request is written." } else { "Write the request and pass it on." };
            sheet.say(said);
            request_blocks(sheet, request);
        }
        NextStep::Close(close) => closing(sheet, close),
        NextStep::Closed { cause, cure, on } => {
            let said = [cause.as_str(), cure.as_str()].into_iter().filter(|words| !words.is_empty());
            sheet.lead(format!("Closed on {on}. {}", said.collect::<Vec<_>>().join("; ")));
        }
    }
}

fn stop(sheet: &mut Sheet, make_safe: &MakeSafe) {
    sheet.lead("Stop now and make it safe.");
    sheet.push(Block::List(make_safe.why.iter().map(|why| Words::from(why.as_str())).collect()));
    sheet.heading(make_safe.drill_name.clone());
    sheet.push(Block::List(make_safe.drill.iter().map(|line| Words::from(line.as_str())).collect()));
}

fn at_once(sheet: &mut Sheet, now: &AtOnce) {
    sheet.heading("Now");
    for words in &now.words {
        sheet.lead(words.as_str());
    }
    sheet.say(now.go_on.as_str());
    if !now.drill.is_empty() {
        sheet.push(Block::List(now.drill.iter().map(|line| Words::from(line.as_str())).collect()));
    }
}

fn closing(sheet: &mut Sheet, close: &CloseWords) {
    sheet.lead(format!("It helped: {}. What was it?", close.remedy.name));
    sheet.push(Block::List(close.causes.iter().map(odd).collect()));
}

/// A step with its worth, as a card.
pub fn step_card(step: &StepCard) -> Card {
    let mut lines: Vec<Words> = step
        .prepare
        .iter()
        .map(|prepare| {
            Words::new().plain(prepare.words.clone()).quiet(format!(" {}", seconds(prepare.seconds)))
        })
        .collect();
    if !step.words.is_empty() {
        lines.push(Words::new().strong(step.words.clone()));
    }
    if step.kind != StepKind::Remedy && (step.yes != "Yes" || step.no != "No") {
        lines.push(Words::from(format!("yes: {}; no: {}", step.yes, step.no)));
    }
    if let Some(spare) = &step.spare {
        let there =
            spare.in_stock.map_or_else(|| "never counted".to_owned(), |count| format!("{count} in stock"));
        lines.push(Words::from(format!("Spare: {}, {there}", spare.name)));
    }
    lines.push(Words::new().quiet(step.why.clone()));
    for may in &step.may {
        let first = may.then.first().map(|then| format!(": then {}, {}", then.name, then.chance.in_words()));
        lines.push(Words::new().quiet(format!(
            "{} ({}){}",
            may.words,
            may.chance.in_words(),
            first.unwrap_or_default()
        )));
    }
    Card {
        title: Words::new().strong(step.name.clone()),
        lines,
        data: vec![("step", step.id.clone())],
        ..Card::default()
    }
}

fn seconds(seconds: f64) -> String {
    if seconds < 90.0 { format!("{seconds:.0} s") } else { wording::minutes(seconds / 60.0) }
}

/// Shows a request for repair.
pub fn request(fault: &FaultSheet, request: &RequestLines) -> Sheet {
    let mut sheet = Sheet::new(format!("Request for repair: {}", fault.machine_name));
    request_blocks(&mut sheet, request);
    sheet
}

fn request_blocks(sheet: &mut Sheet, request: &RequestLines) {
    sheet.say(Words::new().plain("For ").strong(request.to.clone()));
    sheet.say(request.words.as_str());
    let lists = [
        ("The machine", &request.about),
        ("Noticed", &request.symptoms),
        ("Answered and tried", &request.tried),
        ("Not tried by the operator", &request.not_tried),
        ("Likely", &request.likely),
        ("Unlikely by what was seen", &request.unlikely),
        ("Ruled out", &request.ruled_out),
        ("Last readings", &request.readings),
    ];
    for (head, lines) in lists.into_iter().filter(|(_, lines)| !lines.is_empty()) {
        sheet.heading(head);
        sheet.push(Block::List(lines.iter().map(|line| Words::from(line.as_str())).collect()));
    }
}
