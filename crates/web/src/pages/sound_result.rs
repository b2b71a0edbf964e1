//! What one recording says, and the way of its readings into the logbook.

use super::{
    form_frame,
    sound::blocking,
    sound_bench::{Asked, Found, Measure, no_reading},
};
use crate::{
    fields::{self, Problem},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use booth::{
    DueItem, due_for,
    sound::{Noted, Weighed, facts, weighed},
};
use logbook::{Draft, EntryId, Fact, MachineId, booth::ReadingRecord, ids::SlotId};
use machine::MachineType;
use maud::{Markup, html};
use std::{collections::BTreeMap, sync::Arc};
use store::AttachmentId;
use views::{Place, html as show_as, sound::Known};

/// The tick that makes readings the machine's baseline.
const BASELINE: &str = "baseline";

/// What is asked in an address.
fn asked_in(visit: &Visit, typed: &Typed) -> Result<Asked, Trouble> {
    Asked::read(visit, typed).map_err(|problems| {
        let words: Vec<String> = problems.into_iter().map(|problem| problem.words).collect();
        Trouble::not_understood(words.join(" "), "Choose on the page what is measured.")
            .way("/sound", "Sound")
    })
}

/// What a recording that is kept says: measured now, unless it was of late.
fn measured(visit: &Visit, recording: &str, asked: &Asked) -> Result<Arc<Found>, Trouble> {
    let id: AttachmentId = recording.parse()?;
    let (recent, name) = (visit.desk.measured(), asked.name_with(visit, id));
    if let Some(found) = recent.get(&name) {
        return Ok(found);
    }
    let mut file = visit.desk.attachments().open(id)?;
    let found = asked.measure(&mut file, asked.about(visit).1).map_err(|error| no_reading(&error, asked))?;
    Ok(recent.keep(name, found))
}

/// The figures against the machine's limits.
fn against_limits<'v>(visit: &'v Visit, asked: &Asked, found: &Found) -> Vec<Weighed<'v>> {
    match asked.about(visit) {
        (machine, Some(kind)) => weighed(found.figures(), kind, machine),
        (_, None) => Vec::new(),
    }
}

fn known<'k>(
    visit: &'k Visit,
    asked: &'k Asked,
    weighed: &'k [Weighed<'k>],
    due: &'k [DueItem<'k>],
) -> Known<'k> {
    Known { machine: asked.machine.as_ref(), kind: asked.about(visit).1, weighed, due }
}

/// What care of the machine is due.
fn due_of<'v>(visit: &'v Visit, asked: &Asked) -> Vec<DueItem<'v>> {
    let due = |id: &MachineId| due_for(visit.booth(), visit.library(), id.as_str(), &visit.now).ok();
    asked.machine.as_ref().and_then(due).map_or_else(Vec::new, |answer| answer.value)
}

/// Shows what a recording says.
pub async fn show(visit: Visit, Path(recording): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let asked = asked_in(&visit, &Typed::from_query(query.as_deref().unwrap_or("")))?;
    blocking(move || {
        let found = measured(&visit, &recording, &asked)?;
        let about = About { visit: &visit, recording: &recording, asked: &asked, found: &found };
        Ok(about.page(&Typed::default(), &[], StatusCode::OK))
    })
    .await
}

/// Gives the figures of a recording as JSON, as the command line does.
pub async fn figures(visit: Visit, Path(recording): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let asked = asked_in(&visit, &Typed::from_query(query.as_deref().unwrap_or("")))?;
    blocking(move || {
        let found = measured(&visit, &recording, &asked)?;
        let weighed = against_limits(&visit, &asked, &found);
        let due = due_of(&visit, &asked);
        let json = found.json(&asked, &known(&visit, &asked, &weighed, &due));
        Ok(([(header::CONTENT_TYPE, "application/json")], json.to_string()).into_response())
    })
    .await
}

/// A recording that was measured, about to be shown.
struct About<'a> {
    visit: &'a Visit,
    recording: &'a str,
    asked: &'a Asked,
    found: &'a Found,
}

impl About<'_> {
    fn page(&self, typed: &Typed, problems: &[Problem], status: StatusCode) -> Response {
        let Self { visit, recording, asked, found } = self;
        let (machine, kind) = asked.about(visit);
        let weighed = against_limits(visit, asked, found);
        let due = due_of(visit, asked);
        let sheet = found.sheet(asked, &known(visit, asked, &weighed, &due));
        let figures =
            format!("/sound/recordings/{}/figures{}", views::address::escaped(recording), asked.query());
        let main = html! {
            @if let (Some(id), Some(machine)) = (&asked.machine, machine) {
                p { a href=(Place::Machine(id.clone()).href()) { (machine.name) } }
            }
            div.found data-figures=(figures) data-measure=(asked.measure.word()) { (show_as::sheet(&sheet)) }
            (self.writing(kind, &weighed, typed, problems))
            (self.ways(&weighed))
        };
        let scripts = ["/assets/sound-plot.js"];
        layout::page_with_scripts(visit, Some(Section::Sound), &sheet.title, &main, status, &scripts)
    }

    /// The form that writes the readings down.
    fn writing(
        &self,
        kind: Option<&MachineType>,
        weighed: &[Weighed<'_>],
        typed: &Typed,
        problems: &[Problem],
    ) -> Markup {
        let readings: Vec<&Weighed<'_>> = weighed.iter().filter(|one| one.limit.is_some()).collect();
        let Some(machine) = self.asked.machine.as_ref().filter(|_| kind.is_some()) else {
            return html! { p.quiet { "Name the machine to write this in its logbook." } };
        };
        if readings.is_empty() {
            return html! { p.quiet { "The machine type has no reading of this kind; nothing to write down." } };
        }
        let earlier = self.written_before(machine, &readings);
        html! {
            h2 #write { "Write it in the logbook" }
            (fields::problems(problems))
            @if !earlier.is_empty() {
                p.done-notice { "Readings of this recording stand in the logbook already: "
                    @for (at, entry) in &earlier { a href=(Place::Entry(*entry).href()) { (at) } " " } }
            }
            form.entry method="post" action={ "/sound/recordings/" (self.recording) "/write" } data-form="sound-reading" novalidate {
                ul.plain { @for one in &readings {
                    li data-quantity=(one.measured.key()) {
                        (one.name()) ": "
                        strong { (views::sound::figure(&one.measured)) }
                    }
                } }
                @for (name, value) in self.asked.hidden() { input type="hidden" name=(name) value=(value); }
                @for one in &readings { (self.id_field(one, typed)) }
                (conditions(&readings, typed))
                div.field {
                    label.tick for="field-baseline" {
                        input #field-baseline type="checkbox" name=(BASELINE) value="yes" checked[typed.get(BASELINE).is_some()];
                        span { "This is the baseline: later readings are compared with it" }
                    }
                }
                (form_frame(self.visit, typed, problems))
                button.main type="submit" { "Write it in the logbook" }
            }
        }
    }

    /// Readings of this recording that stand already.
    fn written_before(&self, machine: &MachineId, readings: &[&Weighed<'_>]) -> Vec<(String, EntryId)> {
        let own = self.visit.booth().machines.get(machine.as_str());
        let records = own.into_iter().flat_map(|machine| &machine.readings);
        let same = records.filter(|one| {
            one.recording.as_deref() == Some(self.recording)
                && readings.iter().any(|reading| reading.measured.quantity == one.quantity.as_str())
        });
        same.map(|one| (views::wording::moment(one.at, self.visit.today()), one.entry)).collect()
    }

    fn id_field(&self, one: &Weighed<'_>, typed: &Typed) -> Markup {
        let name = id_field(one.measured.quantity, one.part.map(|part| part.id.as_str()));
        let id = typed.get(&name).map_or_else(|| self.visit.desk.new_id().to_string(), str::to_owned);
        html! { input type="hidden" name=(name) value=(id); }
    }

    fn ways(&self, weighed: &[Weighed<'_>]) -> Markup {
        let Self { asked, recording, .. } = self;
        html! {
            p.ways {
                a href={ "/sound" (asked.query()) } { "Another recording" }
                @if let Some(machine) = &asked.machine {
                    @for one in weighed.iter().filter(|one| has_trend(self.visit, machine, one)) {
                        a href=(super::sound_trend::address_of(machine, one.measured.quantity, slot_of(one))) {
                            "Trend: " (one.name())
                        }
                    }
                }
                a href=(Place::Attachment((*recording).to_owned()).href()) { "The recording itself" }
            }
            details {
                summary { "Measure something else in it" }
                p.ways { @for other in Measure::ALL.into_iter().filter(|one| *one != asked.measure) {
                    a href={ "/sound/recordings/" (recording) "?measure=" (other.word())
                        @if let Some(machine) = &asked.machine { "&machine=" (views::address::escaped(machine.as_str())) } } { (other.name()) }
                } }
            }
        }
    }
}

fn slot_of<'w>(weighed: &Weighed<'w>) -> Option<&'w str> {
    weighed.part.map(|part| part.id.as_str())
}

fn has_trend(visit: &Visit, machine: &MachineId, weighed: &Weighed<'_>) -> bool {
    let read = |one: &ReadingRecord| {
        one.quantity.as_str() == weighed.measured.quantity
            && one.slot.as_ref().map(SlotId::as_str) == slot_of(weighed)
    };
    visit.booth().machines.get(machine.as_str()).is_some_and(|machine| machine.readings.iter().any(read))
}

/// The name of the field for the id of a reading's entry.
fn id_field(quantity: &str, slot: Option<&str>) -> String {
    slot.map_or_else(|| format!("id-of-{quantity}"), |slot| format!("id-of-{quantity}-of-{slot}"))
}

/// The name of the field for a condition.
fn condition_field(words: &str) -> String {
    format!("condition-{words}")
}

/// What the limits want to know and the recording does not show.
fn conditions(readings: &[&Weighed<'_>], typed: &Typed) -> Markup {
    html! {
        @for (n, words) in wanted_conditions(readings).iter().enumerate() {
            div.field {
                label for={ "field-condition-" (n) } { (capital(words)) span.quiet { " (optional)" } }
                input id={ "field-condition-" (n) } type="text" name=(condition_field(words)) autocomplete="off"
                    value=(typed.raw(&condition_field(words)).unwrap_or(""));
            }
        }
    }
}

fn wanted_conditions(readings: &[&Weighed<'_>]) -> Vec<String> {
    let mut wanted: Vec<String> = Vec::new();
    let all = readings.iter().flat_map(|one| one.limit.into_iter().flat_map(|limit| &limit.conditions));
    for words in all {
        if !wanted.contains(words) {
            wanted.push(words.clone());
        }
    }
    wanted
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

/// Writes the readings of a recording down, measured once more, all or none.
pub async fn write(visit: Visit, Path(recording): Path<String>, posted: Posted) -> Answered {
    let asked = asked_in(&visit, &posted.typed)?;
    blocking(move || {
        let (visit, found) = (&visit, measured(&visit, &recording, &asked)?);
        match put_down(visit, &recording, &asked, &found, &posted.typed) {
            Ok(entry) => {
                let onwards = match found.figures().first().zip(asked.machine.as_ref()) {
                    Some((figure, machine)) => super::sound_trend::address_of(machine, figure.quantity, None),
                    None => asked.page_of(&recording),
                };
                Ok(write::onwards(visit, &posted.typed, entry, &onwards))
            }
            Err(NotWritten::Trouble(trouble)) => Err(*trouble),
            Err(NotWritten::Problems(problems)) => {
                let about = About { visit, recording: &recording, asked: &asked, found: &found };
                Ok(about.page(&posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
            }
        }
    })
    .await
}

fn put_down(
    visit: &Visit,
    recording: &str,
    asked: &Asked,
    found: &Found,
    typed: &Typed,
) -> Result<EntryId, NotWritten> {
    let (machine, kind) = (asked.machine.clone(), asked.about(visit).1);
    let (Some(machine), Some(kind)) = (machine, kind) else {
        let words = "Name a machine whose type is known here.";
        return Err(NotWritten::Problems(vec![Problem::new("machine", words)]));
    };
    let noted = Noted {
        machine,
        recording: Some(recording.to_owned()),
        baseline: typed.get(BASELINE).is_some(),
        conditions: said_conditions(visit, asked, found, typed),
    };
    let (facts, _) = facts(&found.figures(), kind, &noted);
    let with_ids: Vec<(EntryId, Fact)> = facts
        .into_iter()
        .map(|fact| Ok((entry_id(&fact, typed)?, fact)))
        .collect::<Result<_, NotWritten>>()?;
    let Some(first) = with_ids.first().map(|(id, _)| *id) else {
        let words = "The machine type has no reading of this kind.";
        return Err(NotWritten::Problems(vec![Problem::new("", words)]));
    };
    // Sent twice: it stands already, under the same ids.
    if visit.desk.store().get(first)?.is_some() {
        return Ok(first);
    }
    let (by, happened) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    let device = visit.desk.device();
    let draft = |(id, fact)| Draft { id, device, happened, by: by.clone(), fact };
    write::put_down(visit, &with_ids.into_iter().map(draft).collect::<Vec<_>>())?;
    Ok(first)
}

fn entry_id(fact: &Fact, typed: &Typed) -> Result<EntryId, NotWritten> {
    let field = match fact {
        Fact::Reading(reading) => {
            id_field(reading.quantity.as_str(), reading.slot.as_ref().map(SlotId::as_str))
        }
        _ => String::new(),
    };
    typed.get(&field).and_then(|id| id.parse().ok()).ok_or_else(|| {
        Trouble::not_understood(
            "This form has lost the ids of its entries.",
            "Open the recording's page again.",
        )
        .into()
    })
}

fn said_conditions(visit: &Visit, asked: &Asked, found: &Found, typed: &Typed) -> BTreeMap<String, String> {
    let weighed = against_limits(visit, asked, found);
    let wanted = wanted_conditions(&weighed.iter().collect::<Vec<_>>());
    let said = |words: String| Some((typed.get(&condition_field(&words))?.to_owned(), words));
    wanted.into_iter().filter_map(said).map(|(value, words)| (words, value)).collect()
}
