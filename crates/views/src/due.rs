//! Due: what is left for each care task, on a time line and in bench sessions.

use crate::{
    address::Place,
    common,
    plot::timeline::{self, Row},
    sheet::{Block, Card, Picture, Sheet, Table},
    wording,
    words::{Mark, Words},
};
use booth::{Answer, DueItem, DueState, Session, by_urgency, together};
use jiff::{ToSpan, civil::Date};
use logbook::{Booth, ids::SlotId};
use std::collections::BTreeMap;

/// How many days the time line looks ahead.
const DAYS_AHEAD: i64 = 56;
/// How many rows the time line shows before the rest is left to the table.
const MOST_ROWS: usize = 18;
/// How many bench sessions one sheet lists; a depot has thousands.
const MOST_SESSIONS: usize = 60;
/// How many rows of care one sheet lists; a depot has hundreds of thousands.
const MOST_LISTED: usize = 500;

/// Shows what is due, of one machine or of all.
pub fn sheet(answer: &Answer<Vec<DueItem<'_>>>, booth: &Booth, today: Date) -> Sheet {
    let mut items = answer.value.clone();
    by_urgency(&mut items);
    let mut sheet = Sheet::new("Due");
    sheet.lead(summary(&items));
    let pressing: Vec<DueItem<'_>> =
        items.iter().filter(|item| item.state <= DueState::Soon).copied().collect();
    if !pressing.is_empty() {
        sheet.heading("Do together");
        sheet.say(Words::new().quiet(
            "Care of one machine that wants it in the same state with the same part open: prepare once, do all of it.",
        ));
        let sessions = together(&pressing);
        let cards = sessions.iter().take(MOST_SESSIONS).map(|session| session_card(session, booth, today));
        sheet.push(Block::Cards(cards.collect()));
        left_out(&mut sheet, sessions.len(), MOST_SESSIONS, "session");
    }
    sheet.heading("On the time line");
    sheet.push(Block::Picture(Box::new(time_line(&items, booth, today))));
    sheet.heading("All care");
    all_care(&mut sheet, &items[..items.len().min(MOST_LISTED)], booth, today);
    left_out(&mut sheet, items.len(), MOST_LISTED, "task");
    common::reasons(&mut sheet, answer);
    sheet
}

/// Lists what is due or soon will be, then machine by machine what is not, folded away.
fn all_care(sheet: &mut Sheet, items: &[DueItem<'_>], booth: &Booth, today: Date) {
    let (calm, open): (Vec<DueItem<'_>>, Vec<DueItem<'_>>) =
        items.iter().partition(|item| item.state > DueState::Soon);
    if !open.is_empty() || calm.is_empty() {
        sheet.push(Block::Table(table(&open, booth, today)));
    }
    let mut machines: BTreeMap<&str, Vec<DueItem<'_>>> = BTreeMap::new();
    for item in calm {
        machines.entry(item.machine.as_str()).or_default().push(item);
    }
    for (machine, items) in machines {
        let name = common::machine_name(booth, machine);
        let summary = format!("{name}: {}", not_due(&items));
        sheet.push(Block::Folded(summary, Box::new(Block::Table(table(&items, booth, today)))));
    }
}

/// Says how care stands of which nothing is due soon: what is not known is not called up to date.
fn not_due(items: &[DueItem<'_>]) -> String {
    let count = |state: DueState| items.iter().filter(|item| item.state == state).count();
    let ways = [
        (count(DueState::NoRecord), "without a record yet"),
        (count(DueState::Deferred), "put off"),
        (count(DueState::Ok), "up to date"),
    ];
    let said: Vec<String> = ways
        .into_iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, how)| format!("{} {how}", wording::counted(n, "task")))
        .collect();
    wording::listed(&said)
}

/// Says how many things are not listed, and how to see them.
fn left_out(sheet: &mut Sheet, all: usize, shown: usize, noun: &str) {
    if all > shown {
        let more = wording::counted(all - shown, &format!("more {noun}"));
        sheet.say(format!("{more}; ask for one machine to see all of its own."));
    }
}

fn summary(items: &[DueItem<'_>]) -> String {
    let count = |state: DueState| items.iter().filter(|item| item.state == state).count();
    let (overdue, due, soon) = (count(DueState::Overdue), count(DueState::Due), count(DueState::Soon));
    let unwritten = common::no_record_yet(count(DueState::NoRecord));
    if overdue + due + soon == 0 {
        return unwritten.unwrap_or_else(|| "Nothing is due, and nothing falls due soon.".to_owned());
    }
    let parts = [(overdue, "overdue"), (due, "due"), (soon, "soon due")];
    let said: Vec<String> =
        parts.iter().filter(|(n, _)| *n > 0).map(|(n, word)| format!("{n} {word}")).collect();
    let noun = if overdue + due + soon == 1 { "care task is" } else { "care tasks are" };
    let open = format!("{} {noun} open: {}.", overdue + due + soon, wording::listed(&said));
    unwritten.map_or_else(|| open.clone(), |unwritten| format!("{open} {unwritten}"))
}

fn session_card(session: &Session<'_>, booth: &Booth, today: Date) -> Card {
    let machine = common::machine_name(booth, session.machine.as_str());
    let part = session.group.map_or("all of it", machine::PartGroup::name);
    let mark = session.items.iter().map(|item| Mark::from(item.state)).fold(Mark::UpToDate, Mark::graver);
    let mut lines: Vec<Words> = vec![Words::new().quiet(session.state.preparation())];
    if session.needs_technician {
        lines.push(Words::new().strong("Work for a qualified technician: pass it on."));
    }
    lines.extend(session.items.iter().map(|item| session_line(item, today)));
    Card {
        title: Words::new()
            .link(Place::Machine(session.machine.clone()), machine)
            .plain(format!(": {part}, {}", wording::minutes(session.minutes.ceil()))),
        mark: Some(mark),
        lines,
        ways: vec![
            Words::new().link(Place::Walk(session.machine.clone(), "due".to_owned()), "Walk what is due"),
        ],
        data: vec![("machine", session.machine.to_string())],
    }
}

fn session_line(item: &DueItem<'_>, today: Date) -> Words {
    let mut words = common::state(item.state).plain(": ");
    words.0.extend(common::task(item).0);
    let last =
        item.last_done().map(|last| format!(", last {}", wording::moment_and_distance(last.at, today)));
    words.quiet(format!(" {}{}", common::what_is_left(item), last.unwrap_or_default()))
}

/// Draws due dates on a time line, the most pressing first.
pub fn time_line(items: &[DueItem<'_>], booth: &Booth, today: Date) -> Picture {
    let until = today.checked_add(DAYS_AHEAD.days()).unwrap_or(today);
    let one_machine = items.windows(2).all(|pair| pair[0].machine == pair[1].machine);
    let rows: Vec<Row> = items
        .iter()
        .filter(|item| item.forecast_date().is_some_and(|date| date <= until))
        .take(MOST_ROWS)
        .map(|item| row(item, booth, one_machine, today))
        .collect();
    let showings: Vec<Date> = booth
        .showings
        .values()
        .filter(|showing| showing.state == logbook::booth::ShowingState::Planned)
        .map(|showing| showing.starts.date())
        .collect();
    let weeks = DAYS_AHEAD / 7;
    timeline::due_dates(&format!("What falls due in the next {weeks} weeks"), today, until, &rows, &showings)
}

fn row(item: &DueItem<'_>, booth: &Booth, one_machine: bool, today: Date) -> Row {
    let machine = common::machine_name(booth, item.machine.as_str());
    let href = match item.slot() {
        Some(slot) => Place::Part(item.machine.clone(), SlotId::new(slot.as_str())).href(),
        None => Place::Machine(item.machine.clone()).href(),
    };
    Row {
        label: if one_machine { item.task.name.clone() } else { format!("{machine}: {}", item.task.name) },
        date: item.forecast_date().unwrap_or(today),
        mark: Mark::from(item.state),
        href,
    }
}

/// Lists care with what is left.
pub fn table(items: &[DueItem<'_>], booth: &Booth, today: Date) -> Table {
    let heads = ["Care", "Machine", "State", "Left", "Falls due", "Last done", "How often"];
    let mut table =
        Table::new("Care by hours, days and events", &heads, "No care is known: add a machine first.")
            .tight();
    for item in items {
        let cells = vec![
            common::task(item),
            Words::new().link(
                Place::Machine(item.machine.clone()),
                common::machine_name(booth, item.machine.as_str()),
            ),
            common::state(item.state),
            common::what_is_left(item).into(),
            common::forecast(item, booth, today),
            common::last_done(item, today),
            Words::new().quiet(item.interval_in_words()),
        ];
        let data = vec![
            ("task", item.task.id.to_string()),
            ("machine", item.machine.to_string()),
            ("state", item.state.to_string()),
            ("due", item.forecast_date().map(|date| date.to_string()).unwrap_or_default()),
        ];
        table.push(cells, data);
    }
    table
}
