//! What several views share: reasons, caveats, lines about care.

use crate::{
    address::Place,
    sheet::Sheet,
    wording,
    words::{Mark, Words},
};
use booth::{Answer, Attention, DueItem, DueState, Ground};
use jiff::civil::Date;
use logbook::{
    Booth,
    ids::{PersonId, SlotId},
};
use machine::{CareTask, Hand};

/// A part that may be past its limit is never said to have hours left.
const AGE_NOT_KNOWN: &str =
    "its hours are not known: take it as possibly past its limit until its age is written down";

/// The tests of a machine on which safety hangs and that are overdue: the first line wherever it is named.
pub fn untested<'q>(items: impl IntoIterator<Item = &'q DueItem<'q>>) -> Vec<Words> {
    let overdue = items.into_iter().filter(|item| item.is_untested());
    overdue
        .map(|item| {
            let late = item.remaining_days().filter(|days| *days < 0).map_or_else(String::new, |days| {
                format!(" {}", wording::counted(days.unsigned_abs() as usize, "day"))
            });
            Words::new()
                .mark_as(Mark::NotForUse, format!("{}:{late} overdue. ", item.task.name))
                .plain("Not to be used before a qualified person has tested it (local rules).")
        })
        .collect()
}

/// What looks found to want attention on a machine.
pub fn attention(found: &[Attention<'_>]) -> Vec<Words> {
    found
        .iter()
        .map(|found| {
            let words = Words::new()
                .mark_as(Mark::Attention, "attention: ")
                .link(Place::Entry(found.record.entry), found.task.name.clone());
            let words = if found.record.note.is_empty() {
                words
            } else {
                words.quiet(format!(" “{}”", found.record.note))
            };
            if found.task.safety { words.plain(". ").strong(NOT_BEFORE_SETTLED) } else { words }
        })
        .collect()
}

/// The caution at something found where safety hangs on it.
pub const NOT_BEFORE_SETTLED: &str = "Do not run before this is settled.";

/// Adds an answer's caveats and reasons to the end of its sheet.
pub fn reasons<T>(sheet: &mut Sheet, answer: &Answer<T>) {
    sheet.caveats(answer.caveats.iter().map(|caveat| caveat.words.clone()));
    sheet.because(answer.because.iter().map(ground));
}

/// Says one reason, leading to the entry if it is one.
pub fn ground(ground: &Ground) -> Words {
    match ground {
        Ground::Entry { entry, words } => Words::new().link(Place::Entry(*entry), words.to_string()),
        other => other.in_words().into(),
    }
}

/// Says how much is left before care falls due: `12 h or 9 days left`. Once it is due, only what made it so: `3 h past`.
///
/// Where nobody knows how much was used up already, what is left cannot be told: it is then not said.
pub fn what_is_left(item: &DueItem<'_>) -> String {
    if item.is_of_unknown_age() && !item.state.is_due() && item.state != DueState::Deferred {
        return AGE_NOT_KNOWN.to_owned();
    }
    let hours = item.remaining_hours().map(|left| (left.hours(), wording::hours(left.abs())));
    let strikes = item.remaining_strikes().map(|left| {
        let size = usize::try_from(left.abs()).unwrap_or(usize::MAX);
        (left as f64, wording::counted(size, "strike"))
    });
    let days = item
        .remaining_days()
        .map(|left| (f64::from(left), wording::counted(left.unsigned_abs() as usize, "day")));
    let counts: Vec<(f64, String)> = [hours, strikes, days].into_iter().flatten().collect();
    let past: Vec<String> = counts.iter().filter(|(left, _)| *left <= 0.0).map(past_in_words).collect();
    match item.called_by {
        Some(event) if past.is_empty() && item.state.is_due() => format!("called for {}", event.in_words()),
        _ if !past.is_empty() => past.join(", "),
        _ if counts.is_empty() => String::new(),
        _ => {
            let left: Vec<String> = counts.into_iter().map(|(_, size)| size).collect();
            format!("{} left", left.join(" or "))
        }
    }
}

fn past_in_words((left, size): &(f64, String)) -> String {
    if *left < 0.0 { format!("{size} past") } else { "at its limit now".to_owned() }
}

/// Says when care was last done.
pub fn last_done(item: &DueItem<'_>, today: Date) -> Words {
    match item.last_done() {
        Some(last) => {
            let words =
                Words::new().link(Place::Entry(last.entry), wording::moment_and_distance(last.at, today));
            match last.within {
                Some(bigger) => words.quiet(format!(" within {}", bigger_name(item, bigger))),
                None => words,
            }
        }
        None => Words::new().quiet("no record"),
    }
}

fn bigger_name<'a>(item: &DueItem<'a>, task: &'a str) -> &'a str {
    item.kind.task(task).map_or(task, |task| task.name.as_str())
}

/// Says when care falls due, and in or before which showing.
pub fn forecast(item: &DueItem<'_>, booth: &Booth, today: Date) -> Words {
    if item.state.is_due() {
        return "now".into();
    }
    let Some(date) = item.forecast_date() else { return Words::new().quiet("not at the present use") };
    let words = Words::new().plain(wording::date_and_distance(date, today));
    let showing = item.forecast_showing.and_then(|id| booth.showings.get_key_value(id));
    match showing {
        Some((id, showing)) => {
            words.plain(" in or before ").link(Place::Showing(id.clone()), showing.title.clone())
        }
        None => words,
    }
}

/// The graver marks stand out; a calm state is said quietly.
pub fn state(state: DueState) -> Words {
    Words::new().mark(Mark::from(state))
}

/// A care task with a link to the part at which it stands.
pub fn task(item: &DueItem<'_>) -> Words {
    match item.slot() {
        Some(slot) => {
            let slot = SlotId::new(slot.as_str());
            Words::new().link(Place::Part(item.machine.clone(), slot), item.task.name.clone())
        }
        None => item.task.name.clone().into(),
    }
}

/// Who may do a task, if not any operator.
pub fn hands(task: &CareTask) -> Option<&'static str> {
    match task.who {
        Hand::Operator => None,
        Hand::Authorised => Some("only an operator authorised in writing"),
        Hand::Technician => Some("a qualified technician"),
    }
}

/// A machine's name.
pub fn machine_name(booth: &Booth, id: &str) -> String {
    booth.machines.get(id).map_or_else(|| id.to_owned(), |machine| machine.name.clone())
}

/// A person's name.
pub fn person_name(booth: &Booth, id: &PersonId) -> String {
    booth.people.get(id).map_or_else(|| id.to_string(), |person| person.name.clone())
}

/// Says how many tasks have no record; nothing if all have one.
pub fn no_record_yet(n: usize) -> Option<String> {
    let (have, them) = if n == 1 { ("has", "it was") } else { ("have", "they were") };
    (n > 0).then(|| {
        format!("{} {have} no record yet: write down when {them} last done.", wording::counted(n, "task"))
    })
}
