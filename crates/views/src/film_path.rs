//! The film path: the drawing, the parts in the order in which film meets them, and one part by itself.

use crate::{
    address::Place,
    common,
    plot::path::{self, Drawn},
    sheet::{Block, Picture, Sheet, Table},
    wording,
    words::{Mark, Words},
};
use booth::{
    Answer,
    film_path::{FilmPath, FittedPart, SlotView},
};
use jiff::civil::Date;
use logbook::{Booth, booth::CareRecord, fact::Outcome, ids::SlotId};
use machine::{CareTask, Clock, Hand, Part};

/// Shows the film path: the drawing with its twin, and open faults that name no part.
pub fn sheet(answer: &Answer<FilmPath<'_>>, today: Date) -> Sheet {
    let path = &answer.value;
    let mut sheet = Sheet::new(format!("{}: film path", path.about.name));
    sheet.lead(summary(path));
    sheet.push(Block::Picture(Box::new(drawing(path))));
    for (_, fault) in &path.faults_elsewhere {
        let since = wording::moment_and_distance(fault.opened.0, today);
        sheet.say(
            Words::new()
                .mark_as(Mark::Fault, "Open fault, place unknown: ")
                .link(Place::Entry(fault.opened.1), &fault.words)
                .quiet(format!(" ({since})")),
        );
    }
    common::reasons(&mut sheet, answer);
    sheet
}

/// Says how many parts stand how.
pub fn summary(path: &FilmPath<'_>) -> String {
    let count = |mark: Mark| path.slots.iter().filter(|slot| Mark::from(slot.state) == mark).count();
    let said: Vec<String> = [Mark::Fault, Mark::Overdue, Mark::Due, Mark::Attention, Mark::Soon]
        .into_iter()
        .filter(|mark| count(*mark) > 0)
        .map(|mark| format!("{} {}", count(mark), mark.word()))
        .collect();
    let parts = wording::counted(path.slots.len(), "part");
    if said.is_empty() {
        format!("{parts} in the order in which film meets them; nothing is due.")
    } else {
        format!("{parts} in the order in which film meets them; {}.", wording::listed(&said))
    }
}

/// Draws the film path.
pub fn drawing(path: &FilmPath<'_>) -> Picture {
    let parts: Vec<Drawn> = path
        .slots
        .iter()
        .enumerate()
        .map(|(at, slot)| Drawn {
            slot: SlotId::new(slot.part.id.as_str()),
            number: at + 1,
            name: slot.part.name.clone(),
            mark: Mark::from(slot.state),
            place: slot.part.place,
        })
        .collect();
    path::film_path(&format!("The film path of {}", path.about.name), path.machine, &parts)
}

/// Shows one part: what it does, its care with cautions, its life, its faults.
pub fn part_sheet(path: &FilmPath<'_>, slot: &SlotView<'_>, booth: &Booth, today: Date) -> Sheet {
    let part = slot.part;
    let mut sheet = Sheet::new(part.name.clone());
    sheet.lead(Words::new().mark(Mark::from(slot.state)).plain(". ").plain(part.does.clone()));
    let cautions: Vec<String> = part.cautions.iter().map(|caution| caution.words.clone()).collect();
    if !cautions.is_empty() {
        sheet.push(Block::Cautions(cautions));
    }
    for (_, fault) in &slot.open_faults {
        let since = wording::moment_and_distance(fault.opened.0, today);
        sheet.say(
            Words::new()
                .mark_as(Mark::Fault, "Open fault: ")
                .link(Place::Entry(fault.opened.1), &fault.words)
                .quiet(format!(" ({since})")),
        );
    }
    sheet.heading("Care");
    sheet.push(Block::Table(care_table(path, slot, today)));
    sheet.heading("What is fitted");
    sheet.say(fitted(slot.fitted.as_ref(), today));
    sheet.heading("The part");
    sheet.push(Block::Facts(facts(part)));
    sheet.because([source(path, part)]);
    let _ = booth;
    sheet
}

fn care_table(path: &FilmPath<'_>, slot: &SlotView<'_>, today: Date) -> Table {
    let heads = ["Care", "State", "Left", "How often", "Last time"];
    let mut table = Table::new("Care of this part", &heads, "Its type asks for no care of this part.");
    for (task, record) in &slot.care {
        let due = slot.due.iter().find(|item| item.task.id == task.id);
        let name = Words::new().link(
            Place::LogKind(
                "care-done".to_owned(),
                vec![
                    ("machine".to_owned(), path.machine.to_string()),
                    ("task".to_owned(), task.id.to_string()),
                ],
            ),
            task.name.clone(),
        );
        let cells = vec![
            name,
            due.map_or_else(Words::new, |item| common::state(item.state)),
            due.map(common::what_is_left).unwrap_or_default().into(),
            Words::new().quiet(booth::interval_in_words(task)),
            last_time(*record, today),
        ];
        table.push(cells, vec![("task", task.id.to_string())]);
    }
    table
}

fn last_time(record: Option<&CareRecord>, today: Date) -> Words {
    match record {
        None => Words::new().quiet("no record"),
        Some(record) => {
            let words =
                Words::new().link(Place::Entry(record.entry), wording::moment_and_distance(record.at, today));
            let words = words.plain(format!(": {}", outcome(record.outcome)));
            if record.note.is_empty() { words } else { words.quiet(format!(" “{}”", record.note)) }
        }
    }
}

/// What a care step found, in words.
pub const fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Fine => "fine",
        Outcome::Done => "done",
        Outcome::Attention => "wants attention",
        Outcome::CannotTell => "could not tell",
        Outcome::Skipped => "skipped",
    }
}

/// Says what is fitted and how old it is.
fn fitted(fitted: Option<&FittedPart<'_>>, today: Date) -> Words {
    let Some(part) = fitted else {
        return Words::new().quiet(
            "No part with an age of its own is known here. Write down the next change and its life begins.",
        );
    };
    let least = if part.age.at_least { "at least " } else { "" };
    let since = wording::moment_and_distance(part.stint.fitted, today);
    let words = Words::new().strong(part.id.to_string()).plain(format!(", {least}{}", age(part)));
    let words = words.plain(", fitted ").link(Place::Entry(part.stint.entry), since);
    if part.life.lot.is_empty() { words } else { words.plain(format!(", batch {}", part.life.lot)) }
}

/// The age of a part on the clock that counts for it.
pub fn age(part: &FittedPart<'_>) -> String {
    if part.clock == Clock::Lamp {
        let strikes = wording::counted(part.age.strikes as usize, "strike");
        return format!("{} lit, {strikes}", wording::hours(part.age.hours_lit));
    }
    let days = wording::days(i64::from(part.age.days));
    format!("{} run, {days}", wording::hours(part.age.hours_run))
}

fn facts(part: &Part) -> Vec<(String, Words)> {
    let said = |name: &str, text: &str| (!text.is_empty()).then(|| (name.to_owned(), Words::from(text)));
    let hand = |hand: Hand| match hand {
        Hand::Operator => "any operator",
        Hand::Authorised => "an authorised operator",
        Hand::Technician => "a qualified technician",
    };
    let who = format!(
        "look: {}; set: {}; replace: {}",
        hand(part.who.look),
        hand(part.who.adjust),
        hand(part.who.replace)
    );
    let all = [
        said("Look for", &part.look_for),
        said("Clean", &part.clean),
        said("Oil", &part.oil),
        said("How it wears", &part.wears),
        said("Bad: on the film", &part.when_bad.film),
        said("Bad: on the screen", &part.when_bad.picture),
        said("Bad: in the sound", &part.when_bad.sound),
        said("Who may", &who),
        part.carry.as_deref().and_then(|carry| said("Carry in the case", carry)),
    ];
    all.into_iter().flatten().collect()
}

fn source(path: &FilmPath<'_>, part: &Part) -> Words {
    let source = path.kind.source(part.source.as_str()).map_or("", |source| source.words.as_str());
    format!("{}, edition {}: {source}", path.kind.name, path.kind.edition).into()
}

/// How a task reads in one line where its part is not named.
pub fn task_line(task: &CareTask) -> String {
    format!("{} ({})", task.name, booth::interval_in_words(task))
}
