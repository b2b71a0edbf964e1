//! The service plan: which machine for which showing, what is done at the bench, and why.

mod calendar;
mod lines;

pub use calendar::calendar;
pub use lines::csv;

use crate::{
    address::Place,
    common,
    plot::plan as chart,
    sheet::{Block, Card, Picture, Sheet, Table},
    wording,
    words::{Mark, Words},
};
use booth::{
    Answer,
    service_plan::{BenchSession, PlannedShowing, PlannedWork, ServicePlan, Standing},
};
use jiff::civil::Date;
use logbook::Booth;
use serde_json::{Value, json};

/// The plan as a sheet: the sentence, what cannot be met, the chart, the bench, the showings.
pub fn sheet(answer: &Answer<ServicePlan<'_>>, booth: &Booth, today: Date) -> Sheet {
    let mut sheet = Sheet::new("Plan");
    blocks(&mut sheet, &answer.value, booth, today);
    common::reasons(&mut sheet, answer);
    sheet
}

fn blocks(sheet: &mut Sheet, plan: &ServicePlan<'_>, booth: &Booth, today: Date) {
    sheet.lead(plan.sentence.clone());
    told(sheet, "What cannot be met", &plan.not_met);
    told(sheet, "For you to settle", &plan.heed);
    if plan.showings.is_empty() && plan.sessions.is_empty() {
        return;
    }
    sheet.push(Block::Picture(Box::new(picture(plan, booth))));
    if !plan.sessions.is_empty() {
        sheet.heading("At the bench");
        sheet.push(Block::Cards(plan.sessions.iter().map(|it| session_card(it, booth, today)).collect()));
    }
    if !plan.showings.is_empty() {
        sheet.heading("Showings");
        sheet.push(Block::Table(showings(plan, booth, today)));
    }
}

/// How many things of a sort are told at once.
const MOST_TOLD: usize = 5;

fn told(sheet: &mut Sheet, head: &str, things: &[String]) {
    if things.is_empty() {
        return;
    }
    let line = |words: &String| Words::from(words.as_str());
    sheet.heading(head);
    sheet.push(Block::List(things.iter().take(MOST_TOLD).map(line).collect()));
    if things.len() > MOST_TOLD {
        let rest = things.iter().skip(MOST_TOLD).map(line).collect();
        let more = format!("{} more", things.len() - MOST_TOLD);
        sheet.push(Block::Folded(more, Box::new(Block::List(rest))));
    }
}

/// The chart of the plan.
pub fn picture(plan: &ServicePlan<'_>, booth: &Booth) -> Picture {
    chart::chart(plan, booth)
}

/// One bench session as a card.
pub fn session_card(session: &BenchSession<'_>, booth: &Booth, today: Date) -> Card {
    let when =
        format!("{}, {}", wording::date(session.starts.date(), today), session.starts.strftime("%H:%M"));
    let mut lines = vec![Words::new().quiet(format!(
        "{}, {}: {} of {} minutes",
        session.place, session.who, session.minutes_used, session.minutes
    ))];
    lines.extend(session.work.iter().map(|work| work_line(work, booth)));
    Card {
        title: Words::new().strong(when),
        mark: None,
        lines,
        ways: Vec::new(),
        data: vec![("session", session.starts.date().to_string())],
    }
}

/// One piece of work with its reason.
pub fn work_line(work: &PlannedWork<'_>, booth: &Booth) -> Words {
    let name = common::machine_name(booth, work.machine.as_str());
    let words = Words::new().link(Place::Machine(work.machine.clone()), name).plain(format!(
        ": {}, {}",
        work.words,
        wording::minutes(work.minutes)
    ));
    let words = if work.safety { words.plain(" (safety)") } else { words };
    match work.pin {
        Some(entry) => words.plain(" ").link(Place::Entry(entry), "pinned"),
        None => words.quiet(format!(". Here because {}.", work.because)),
    }
}

fn showings(plan: &ServicePlan<'_>, booth: &Booth, today: Date) -> Table {
    let mut table = Table::new("Which machine for which showing", &["When", "Showing", "On"], "").tight();
    for showing in &plan.showings {
        let when =
            format!("{}, {}", wording::date(showing.starts.date(), today), showing.starts.strftime("%H:%M"));
        let title = Words::new().link(Place::Showing(showing.showing.clone()), showing.title);
        table.push(
            vec![when.into(), title, machines(showing, booth)],
            vec![("showing", showing.showing.to_string())],
        );
    }
    table
}

/// The machines of a showing, each with who chose it.
pub fn machines(showing: &PlannedShowing<'_>, booth: &Booth) -> Words {
    let mut words = Words::new();
    for (at, seat) in showing.machines.iter().enumerate() {
        if at > 0 {
            words = words.plain("; ");
        }
        let name = common::machine_name(booth, seat.machine.as_str());
        words = words.link(Place::Machine(seat.machine.clone()), name);
        words = match seat.standing {
            Standing::InDiary => words.quiet(", as in the diary"),
            Standing::Pinned(entry) => words.plain(", ").link(Place::Entry(entry), "pinned"),
            Standing::Chosen => words.quiet(format!(", chosen: {}", seat.because)),
        };
    }
    if showing.missing > 0 {
        let lacks = format!("lacks {}", wording::counted(showing.missing, "machine"));
        words = if showing.machines.is_empty() { words } else { words.plain("; ") };
        words = words.mark_as(Mark::Attention, lacks);
    }
    words
}

/// The plan for scripts.
pub fn json(answer: &Answer<ServicePlan<'_>>) -> Value {
    let mut value = json!(answer.value);
    value["because"] = json!(answer.because);
    value["caveats"] = json!(answer.caveats);
    value
}
