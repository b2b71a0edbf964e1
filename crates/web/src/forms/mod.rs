//! The forms for what can be written down: one for each kind of entry, grouped as people think of them.

mod booth;
mod care;
pub mod faults;
mod machines;
mod parts;
mod plan;
pub mod prints;
pub mod showings;
mod shows;
mod stores;

pub use care::OUTCOMES;

use crate::{
    fields::{self, Choice, Field, Kind, Problem},
    typed::Typed,
    visit::Visit,
};
use jiff::{
    ZonedDateTime,
    civil::Date,
    tz::{AmbiguousOffset, TimeZone},
};
use logbook::{
    Booth, Fact, Precision, When,
    booth::Showing,
    ids::{EntryId, MachineId},
    wire,
};
use machine::{Library, MachineType};
use serde_json::{Map, Value};

/// What a form knows when it is asked or read.
pub struct Ask<'a> {
    /// The booth.
    pub booth: &'a Booth,
    /// The machine types.
    pub library: &'a Library,
    /// The machine it is about, if that is settled.
    pub machine: Option<&'a MachineId>,
    /// The fault it is about, if that is settled.
    pub fault: Option<&'a str>,
    /// The time on the booth's clock.
    pub now: &'a ZonedDateTime,
    /// The id of the entry to be.
    pub id: EntryId,
}

impl<'a> Ask<'a> {
    /// What is known whatever is asked for: no machine and no fault is settled yet.
    pub fn of(visit: &'a Visit) -> Self {
        Self {
            booth: visit.booth(),
            library: visit.library(),
            machine: None,
            fault: None,
            now: &visit.now,
            id: visit.desk.new_id(),
        }
    }
}

/// How one kind of entry is asked for.
pub struct Form {
    /// The kind, as the wire names it.
    pub kind: &'static str,
    /// What is written down, in a few words.
    pub title: &'static str,
    /// When one uses it.
    pub hint: &'static str,
    /// It is about a machine, which is asked for first.
    pub needs_machine: bool,
    /// It stands in the choice of what to write down.
    pub offered: bool,
    /// The fields.
    pub fields: fn(&Ask<'_>) -> Vec<Field>,
    /// Completes the body: ids of new things, units that go with a choice. May name further problems.
    pub complete: fn(&mut Map<String, Value>, &Ask<'_>, &Typed) -> Vec<Problem>,
}

/// Adds nothing to a body.
fn as_typed(_: &mut Map<String, Value>, _: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    Vec::new()
}

/// Returns every form, those that are used most first.
pub fn all() -> impl Iterator<Item = &'static Form> {
    [
        care::FORMS,
        machines::RUNNING,
        parts::FORMS,
        faults::FORMS,
        stores::FORMS,
        booth::FORMS,
        machines::FORMS,
        showings::FORMS,
        shows::FORMS,
        plan::FORMS,
        prints::FORMS,
    ]
    .into_iter()
    .flatten()
}

/// Returns the form for a kind.
pub fn of_kind(kind: &str) -> Option<&'static Form> {
    all().find(|form| form.kind == kind)
}

impl<'a> Ask<'a> {
    /// Returns the type of the machine that it is about.
    pub fn machine_type(&self) -> Option<&'a MachineType> {
        let machine = self.booth.machines.get(self.machine?.as_str())?;
        self.library.get(machine.machine_type.as_str())
    }

    /// Returns the machines that have not left, as choices.
    pub fn machines(&self) -> Vec<Choice> {
        let machines = self.booth.machines.iter().filter(|(_, machine)| machine.retired.is_none());
        machines.map(|(id, machine)| Choice::new(id.as_str(), &machine.name)).collect()
    }

    /// Returns the parts of the machine as choices, in the order in which film meets them.
    pub fn slots(&self) -> Vec<Choice> {
        let parts = self.machine_type().into_iter().flat_map(|kind| &kind.parts);
        parts.map(|part| Choice::new(part.id.as_str(), &part.name)).collect()
    }

    /// Returns the showings as choices: the coming ones and those of the last month.
    pub fn showings(&self) -> Vec<Choice> {
        let month_ago = self.now.date().checked_sub(jiff::ToSpan::days(31)).unwrap_or(self.now.date());
        let mut showings: Vec<_> =
            self.booth.showings.iter().filter(|(_, showing)| showing.starts.date() >= month_ago).collect();
        showings.sort_by_key(|(_, showing)| showing.starts.timestamp());
        showings
            .into_iter()
            .map(|(id, showing)| Choice::new(id.as_str(), self.showing_in_words(showing)))
            .collect()
    }

    fn showing_in_words(&self, showing: &Showing) -> String {
        format!("{}, {}", views::wording::date(showing.starts.date(), self.now.date()), showing.title)
    }

    /// Returns the words for a thing that a field names; its id where the booth does not know it.
    fn words_for(&self, key: &str, id: &str) -> String {
        let booth = self.booth;
        let words = match key {
            "showing" => booth.showings.get(id).map(|showing| self.showing_in_words(showing)),
            "fault" => booth.faults.get(id).map(|fault| fault.words.clone()),
            "machine" | "about.machine" => booth.machines.get(id).map(|machine| machine.name.clone()),
            "place" => booth.places.get(id).map(|place| place.name.clone()),
            "print" => booth.prints.get(id).map(|print| print.title.clone()),
            "item" => booth.stock.get(id).map(|item| item.name.clone()),
            _ => None,
        };
        words.unwrap_or_else(|| id.to_owned())
    }

    /// Returns the places as choices.
    pub fn places(&self) -> Vec<Choice> {
        self.booth.places.iter().map(|(id, place)| Choice::new(id.as_str(), &place.name)).collect()
    }
}

/// Returns a name for a new thing, made of words, that none of the known ones has.
pub fn new_name(words: &str, is_taken: impl Fn(&str) -> bool) -> String {
    let base = slug(words);
    let base = if base.is_empty() { "unnamed".to_owned() } else { base };
    let mut name = base.clone();
    let mut count = 1_u32;
    while is_taken(&name) {
        count += 1;
        name = format!("{base}-{count}");
    }
    name
}

/// Makes a name of small letters, digits and hyphens out of words; letters beyond those are left out.
pub fn slug(words: &str) -> String {
    let plain = words.to_lowercase();
    let pieces: Vec<&str> =
        plain.split(|c: char| !c.is_ascii_alphanumeric()).filter(|piece| !piece.is_empty()).collect();
    let mut name = pieces.join("-");
    name.truncate(48);
    name.trim_end_matches('-').to_owned()
}

/// Reads a form into a fact, over the body of the fact that it corrects, if it corrects one.
pub fn read(form: &Form, ask: &Ask<'_>, typed: &Typed, before: Option<&Fact>) -> Result<Fact, Vec<Problem>> {
    let mut body = before.map(body_of).and_then(|body| body.as_object().cloned()).unwrap_or_default();
    if form.needs_machine
        && let Some(machine) = ask.machine
    {
        body.insert("machine".to_owned(), Value::from(machine.as_str()));
    }
    let mut problems = fields::read_into(&mut body, &fields_over(form, ask, before), typed);
    problems.extend((form.complete)(&mut body, ask, typed));
    if !problems.is_empty() {
        return Err(problems);
    }
    let text = Value::Object(body).to_string();
    match wire::decode_fact(form.kind, wire::VERSION, &text) {
        Fact::Unknown(unknown) => {
            let trouble = unknown.trouble.unwrap_or_else(|| "this program does not know the kind".to_owned());
            Err(vec![Problem::new("", format!("This cannot be written as it is: {trouble}."))])
        }
        fact => Ok(fact),
    }
}

/// Returns the body of a fact as JSON.
pub fn body_of(fact: &Fact) -> Value {
    let (_, _, body) = wire::encode_fact(fact);
    serde_json::from_str(&body).unwrap_or(Value::Null)
}

/// Returns the fields of a form over the fact that it corrects, if it corrects one: what that fact says is always among
/// the choices, though it be too old, retired or gone to be offered otherwise.
pub fn fields_over(form: &Form, ask: &Ask<'_>, before: Option<&Fact>) -> Vec<Field> {
    let mut fields = (form.fields)(ask);
    if let Some(before) = before {
        keep_recorded(&mut fields, ask, before);
    }
    fields
}

/// Adds to each list what a fact says and the list lacks. What is named within a machine stays with that machine.
pub fn keep_recorded(fields: &mut [Field], ask: &Ask<'_>, fact: &Fact) {
    let body = body_of(fact);
    let machine = body.get("machine").and_then(Value::as_str);
    let same_machine = machine.is_none() || machine == ask.machine.map(MachineId::as_str);
    for field in fields {
        let (Kind::Pick(choices) | Kind::PickOrOlder { older: choices, .. }) = &mut field.kind else {
            continue;
        };
        let recorded = fields::value_at(&body, field.key).and_then(Value::as_str);
        let Some(recorded) = recorded.filter(|_| same_machine || !WITHIN_A_MACHINE.contains(&field.key))
        else {
            continue;
        };
        if choices.iter().all(|choice| choice.value != recorded) {
            choices.insert(0, Choice::new(recorded, ask.words_for(field.key, recorded)));
        }
    }
}

/// Fields whose choices belong to one machine.
const WITHIN_A_MACHINE: [&str; 3] = ["slot", "task", "quantity"];

/// Fills a form from a fact.
pub fn fill(form: &Form, ask: &Ask<'_>, fact: &Fact) -> Typed {
    let body = body_of(fact);
    let mut typed = fields::fill(&body, &(form.fields)(ask));
    showings::fill_more(&mut typed, fact);
    parts::fill_age(&mut typed, fact);
    typed
}

/// The field of the day on which it happened.
pub const DAY: &str = "happened_day";
/// The field of the time at which it happened.
pub const TIME: &str = "happened_time";

/// Fills in when it happened.
pub fn fill_when(typed: &mut Typed, when: When) {
    let local = when.local();
    typed.set_if_missing(DAY, || local.date().to_string());
    typed.set_if_missing(TIME, || match when.precision {
        Precision::Second | Precision::Minute => local.strftime("%H:%M").to_string(),
        Precision::Day | Precision::Month => String::new(),
    });
}

/// Reads when it happened: day and time, or only the day if the time was left empty. Nothing typed: now.
pub fn read_when(typed: &Typed, now: &ZonedDateTime) -> Result<When, Problem> {
    let Some(day) = typed.get(DAY) else { return Ok(When::from_zoned(now)) };
    let day: Date = day
        .parse()
        .map_err(|_| Problem::new(DAY, format!("\"{day}\" is not a day; write for example 2026-03-07.")))?;
    let Some(time) = typed.get(TIME) else {
        return zoned(day, jiff::civil::time(12, 0, 0, 0), now).map(|at| at.known_to(Precision::Day));
    };
    let time: jiff::civil::Time = time
        .parse()
        .map_err(|_| Problem::new(TIME, format!("\"{time}\" is not a time; write for example 21:40.")))?;
    // What was filled in as the present minute means now, to the second: so that two deeds keep their order.
    if day == now.date() && time.hour() == now.hour() && time.minute() == now.minute() {
        return Ok(When::from_zoned(now));
    }
    zoned(day, time, now).map(|at| at.known_to(Precision::Minute))
}

fn zoned(day: Date, time: jiff::civil::Time, now: &ZonedDateTime) -> Result<When, Problem> {
    on_the_clock(day, time, now.time_zone(), [DAY, TIME]).map(|at| When::from_zoned(&at))
}

/// Puts a day and a time into a zone. A time that clocks skip that night never came, so it is asked again; of one that
/// comes twice the first is taken.
pub fn on_the_clock(
    day: Date,
    time: jiff::civil::Time,
    zone: &TimeZone,
    [day_field, time_field]: [&'static str; 2],
) -> Result<ZonedDateTime, Problem> {
    let local = zone.to_ambiguous_zoned_datetime(day.to_datetime(time));
    if let AmbiguousOffset::Gap { .. } = local.offset()
        && let Ok(moved) = local.clone().compatible()
    {
        let words = format!(
            "Clocks went forward that night and {} never came; {} came in its place.",
            time.strftime("%H:%M"),
            moved.strftime("%H:%M")
        );
        return Err(Problem::new(time_field, words));
    }
    local.compatible().map_err(|_| {
        Problem::new(day_field, "This day lies outside the calendar; write for example 2026-03-07.")
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use logbook::fact::KINDS;

    #[test]
    fn every_kind_that_a_person_can_write_has_a_form() {
        // A withdrawal has its own button on the entry's page.
        let without: Vec<_> = KINDS.iter().filter(|kind| of_kind(kind).is_none()).collect();
        assert_eq!(without, [&"withdraws"]);
    }

    #[test]
    fn a_time_that_clocks_skip_is_asked_again() {
        // In the European Union clocks go from 01:00 to 02:00 UTC on the last Sunday in March (directive 2000/84/EC).
        let zone = TimeZone::get("Europe/Vienna").unwrap();
        let at = |hour| {
            on_the_clock("2026-03-29".parse().unwrap(), jiff::civil::time(hour, 30, 0, 0), &zone, [DAY, TIME])
        };
        assert_eq!(at(1).unwrap().strftime("%H:%M").to_string(), "01:30");
        let problem = at(2).unwrap_err();
        assert_eq!(problem.key, TIME);
        assert!(problem.words.contains("02:30 never came; 03:30 came in its place"), "{}", problem.words);
    }

    #[test]
    fn names_are_made_of_words() {
        assert_eq!(slug("  Feature 07 — the End! "), "feature-07-the-end");
        assert_eq!(slug("Ångström"), "ngstr-m");
        assert!(slug(&"long ".repeat(40)).len() <= 48);
    }
}
