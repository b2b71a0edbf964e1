//! The diary: showings and service, evening by evening; and one showing.

use crate::{
    address::Place,
    common, prints,
    sheet::{Block, Card, Sheet},
    wording,
    words::{Mark, Words},
};
use booth::{Answer, DiaryDay};
use jiff::civil::Date;
use logbook::{
    Booth, ShowingId,
    booth::{Showing, ShowingState},
};

/// How many care tasks of one day are named.
const MOST_NAMED: usize = 5;

/// Shows the evenings of a span of time.
pub fn sheet(answer: &Answer<Vec<DiaryDay<'_>>>, booth: &Booth, today: Date) -> Sheet {
    let mut sheet = Sheet::new("Diary");
    if answer.value.iter().all(|day| day.showings.is_empty()) {
        sheet.lead("No showing stands in the diary for this time.");
    }
    for day in &answer.value {
        sheet.heading(heading(day.date, today));
        let showings = day.showings.iter().map(|(id, showing)| {
            let mut card = showing_card(id, showing, booth);
            let barred = day.barred.iter().filter(|(wants, _)| wants == id);
            card.lines.extend(barred.map(|(_, warning)| prints::barred_line(warning)));
            card
        });
        let showings: Vec<Card> = showings.collect();
        if !showings.is_empty() {
            sheet.push(Block::Cards(showings));
        }
        if !day.falls_due.is_empty() {
            sheet.say(falls_due(day, booth));
        }
    }
    common::reasons(&mut sheet, answer);
    sheet
}

fn heading(day: Date, today: Date) -> String {
    match units::civil::days_between(today, day) {
        0 => format!("Today, {}", wording::date(day, today)),
        1 => format!("Tomorrow, {}", wording::date(day, today)),
        _ => wording::date(day, today),
    }
}

fn falls_due(day: &DiaryDay<'_>, booth: &Booth) -> Words {
    let mut words = Words::new().quiet("Falls due: ");
    for (at, item) in day.falls_due.iter().take(MOST_NAMED).enumerate() {
        let machine = common::machine_name(booth, item.machine.as_str());
        let part = if at > 0 { "; " } else { "" };
        words = words.plain(format!("{part}{machine}, "));
        words.0.extend(common::task(item).0);
    }
    match day.falls_due.len().saturating_sub(MOST_NAMED) {
        0 => words.plain("."),
        more => words.plain("; ").link(Place::Due, format!("{more} more")).plain("."),
    }
}

fn showing_card(id: &ShowingId, showing: &Showing, booth: &Booth) -> Card {
    let mut lines = vec![Words::from(where_and_on_what(showing, booth))];
    if let Some(state) = state(showing) {
        lines.push(state);
    }
    Card {
        title: Words::new()
            .plain(showing.starts.strftime("%H:%M ").to_string())
            .link(Place::Showing(id.clone()), &showing.title),
        mark: None,
        lines,
        ways: Vec::new(),
        data: vec![("showing", id.to_string())],
    }
}

fn where_and_on_what(showing: &Showing, booth: &Booth) -> String {
    let place =
        showing.place.as_ref().and_then(|place| booth.places.get(place)).map(|place| place.name.clone());
    let machines: Vec<String> =
        showing.machines.iter().map(|(id, _)| common::machine_name(booth, id.as_str())).collect();
    let machines = (!machines.is_empty()).then(|| format!("on {}", wording::listed(&machines)));
    let all = [place, Some(wording::minutes(showing.length_minutes)), machines];
    all.into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

fn state(showing: &Showing) -> Option<Words> {
    match &showing.state {
        ShowingState::Planned => None,
        ShowingState::Held { lasted_minutes, .. } => {
            Some(Words::new().quiet(format!("Held; lasted {}.", wording::minutes(*lasted_minutes))))
        }
        ShowingState::Cancelled { why } => {
            Some(Words::new().mark_as(Mark::NotForUse, "Cancelled: ").plain(why.clone()))
        }
    }
}

/// Shows one showing.
pub fn showing_sheet(showing: &Showing, booth: &Booth, today: Date) -> Sheet {
    let mut sheet = Sheet::new(showing.title.clone());
    sheet.lead(wording::start(&showing.starts, booth.evening_of_showing(showing).date(), today));
    let mut facts: Vec<(String, Words)> = Vec::new();
    if let Some(place) = showing.place.as_ref().and_then(|place| booth.places.get(place)) {
        facts.push(("Where".to_owned(), place.name.as_str().into()));
    }
    facts.push(("Runs".to_owned(), wording::minutes(showing.length_minutes).into()));
    for (id, hours) in &showing.machines {
        let name = common::machine_name(booth, id.as_str());
        let words = Words::new().link(Place::Machine(id.clone()), name);
        facts.push(("On".to_owned(), words.quiet(format!(", {} of running", wording::hours(*hours)))));
    }
    for print in showing.prints.iter().filter_map(|print| booth.prints.get(print)) {
        facts.push(("Print".to_owned(), print.title.as_str().into()));
    }
    if !showing.note.is_empty() {
        facts.push(("Note".to_owned(), showing.note.as_str().into()));
    }
    sheet.push(Block::Facts(facts));
    sheet.blocks.extend(state(showing).map(Block::Say));
    sheet.say(Words::new().link(Place::Entry(showing.entry), "How it stands in the logbook"));
    sheet
}
