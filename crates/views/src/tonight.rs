//! Tonight: each coming showing, its machines, what is due before it, what stands open.

use crate::{
    address::Place,
    common, prints,
    sheet::{Block, Card, Sheet},
    wording,
    words::{Mark, Words},
};
use booth::{Answer, Outlook, Tonight, TonightMachine, TonightShowing, prints::PrintWarning};
use jiff::civil::Date;
use logbook::{Booth, MachineId, booth::Showing};

/// How many pressing tasks a card names before it says how many more there are.
const MOST_NAMED: usize = 4;

/// Shows the coming showings; of the next one, how it stands comes first.
pub fn sheet(answer: &Answer<Tonight<'_>>, outlooks: &[Answer<Outlook<'_>>], booth: &Booth) -> Sheet {
    let tonight = &answer.value;
    let mut sheet = Sheet::new("Tonight");
    sheet.say(Words::new().quiet(tonight.evening.strftime("%A %-d %B %Y").to_string()));
    if let Some(showing) = tonight.this_evening.first().or_else(|| tonight.next_days.first()) {
        for line in showing.machines.iter().flat_map(|machine| {
            common::untested(&machine.untested).into_iter().map(|line| named(machine, line))
        }) {
            sheet.say(line);
        }
        first_checks(&mut sheet, showing, booth);
        sheet.blocks.extend(nothing_known(showing).map(|words| Block::Say(words.into())));
    }
    if let Some(next) = outlooks.first() {
        crate::outlook::blocks(&mut sheet, &next.value, booth);
        sheet.say(Words::new().link(Place::Outlook(next.value.id.clone()), "All that may stop it, and why"));
        sheet.say(tonight.sentence.as_str());
    } else {
        sheet.lead(tonight.sentence.as_str());
    }
    for showing in &tonight.this_evening {
        let outlook = outlooks.iter().skip(1).find(|outlook| outlook.value.id == showing.id);
        one_showing(&mut sheet, showing, booth, tonight.evening);
        if let Some(outlook) = outlook {
            sheet.say(outlook.value.sentence());
        }
    }
    if !tonight.next_days.is_empty() {
        sheet.heading("The next days");
        let cards = tonight.next_days.iter().map(|showing| short_card(showing, booth, tonight.evening));
        sheet.push(Block::Cards(cards.collect()));
    }
    if let Some((id, showing)) = tonight.after_that {
        let evening = booth.evening_of_showing(showing).date();
        let day = wording::date_and_distance(evening, tonight.evening);
        sheet.say(
            Words::new()
                .plain("After that: ")
                .link(Place::Showing(id.clone()), &showing.title)
                .plain(format!(", {day}.")),
        );
        let barred: Vec<Words> = tonight.after_that_barred.iter().map(prints::barred_line).collect();
        if !barred.is_empty() {
            sheet.push(Block::List(barred));
        }
    }
    common::reasons(&mut sheet, answer);
    sheet
}

fn one_showing(sheet: &mut Sheet, showing: &TonightShowing<'_>, booth: &Booth, today: Date) {
    sheet.heading(format!("{} {}", showing.showing.starts.strftime("%H:%M"), showing.showing.title));
    sheet.say(
        where_and_how_long(showing.showing, booth)
            .link(Place::Showing(showing.id.clone()), "Open in the diary"),
    );
    let reels = prints::warnings(&showing.prints);
    if !reels.is_empty() {
        sheet.push(Block::List(reels));
    }
    let cards = showing.machines.iter().map(|machine| machine_card(machine, today)).collect();
    sheet.push(Block::Cards(cards));
}

/// A line with the machine of which it speaks before it.
fn named(machine: &TonightMachine<'_>, line: Words) -> Words {
    Words::new().strong(format!("{}: ", machine.name())).and(line)
}

/// So many of the checks that fit are told at once.
const MOST_CHECKS: usize = 5;

/// Where there is no time for all checks: the few that matter most.
fn first_checks(sheet: &mut Sheet, showing: &TonightShowing<'_>, booth: &Booth) {
    let checks = &showing.first_checks;
    if checks.is_empty() {
        return;
    }
    let minutes: f64 = checks.iter().map(|(_, task)| task.minutes()).sum();
    let count = wording::counted(checks.len(), "check");
    sheet.heading(format!(
        "Worth doing now: the {count} that matter most, {}",
        wording::minutes(minutes.ceil())
    ));
    let line = |(machine, task): &(&MachineId, &machine::CareTask)| {
        let walk = Place::Walk((*machine).clone(), "before-showing".to_owned());
        let name = common::machine_name(booth, machine.as_str());
        Words::new().plain(format!("{name}: ")).link(walk, task.name.clone())
    };
    sheet.push(Block::List(checks.iter().take(MOST_CHECKS).map(line).collect()));
    if checks.len() > MOST_CHECKS {
        let more = format!("{} more of them", checks.len() - MOST_CHECKS);
        let rest = checks.iter().skip(MOST_CHECKS).map(line).collect();
        sheet.push(Block::Folded(more, Box::new(Block::List(rest))));
    }
}

/// Said where no care of a machine was ever written down: the figure then says nothing about this very machine.
fn nothing_known(showing: &TonightShowing<'_>) -> Option<String> {
    let bare = |machine: &&TonightMachine<'_>| machine.n_no_record > 0 && machine.machine.care.is_empty();
    let names: Vec<String> =
        showing.machines.iter().filter(bare).map(|machine| machine.name().to_owned()).collect();
    (!names.is_empty()).then(|| {
        format!(
            "Nothing is known yet of the care of {}: the figure rests on the machine type alone, with its wide range.",
            wording::listed(&names)
        )
    })
}

/// Where a showing is, how long it runs.
fn where_and_how_long(showing: &Showing, booth: &Booth) -> Words {
    let place = showing.place.as_ref().and_then(|place| booth.places.get(place));
    let place = place.map(|place| format!("{} · ", place.name)).unwrap_or_default();
    let ends =
        showing.starts.checked_add(jiff::SignedDuration::from_secs((showing.length_minutes * 60.0) as i64));
    let ends = ends.map_or_else(|_| String::new(), |ends| format!(", ends {}", ends.strftime("%H:%M")));
    Words::new().plain(format!("{place}{}{ends} · ", wording::minutes(showing.length_minutes)))
}

/// A machine of this evening's showing.
fn machine_card(machine: &TonightMachine<'_>, today: Date) -> Card {
    let mut lines = Vec::new();
    if !machine.may_run {
        lines.push(
            Words::new()
                .mark_as(Mark::NotForUse, "Not to be used. ")
                .plain(machine.machine.fitness.why.clone()),
        );
    }
    lines.extend(common::untested(&machine.untested));
    lines.extend(common::attention(&machine.attention));
    for (_, fault) in &machine.open_faults {
        let since = wording::moment_and_distance(fault.opened.0, today);
        lines.push(
            Words::new()
                .mark_as(Mark::Fault, "Open fault: ")
                .link(Place::Entry(fault.opened.1), &fault.words)
                .quiet(format!(" ({since})")),
        );
    }
    for item in machine.due.iter().take(MOST_NAMED) {
        let words = common::state(item.state).plain(": ");
        lines.push(words.and(common::task(item)).quiet(format!(" {}", common::what_is_left(item))));
    }
    if machine.due.len() > MOST_NAMED {
        let more = wording::counted(machine.due.len() - MOST_NAMED, "more task");
        lines.push(Words::new().link(Place::Due, format!("{more} due")));
    }
    lines.push(checks(machine));
    let id = machine.id;
    let mut ways = Vec::new();
    if machine.kind.is_some() {
        ways.push(
            Words::new().link(Place::Walk(id.clone(), "before-showing".to_owned()), "Walk the film path"),
        );
        ways.push(Words::new().link(Place::FilmPath(id.clone()), "See the film path"));
    }
    ways.push(Words::new().link(Place::Machine(id.clone()), "Machine"));
    Card {
        title: machine.machine.name.as_str().into(),
        mark: Some(mark_of(machine)),
        lines,
        ways,
        data: vec![("machine", id.to_string())],
    }
}

fn checks(machine: &TonightMachine<'_>) -> Words {
    let (left, all) = (machine.n_before_left(), machine.before.len());
    if all == 0 {
        return Words::new().quiet("Nothing is known of its care: its type is not here.");
    }
    let minutes = wording::minutes(machine.minutes_of_care.ceil());
    match left {
        0 => format!("All {all} checks before a showing were written down this evening.").into(),
        _ if left == all => format!("{all} checks before the showing; about {minutes} of care.").into(),
        _ => format!("{left} of {all} checks before the showing are left; about {minutes} of care.").into(),
    }
}

fn mark_of(machine: &TonightMachine<'_>) -> Mark {
    let due = machine.due.iter().map(|item| Mark::from(item.state)).fold(Mark::UpToDate, Mark::graver);
    let due = if machine.open_faults.is_empty() { due } else { due.graver(Mark::Fault) };
    let due = if machine.attention.is_empty() { due } else { due.graver(Mark::Attention) };
    let due = if machine.n_no_record == 0 { due } else { due.graver(Mark::NoRecord) };
    if machine.may_run && machine.untested.is_empty() { due } else { Mark::NotForUse }
}

/// A showing of the days after.
fn short_card(showing: &TonightShowing<'_>, booth: &Booth, today: Date) -> Card {
    let when =
        format!("{} {}", wording::date(showing.evening, today), showing.showing.starts.strftime("%H:%M"));
    let mark = showing.machines.iter().map(mark_of).fold(Mark::UpToDate, Mark::graver);
    let place = showing.showing.place.as_ref().and_then(|place| booth.places.get(place));
    let mut lines: Vec<Words> = place.map(|place| place.name.as_str().into()).into_iter().collect();
    lines.push(Words::new().plain(showing.sentence.clone()));
    for machine in &showing.machines {
        lines.extend(common::untested(&machine.untested).into_iter().map(|line| named(machine, line)));
    }
    lines.extend(prints::warnings(&showing.prints));
    let mark = if showing.prints.iter().any(PrintWarning::is_barred) { Mark::NotForUse } else { mark };
    Card {
        title: Words::new()
            .link(Place::Showing(showing.id.clone()), format!("{when} {}", showing.showing.title)),
        mark: (!mark.is_calm()).then_some(mark),
        lines,
        ways: Vec::new(),
        data: vec![("showing", showing.id.to_string())],
    }
}
