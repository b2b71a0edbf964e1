//! The machines at a glance, and all of one machine.

use crate::{
    address::Place,
    common, due, film_path,
    plot::bars::{self, Week},
    sheet::{Block, Card, Picture, Sheet, Table},
    wording,
    words::{Mark, Words},
};
use booth::{Answer, FittedPart, HistoryLine, MachineRow, MachineSheet, WeekHours};
use jiff::civil::Date;
use logbook::{
    Booth,
    booth::{Machine, ReadingRecord},
    fact::Fitness,
    ids::SlotId,
};

/// How many machines one sheet shows.
const MOST_MACHINES: usize = 200;
/// How many lines of history a machine's page shows.
const LATEST: usize = 25;

/// Shows every machine.
pub fn sheet(answer: &Answer<Vec<MachineRow<'_>>>, booth: &Booth, today: Date) -> Sheet {
    let mut sheet = Sheet::new("Machines");
    if answer.value.is_empty() {
        sheet.lead("No machine has been added yet.");
    }
    let cards = answer.value.iter().take(MOST_MACHINES).map(|row| row_card(row, booth, today));
    sheet.push(Block::Cards(cards.collect()));
    if answer.value.len() > MOST_MACHINES {
        let more = wording::counted(answer.value.len() - MOST_MACHINES, "more machine");
        sheet.say(format!("{more}; search by name to find them."));
    }
    common::reasons(&mut sheet, answer);
    sheet
}

fn row_card(row: &MachineRow<'_>, booth: &Booth, today: Date) -> Card {
    let kind = row.kind.map_or(row.machine.machine_type.as_str(), |kind| kind.name.as_str());
    let mut lines = common::untested(&row.untested);
    lines.extend([
        Words::new().quiet(kind),
        format!("{} run{}", wording::hours(row.hours_run), last_run(row, today)).into(),
        pressing(row),
    ]);
    lines.extend(common::attention(&row.attention));
    if let Some((id, showing)) = row.next_showing {
        let evening = booth.evening_of_showing(showing).date();
        let day = wording::start(&showing.starts, evening, today);
        lines.push(
            Words::new()
                .plain("Next showing: ")
                .link(Place::Showing(id.clone()), &showing.title)
                .plain(format!(", {day}")),
        );
    }
    let id = row.id.clone();
    let mut ways = vec![Words::new().link(Place::Machine(id.clone()), "Open")];
    if row.kind.is_some() {
        ways.push(Words::new().link(Place::FilmPath(id), "Film path"));
    }
    Card {
        title: row.machine.name.as_str().into(),
        mark: Some(row_mark(row)),
        lines,
        ways,
        data: vec![("machine", row.id.to_string())],
    }
}

fn row_mark(row: &MachineRow<'_>) -> Mark {
    match () {
        () if !row.may_run || !row.untested.is_empty() => Mark::NotForUse,
        () if row.n_open_faults > 0 => Mark::Fault,
        () if row.n_overdue > 0 => Mark::Overdue,
        () if row.n_due > 0 => Mark::Due,
        () if !row.attention.is_empty() => Mark::Attention,
        () if row.n_no_record > 0 => Mark::NoRecord,
        () => Mark::UpToDate,
    }
}

fn last_run(row: &MachineRow<'_>, today: Date) -> String {
    row.last_run.map_or_else(String::new, |at| format!(", last {}", wording::moment_and_distance(at, today)))
}

fn pressing(row: &MachineRow<'_>) -> Words {
    let parts = [(row.n_overdue, "overdue"), (row.n_due, "due")];
    let mut said: Vec<String> =
        parts.iter().filter(|(n, _)| *n > 0).map(|(n, word)| format!("{n} {word}")).collect();
    if row.n_open_faults > 0 {
        said.push(wording::counted(row.n_open_faults, "open fault"));
    }
    if let Some(unwritten) = common::no_record_yet(row.n_no_record).filter(|_| said.is_empty()) {
        unwritten.into()
    } else if said.is_empty() {
        Words::new().quiet("Nothing due, no fault open.")
    } else {
        wording::listed(&said).into()
    }
}

/// Everything that a machine's page is made of.
pub struct MachineAnswers<'q, 'a> {
    /// The machine.
    pub sheet: &'q Answer<MachineSheet<'a>>,
    /// Its hours by week.
    pub weeks: &'q [WeekHours],
    /// What happened, the latest first.
    pub history: &'q [HistoryLine<'a>],
}

/// Shows all of one machine.
pub fn machine_sheet(answers: &MachineAnswers<'_, '_>, booth: &Booth, today: Date) -> Sheet {
    let shown = &answers.sheet.value;
    let mut sheet = Sheet::new(shown.machine.name.clone());
    sheet.say(Words::new().quiet(shown.kind.map_or_else(
        || format!("{} (this type is not known here)", shown.machine.machine_type),
        |kind| kind.name.clone(),
    )));
    let untested = common::untested(&shown.due);
    let settled = untested.is_empty() && shown.attention.is_empty() && shown.open_faults.is_empty();
    for line in untested {
        sheet.lead(line);
    }
    sheet.lead(fitness(shown.machine, today, settled));
    for line in common::attention(&shown.attention) {
        sheet.say(line);
    }
    for (_, fault) in &shown.open_faults {
        let since = wording::moment_and_distance(fault.opened.0, today);
        let words = Words::new().mark_as(Mark::Fault, "Open fault: ");
        sheet.say(words.link(Place::Entry(fault.opened.1), &fault.words).quiet(format!(" ({since})")));
    }
    sheet.push(Block::Facts(facts(shown.machine, booth, today)));
    sheet.push(Block::Picture(Box::new(weeks(answers.weeks))));
    care(&mut sheet, shown, booth, today);
    sheet.heading("Parts fitted");
    sheet.push(Block::Table(parts(shown, today)));
    sheet.heading("Readings");
    sheet.push(Block::Table(readings(&shown.last_readings, shown.kind, today)));
    coming(&mut sheet, shown, today);
    if !shown.queries.is_empty() {
        sheet.heading("To settle");
        let lines = shown.queries.iter().map(|query| {
            Words::new().link(Place::Entry(query.entry), &query.what).quiet(format!(" {}", query.settle))
        });
        sheet.push(Block::List(lines.collect()));
    }
    sheet.heading("What happened");
    sheet.push(Block::Table(history(answers.history, booth, today)));
    sheet.say(Words::new().link(Place::LogbookOf(shown.id.clone()), "Everything in the logbook about it"));
    common::reasons(&mut sheet, answers.sheet);
    sheet
}

/// Says whether the machine may be used.
fn fitness(machine: &Machine, today: Date, settled: bool) -> Words {
    let state = &machine.fitness;
    if let Some((when, why)) = &machine.retired {
        let day = wording::date(when.date(), today);
        return Words::new().mark_as(Mark::NotForUse, format!("Retired on {day}. ")).plain(why.clone());
    }
    let words = match state.fitness {
        Fitness::Fit if state.since.is_none() && !settled => {
            return "Nobody has decided whether it may be used.".into();
        }
        Fitness::Fit if state.since.is_none() => return "Taken as fit; nobody has decided otherwise.".into(),
        Fitness::Fit => Words::new().plain("Fit for any showing. "),
        Fitness::Limited => Words::new().mark_as(Mark::Attention, "Fit within limits. "),
        Fitness::Unfit => Words::new().mark_as(Mark::NotForUse, "Not to be used until it is mended. "),
        Fitness::Danger => Words::new()
            .mark_as(Mark::NotForUse, "Dangerous: quarantined until a qualified technician releases it. "),
    };
    let words = words.plain(state.why.clone());
    match state.since {
        Some((at, entry)) => {
            words.plain(" (").link(Place::Entry(entry), wording::moment_and_distance(at, today)).plain(")")
        }
        None => words,
    }
}

fn facts(machine: &Machine, booth: &Booth, today: Date) -> Vec<(String, Words)> {
    let clocks = &machine.clocks;
    let mut run = Words::new().strong(wording::hours(clocks.hours_run()));
    if machine.hours_before_unknown {
        run = run.quiet(" at least: what it ran before it entered is not known");
    }
    if clocks.estimated.hours() > 0.0 {
        run = run.quiet(format!(", of which {} estimated", wording::hours(clocks.estimated)));
    }
    let mut facts = vec![
        ("Hours run".to_owned(), run),
        (
            "Of these".to_owned(),
            format!(
                "{} in showings, {} in rehearsals and tests",
                wording::hours(clocks.showing),
                wording::hours(clocks.testing)
            )
            .into(),
        ),
        ("Rewinding".to_owned(), wording::hours(clocks.rewinding).into()),
        ("Lamp lit".to_owned(), format!("{}, {} strikes", wording::hours(clocks.lit), clocks.strikes).into()),
    ];
    let meter = machine.meter.as_ref().map(|meter| {
        let words = Words::new().plain(format!("{}, read ", wording::meter(meter.reading)));
        words.link(Place::Entry(meter.entry), wording::moment_and_distance(meter.at, today))
    });
    facts.push(("Hour meter".to_owned(), meter.unwrap_or_else(|| Words::new().quiet("none"))));
    if !machine.serial.is_empty() {
        facts.push(("Serial number".to_owned(), machine.serial.as_str().into()));
    }
    if let Some(place) = machine.place.as_ref().and_then(|place| booth.places.get(place)) {
        facts.push(("Lives at".to_owned(), place.name.as_str().into()));
    }
    if let Some(year) = machine.made_year {
        facts.push(("Made".to_owned(), year.to_string().into()));
    }
    facts.extend(machine.settings.iter().map(|(name, value)| (name.clone(), value.as_str().into())));
    facts
}

/// Draws hours by week.
pub fn weeks(weeks: &[WeekHours]) -> Picture {
    let weeks: Vec<Week> = weeks
        .iter()
        .map(|week| Week { monday: week.week_begins, showing: week.showing, other: week.testing })
        .collect();
    bars::hours_by_week("Hours run by week", &weeks)
}

fn care(sheet: &mut Sheet, shown: &MachineSheet<'_>, booth: &Booth, today: Date) {
    sheet.heading("Care");
    if shown.kind.is_some() {
        sheet.push(Block::Picture(Box::new(due::time_line(&shown.due, booth, today))));
    }
    let pressing: Vec<_> =
        shown.due.iter().filter(|item| item.state <= booth::DueState::Soon).copied().collect();
    let mut table = due::table(&pressing, booth, today);
    "Nothing is due or soon due on this machine.".clone_into(&mut table.empty);
    sheet.push(Block::Table(table));
}

fn parts(shown: &MachineSheet<'_>, today: Date) -> Table {
    let empty = "No part with an age of its own is known here yet. Write down a change and its life begins.";
    let mut table =
        Table::new("Parts with an age of their own", &["Where", "Part", "#Age", "Since"], empty).tight();
    for (slot, part) in &shown.fitted {
        let name =
            shown.kind.and_then(|kind| kind.part(slot.as_str())).map_or(slot.as_str(), |part| &part.name);
        let cells = vec![
            Words::new().link(Place::Part(shown.id.clone(), slot.clone()), name),
            part.id.to_string().into(),
            age(part).into(),
            Words::new()
                .link(Place::Entry(part.stint.entry), wording::moment_and_distance(part.stint.fitted, today)),
        ];
        table.push(cells, vec![("slot", slot.to_string())]);
    }
    table
}

fn age(part: &FittedPart<'_>) -> String {
    let least = if part.age.at_least { "at least " } else { "" };
    format!("{least}{}", film_path::age(part))
}

fn readings(readings: &[&ReadingRecord], kind: Option<&machine::MachineType>, today: Date) -> Table {
    let heads = ["What", "#Reading", "Where", "When"];
    let mut table =
        Table::new("The last reading of each quantity", &heads, "Nothing has been measured yet.").tight();
    for reading in readings {
        let name = kind
            .and_then(|kind| kind.limit(reading.quantity.as_str()))
            .map_or_else(|| reading.quantity.to_string(), |limit| limit.name.clone());
        let doubt = reading.uncertainty.map(|doubt| format!(" ± {doubt}")).unwrap_or_default();
        let cells = vec![
            name.into(),
            format!("{}{doubt} {}", reading.value, machine::unit_as_read(&reading.unit)).into(),
            reading.slot.as_ref().map(SlotId::to_string).unwrap_or_default().into(),
            Words::new().link(Place::Entry(reading.entry), wording::moment_and_distance(reading.at, today)),
        ];
        table.push(cells, vec![("quantity", reading.quantity.to_string())]);
    }
    table
}

fn coming(sheet: &mut Sheet, shown: &MachineSheet<'_>, today: Date) {
    sheet.heading("Coming showings");
    if shown.coming.is_empty() {
        sheet.say(Words::new().quiet("None in the diary."));
        return;
    }
    let lines = shown.coming.iter().map(|(id, showing)| {
        let day = wording::date(showing.starts.date(), today);
        Words::new()
            .plain(format!("{day} {} ", showing.starts.strftime("%H:%M")))
            .link(Place::Showing((*id).clone()), &showing.title)
    });
    sheet.push(Block::List(lines.collect()));
}

/// Lists what happened, the latest first.
pub fn history(lines: &[HistoryLine<'_>], booth: &Booth, today: Date) -> Table {
    let mut table =
        Table::new("The latest entries", &["When", "What", "Who"], "Nothing is written down yet.");
    for line in lines.iter().take(LATEST) {
        let when = wording::moment(line.at, today);
        let when = match line.entry {
            Some(entry) => Words::new().link(Place::Entry(entry), when),
            None => when.into(),
        };
        let by = line.by.map(|by| common::person_name(booth, by)).unwrap_or_default();
        let data = line.entry.map(|entry| ("entry", entry.to_string())).into_iter().collect();
        table.push(vec![when, line.words.as_str().into(), by.into()], data);
    }
    table
}
