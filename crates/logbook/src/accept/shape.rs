//! What a draft must look like, whatever the booth: ids, texts, numbers, dates.

mod faults;

use super::{Checked, FIRST_DAY, Refusal, moment, must, prints};
use crate::{
    Fact, When,
    fact::{
        About, Assigned, BoothNamed, CareDone, Corrects, MachineAdded, PartFitted, PlanPinned, ProgrammeItem,
        ProgrammeKept, Ran, Reading, ShowingPlanned, StockCounted, StockOrdered,
    },
    ids::{EntryId, LONGEST_ID},
    rules,
};
use units::Hours;

/// The longest text, in characters: some five typed pages.
const LONGEST_TEXT: usize = 10_000;
/// The longest name or title, in characters.
const LONGEST_NAME: usize = 200;
/// The most things in one list of an entry.
pub(super) const LONGEST_LIST: usize = 1_000;
/// The most strikes or passes in one run, or things of one item.
const MOST_TIMES: u32 = 100_000;

/// Checks a fact by itself.
pub(super) fn check(fact: &Fact, own: EntryId, now: When) -> Checked {
    match fact {
        Fact::BoothNamed(fact) => booth_named(fact),
        Fact::PersonAdded(fact) => {
            id("person", fact.person.as_str())?;
            name("name", &fact.name)
        }
        Fact::PlaceAdded(fact) => {
            id("place", fact.place.as_str())?;
            name("name", &fact.name)?;
            text("notes", &fact.notes)
        }
        Fact::MachineAdded(fact) => machine_added(fact, now),
        Fact::MachineChanged(fact) => {
            id("machine", fact.machine.as_str())?;
            optional(fact.name.as_ref(), |text| name("name", text))?;
            optional(fact.machine_type.as_ref(), |kind| id("machine_type", kind.as_str()))?;
            optional(fact.serial.as_ref(), |text| line("serial", text))?;
            optional(fact.place.as_ref(), |place| id("place", place.as_str()))
        }
        Fact::MachineRetired(fact) => both(id("machine", fact.machine.as_str()), || text("why", &fact.why)),
        Fact::Ran(fact) => ran(fact),
        Fact::MeterRead(fact) => {
            id("machine", fact.machine.as_str())?;
            meter_figure("reading_hours", fact.reading_hours)
        }
        Fact::MeterReplaced(fact) => {
            id("machine", fact.machine.as_str())?;
            optional(fact.old_reading_hours, |hours| meter_figure("old_reading_hours", hours))?;
            meter_figure("new_reading_hours", fact.new_reading_hours)
        }
        Fact::PartFitted(fact) => part_fitted(fact),
        Fact::PartMoved(fact) => {
            id("part", fact.part.as_str())?;
            id("machine", fact.machine.as_str())?;
            id("slot", fact.slot.as_str())?;
            optional(fact.replaces.as_ref().and_then(|old| old.part.as_ref()), |part| {
                id("replaces", part.as_str())
            })
        }
        Fact::PartRemoved(fact) => both(id("part", fact.part.as_str()), || text("note", &fact.note)),
        Fact::CareDone(fact) => care_done(fact),
        Fact::CareDeferred(fact) => {
            id("machine", fact.machine.as_str())?;
            id("task", fact.task.as_str())?;
            optional(fact.slot.as_ref(), |slot| id("slot", slot.as_str()))?;
            words("why", &fact.why)?;
            must(fact.until_hours_run.is_some() || fact.until_date.is_some(), || {
                Refusal::new(
                    "until_date",
                    "care is put off without a limit",
                    "until a day, or until so many hours run",
                )
            })?;
            optional(fact.until_hours_run, |hours| meter_figure("until_hours_run", hours))
        }
        Fact::Reading(fact) => reading(fact),
        Fact::ShowingPlanned(fact) => showing_planned(fact),
        Fact::ShowingHeld(fact) => {
            id("showing", fact.showing.as_str())?;
            showing_length("lasted_minutes", fact.lasted_minutes)?;
            text("note", &fact.note)
        }
        Fact::ShowingCancelled(fact) => both(id("showing", fact.showing.as_str()), || text("why", &fact.why)),
        Fact::Stoppage(fact) => {
            optional(fact.showing.as_ref(), |showing| id("showing", showing.as_str()))?;
            optional(fact.machine.as_ref(), |machine| id("machine", machine.as_str()))?;
            between("dark_seconds", fact.dark_seconds.seconds(), 0.0, 86_400.0, "seconds")?;
            words("what", &fact.what)
        }
        Fact::FaultOpened(fact) => {
            id("fault", fact.fault.as_str())?;
            id("machine", fact.machine.as_str())?;
            optional(fact.slot.as_ref(), |slot| id("slot", slot.as_str()))?;
            list("symptoms", fact.symptoms.len())?;
            fact.symptoms.iter().try_for_each(|symptom| id("symptoms", symptom.as_str()))?;
            optional(fact.print.as_ref(), |print| id("print", print.as_str()))?;
            words("words", &fact.words)
        }
        Fact::FaultAnswered(fact) => faults::answered(fact),
        Fact::FaultTried(fact) => faults::tried(fact),
        Fact::FaultMarked(fact) => faults::marked(fact),
        Fact::RepairRequested(fact) => faults::requested(fact),
        Fact::FaultNoted(fact) => {
            id("fault", fact.fault.as_str())?;
            words("words", &fact.words)?;
            photos(&fact.photos)
        }
        Fact::FaultClosed(fact) => {
            id("fault", fact.fault.as_str())?;
            text("cause", &fact.cause)?;
            optional(fact.cause_id.as_ref(), |cause| id("cause_id", cause.as_str()))?;
            optional(fact.remedy_id.as_ref(), |remedy| id("remedy_id", remedy.as_str()))?;
            text("cure", &fact.cure)
        }
        Fact::FitnessSet(fact) => both(id("machine", fact.machine.as_str()), || words("why", &fact.why)),
        Fact::MachineEvent(fact) => {
            id("machine", fact.machine.as_str())?;
            id("event", &fact.event)?;
            text("note", &fact.note)
        }
        Fact::PrintAdded(fact) => prints::added(fact),
        Fact::PrintInspected(fact) => prints::inspected(fact),
        Fact::PrintHandled(fact) => prints::handled(fact),
        Fact::SetupKept(fact) => {
            id("place", fact.place.as_str())?;
            list("values", fact.values.len())?;
            fact.values
                .iter()
                .try_for_each(|(key, value)| both(id("values", key), || line("values", value)))?;
            text("note", &fact.note)
        }
        Fact::ProgrammeKept(fact) => programme_kept(fact),
        Fact::PlanPinned(fact) => plan_pinned(fact),
        Fact::ShowMarked(fact) => {
            id("showing", fact.showing.as_str())?;
            optional(fact.machine.as_ref(), |machine| id("machine", machine.as_str()))?;
            between("reel", f64::from(fact.reel), 1.0, LONGEST_LIST as f64, "as a place in the programme")?;
            text("note", &fact.note)
        }
        Fact::StockCounted(fact) => stock_counted(fact),
        Fact::StockOrdered(fact) => stock_ordered(fact),
        Fact::StockReceived(fact) => {
            id("item", fact.item.as_str())?;
            some("count", fact.count)?;
            optional(fact.order.as_ref(), |order| id("order", order.as_str()))?;
            optional(fact.put_in.as_ref(), |said| name("put_in", said))?;
            text("note", &fact.note)
        }
        Fact::StockUsed(fact) => {
            id("item", fact.item.as_str())?;
            some("count", fact.count)?;
            optional(fact.taken_from.as_ref(), |said| name("taken_from", said))?;
            optional(fact.machine.as_ref(), |machine| id("machine", machine.as_str()))?;
            text("note", &fact.note)
        }
        Fact::StockMoved(fact) => {
            id("item", fact.item.as_str())?;
            some("count", fact.count)?;
            optional(fact.from.as_ref(), |said| name("from", said))?;
            name("to", &fact.to)
        }
        Fact::Noted(fact) => {
            optional(fact.about.as_ref(), about)?;
            words("words", &fact.words)?;
            photos(&fact.photos)
        }
        Fact::Withdraws(fact) => both(not_itself(fact.entry, own), || text("why", &fact.why)),
        Fact::Corrects(fact) => corrects(fact, own, now),
        Fact::Unknown(fact) => Err(Refusal::new(
            "kind",
            match &fact.trouble {
                Some(trouble) => format!("“{}” cannot be read: {trouble}", fact.kind),
                None => format!("this program does not know “{}” version {}", fact.kind, fact.version),
            },
            "one of the kinds of docs/logbook-format.md, with its fields",
        )),
    }
}

/// Checks an id: as people write it on labels and in spreadsheets.
pub(super) fn id(field: &'static str, text: &str) -> Checked {
    let fits = !text.is_empty() && text.len() <= LONGEST_ID;
    let clean = text.trim() == text && !text.chars().any(char::is_control);
    must(fits && clean, || {
        let shown: String = text.chars().take(LONGEST_ID).flat_map(char::escape_debug).collect();
        Refusal::new(
            field,
            format!("“{shown}” is no short name"),
            format!("1 to {LONGEST_ID} bytes, without line breaks, and no space before or after"),
        )
    })
}

/// Checks a text of any length that a page can show.
pub(super) fn text(field: &'static str, text: &str) -> Checked {
    let length = text.chars().take(LONGEST_TEXT + 1).count();
    must(length <= LONGEST_TEXT, || {
        Refusal::new(field, "the text is too long", format!("at most {LONGEST_TEXT} characters"))
    })?;
    let strange = |c: char| c.is_control() && !matches!(c, '\n' | '\r' | '\t');
    must(!text.chars().any(strange), || {
        Refusal::new(field, "the text holds control characters", "plain words, line breaks and tabs")
    })
}

/// Checks a text that must say something.
fn words(field: &'static str, said: &str) -> Checked {
    must(!said.trim().is_empty(), || Refusal::new(field, format!("“{field}” is empty"), "a few words"))?;
    text(field, said)
}

/// Checks a text on one line, which may be empty.
pub(super) fn line(field: &'static str, said: &str) -> Checked {
    must(
        said.chars().take(LONGEST_NAME + 1).count() <= LONGEST_NAME && !said.chars().any(char::is_control),
        || {
            Refusal::new(
                field,
                format!("“{field}” is too long or has line breaks"),
                format!("one line of at most {LONGEST_NAME} characters"),
            )
        },
    )
}

/// Checks a name or title: one line that says something.
pub(super) fn name(field: &'static str, said: &str) -> Checked {
    must(!said.trim().is_empty(), || {
        Refusal::new(field, format!("“{field}” is empty"), "what people call it")
    })?;
    line(field, said)
}

pub(super) fn optional<T>(value: Option<T>, check: impl FnOnce(T) -> Checked) -> Checked {
    value.map_or(Ok(()), check)
}

fn both(first: Checked, second: impl FnOnce() -> Checked) -> Checked {
    first.and_then(|()| second())
}

pub(super) fn list(field: &'static str, length: usize) -> Checked {
    must(length <= LONGEST_LIST, || {
        Refusal::new(field, format!("{length} in one list"), format!("at most {LONGEST_LIST}"))
    })
}

pub(super) fn between(field: &'static str, value: f64, low: f64, high: f64, unit: &str) -> Checked {
    must(value >= low && value <= high, || {
        Refusal::new(field, format!("{value} {unit} cannot be"), format!("a number from {low} to {high}"))
    })
}

fn run_length(field: &'static str, hours: Hours) -> Checked {
    must(rules::is_run_length(hours), || {
        let what = format!("a run cannot take {hours}");
        Refusal::new(field, what, "from 0 to 24 hours for one run; write longer running day by day")
    })
}

fn meter_figure(field: &'static str, hours: Hours) -> Checked {
    must(rules::is_meter_figure(hours), || {
        Refusal::new(
            field,
            format!("{hours} cannot be"),
            format!("hours from 0 to {}", rules::HIGHEST_METER.hours()),
        )
    })
}

fn showing_length(field: &'static str, minutes: f64) -> Checked {
    must(rules::is_showing_length(minutes), || {
        let what = format!("a showing cannot take {minutes} minutes");
        Refusal::new(field, what, "more than nothing and at most 1440 minutes: the end lies after the start")
    })
}

fn times(field: &'static str, times: u32) -> Checked {
    must(times <= MOST_TIMES, || {
        Refusal::new(field, format!("{times} in one entry"), format!("at most {MOST_TIMES}"))
    })
}

/// Checks photos and recordings: named by the SHA-256 of their bytes, 64 hexadecimal digits.
fn sha_256(field: &'static str, hash: &str) -> Checked {
    must(hash.len() == 64 && hash.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f')), || {
        Refusal::new(field, format!("“{field}” is no SHA-256"), "64 hexadecimal digits in small letters")
    })
}

pub(super) fn photos(photos: &[String]) -> Checked {
    list("photos", photos.len())?;
    photos.iter().try_for_each(|photo| sha_256("photos", photo))
}

fn booth_named(fact: &BoothNamed) -> Checked {
    name("name", &fact.name)?;
    must(jiff::tz::TimeZone::get(&fact.zone).is_ok(), || {
        let what = format!("there is no time zone “{}”", fact.zone);
        Refusal::new(
            "zone",
            what,
            "a name of the IANA time zone list, such as Europe/Lisbon or America/Halifax",
        )
    })
}

fn machine_added(fact: &MachineAdded, now: When) -> Checked {
    id("machine", fact.machine.as_str())?;
    name("name", &fact.name)?;
    id("machine_type", fact.machine_type.as_str())?;
    line("serial", &fact.serial)?;
    optional(fact.place.as_ref(), |place| id("place", place.as_str()))?;
    optional(fact.meter_hours, |hours| meter_figure("meter_hours", hours))?;
    optional(fact.hours_before, |hours| meter_figure("hours_before", hours))?;
    optional(fact.made_year, |year| {
        must(year >= FIRST_DAY.year() && year <= now.date().year(), || {
            Refusal::new(
                "made_year",
                format!("no projector was made in {year}"),
                "the year of making, in four figures",
            )
        })
    })?;
    list("settings", fact.settings.len())?;
    fact.settings.iter().try_for_each(|(key, value)| both(id("settings", key), || text("settings", value)))
}

fn ran(fact: &Ran) -> Checked {
    id("machine", fact.machine.as_str())?;
    run_length("hours", fact.hours)?;
    optional(fact.lit_hours, |hours| run_length("lit_hours", hours))?;
    optional(fact.strikes, |count| times("strikes", count))?;
    optional(fact.passes, |count| times("passes", count))?;
    optional(fact.showing.as_ref(), |showing| id("showing", showing.as_str()))?;
    optional(fact.print.as_ref(), |print| id("print", print.as_str()))
}

fn part_fitted(fact: &PartFitted) -> Checked {
    id("part", fact.part.as_str())?;
    id("slot", fact.slot.as_str())?;
    id("machine", fact.machine.as_str())?;
    optional(fact.age_hours, |hours| meter_figure("age_hours", hours))?;
    optional(fact.age_band_hours, |(low, high)| {
        meter_figure("age_band_hours", low)?;
        meter_figure("age_band_hours", high)?;
        must(low <= high, || {
            Refusal::new(
                "age_band_hours",
                "the band ends before it begins",
                "the lower guess first, then the higher",
            )
        })
    })?;
    line("lot", &fact.lot)?;
    optional(fact.replaces.as_ref().and_then(|old| old.part.as_ref()), |part| id("replaces", part.as_str()))?;
    optional(fact.item.as_ref(), |item| id("item", item.as_str()))?;
    text("note", &fact.note)
}

fn care_done(fact: &CareDone) -> Checked {
    id("machine", fact.machine.as_str())?;
    id("task", fact.task.as_str())?;
    optional(fact.slot.as_ref(), |slot| id("slot", slot.as_str()))?;
    text("note", &fact.note)?;
    optional(fact.minutes, |minutes| between("minutes", minutes, 0.0, 10_000.0, "minutes"))?;
    list("includes", fact.includes.len())?;
    fact.includes.iter().try_for_each(|task| id("includes", task.as_str()))?;
    list("used", fact.used.len())?;
    fact.used
        .iter()
        .try_for_each(|used| both(id("used", used.item.as_str()), || times("used", used.count)))?;
    photos(&fact.photos)?;
    line("walk", &fact.walk)
}

fn reading(fact: &Reading) -> Checked {
    id("machine", fact.machine.as_str())?;
    id("quantity", fact.quantity.as_str())?;
    must(fact.value.is_finite(), || {
        Refusal::new("value", "the value is not a number", "the number as the instrument shows it")
    })?;
    line("unit", &fact.unit)?;
    optional(fact.uncertainty, |value| {
        must(value.is_finite() && value >= 0.0, || {
            Refusal::new(
                "uncertainty",
                format!("an uncertainty of {value} cannot be"),
                "a number from 0 up, in the unit of the value",
            )
        })
    })?;
    optional(fact.slot.as_ref(), |slot| id("slot", slot.as_str()))?;
    text("method", &fact.method)?;
    list("conditions", fact.conditions.len())?;
    fact.conditions
        .iter()
        .try_for_each(|(key, value)| both(id("conditions", key), || text("conditions", value)))?;
    optional(fact.recording.as_ref(), |hash| sha_256("recording", hash))
}

fn showing_planned(fact: &ShowingPlanned) -> Checked {
    id("showing", fact.showing.as_str())?;
    name("title", &fact.title)?;
    must(fact.starts.time_zone().iana_name().is_some(), || {
        Refusal::new(
            "starts",
            "the start has no time zone",
            "with its zone, as in 2026-03-28T19:30[Europe/London]",
        )
    })?;
    must(fact.starts.date() >= FIRST_DAY && fact.starts.year() < 2200, || {
        let what = format!("no showing is on {}", fact.starts.date());
        Refusal::new("starts", what, "a day of our time, with the year in four figures")
    })?;
    showing_length("length_minutes", fact.length_minutes)?;
    optional(fact.place.as_ref(), |place| id("place", place.as_str()))?;
    list("machines", fact.machines.len())?;
    fact.machines.iter().try_for_each(assigned)?;
    list("prints", fact.prints.len())?;
    fact.prints.iter().try_for_each(|print| id("prints", print.as_str()))?;
    text("note", &fact.note)
}

fn assigned(assigned: &Assigned) -> Checked {
    id("machines", assigned.machine.as_str())?;
    optional(assigned.running_hours, |hours| run_length("running_hours", hours))
}

fn plan_pinned(fact: &PlanPinned) -> Checked {
    id("machine", fact.machine.as_str())?;
    optional(fact.showing.as_ref(), |showing| id("showing", showing.as_str()))?;
    optional(fact.task.as_ref(), |task| id("task", task.as_str()))?;
    let refuse = |field, what: &str| {
        Err(Refusal::new(field, what, "a showing at which the machine runs, or a care task and its day"))
    };
    match (&fact.showing, &fact.task, fact.on) {
        (None, None, _) => refuse("showing", "the pin does not say what it fixes"),
        (Some(_), Some(_), _) => refuse("task", "one pin cannot fix a showing and a care task"),
        (Some(_), None, Some(_)) => refuse("on", "a showing has its day already"),
        (None, Some(_), None) => refuse("on", "the pin does not say on which day the care is done"),
        _ => text("note", &fact.note),
    }
}

fn programme_kept(fact: &ProgrammeKept) -> Checked {
    id("programme", fact.programme.as_str())?;
    name("title", &fact.title)?;
    list("items", fact.items.len())?;
    must(!fact.items.is_empty(), || {
        Refusal::new("items", "the programme shows nothing", "at least one item with a reel")
    })?;
    list("items", fact.items.iter().map(|item| item.reels.len()).sum())?;
    fact.items.iter().try_for_each(programme_item)?;
    list("showings", fact.showings.len())?;
    fact.showings.iter().try_for_each(|showing| id("showings", showing.as_str()))?;
    list("machines", fact.machines.len())?;
    fact.machines.iter().try_for_each(|machine| id("machines", machine.as_str()))?;
    let times = [
        ("run_up_seconds", fact.run_up_seconds),
        ("relace_seconds", fact.relace_seconds),
        ("interval_seconds", fact.interval_seconds),
    ];
    for (field, time) in times {
        optional(time, |time| {
            between(field, time.seconds(), 0.0, rules::LONGEST_PAUSE.seconds(), "seconds")
        })?;
    }
    text("note", &fact.note)
}

fn programme_item(item: &ProgrammeItem) -> Checked {
    name("items", &item.title)?;
    name("items", &item.gauge)?;
    line("items", &item.sound)?;
    line("items", &item.cues)?;
    optional(item.print.as_ref(), |print| id("items", print.as_str()))?;
    must(rules::is_film_speed(item.speed_fps), || {
        let what = format!("“{}” cannot be shown at {}", item.title, item.speed_fps);
        Refusal::new("items", what, "from 1 to 120 frames a second; sound film runs at 24")
    })?;
    must(!item.reels.is_empty() && item.reels.iter().all(rules::is_reel_count), || {
        let what = format!("“{}” has no reel, or one without a picture", item.title);
        Refusal::new("items", what, "the frames of each reel: one of picture at least, and none below zero")
    })
}

fn stock_counted(fact: &StockCounted) -> Checked {
    id("item", fact.item.as_str())?;
    optional(fact.name.as_ref(), |said| name("name", said))?;
    optional(fact.slot.as_ref(), |slot| id("slot", slot.as_str()))?;
    optional(fact.kept_in.as_ref(), |said| line("kept_in", said))?;
    optional(fact.only_in.as_ref(), |said| name("only_in", said))
}

fn stock_ordered(fact: &StockOrdered) -> Checked {
    id("order", fact.order.as_str())?;
    id("item", fact.item.as_str())?;
    times("count", fact.count)?;
    line("supplier", &fact.supplier)?;
    optional(fact.expected, |day| {
        must(day >= FIRST_DAY && day.year() < 2200, || {
            let what = format!("nothing is expected on {day}");
            Refusal::new("expected", what, "a day of our time, with the year in four figures")
        })
    })?;
    text("note", &fact.note)
}

/// Checks a number of things that were handled: one at least.
fn some(field: &'static str, count: u32) -> Checked {
    must(count > 0, || Refusal::new(field, "none is no number to write down", "1 or more"))?;
    times(field, count)
}

fn about(about: &About) -> Checked {
    let name = match about {
        About::Machine(id) => id.as_str(),
        About::Part(id) => id.as_str(),
        About::Print(id) => id.as_str(),
        About::Place(id) => id.as_str(),
        About::Showing(id) => id.as_str(),
    };
    id("about", name)
}

fn corrects(fact: &Corrects, own: EntryId, now: When) -> Checked {
    not_itself(fact.entry, own)?;
    text("why", &fact.why)?;
    must(!matches!(*fact.with, Fact::Corrects(_) | Fact::Withdraws(_)), || {
        Refusal::new(
            "with",
            "a correction cannot hold another correction or a withdrawal",
            "what the entry should have said; to take it back, withdraw it",
        )
    })?;
    optional(fact.happened, |at| {
        moment("happened", at)?;
        must(at.unix_ms <= now.unix_ms.saturating_add(rules::CLOCK_SKEW_MS), || {
            Refusal::new("happened", "the corrected moment lies in the future", "a moment up to now")
        })
    })?;
    check(&fact.with, own, now)
}

fn not_itself(entry: EntryId, own: EntryId) -> Checked {
    must(entry != own, || {
        Refusal::new("entry", "an entry cannot settle itself", "the id of the entry that was wrong")
    })
}
