//! Where the readings of a machine are heading.

use super::{
    film_path::not_known,
    sound_bench::{Asked, Measure},
};
use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::IntoResponse,
};
use booth::sound::{FLUTTER_LINE, Trend, quantities_read, trend, trends};
use logbook::{
    MachineId,
    booth::{Machine, ReadingRecord},
    ids::SlotId,
};
use maud::{Markup, html};
use views::{Place, address::escaped, html as show_as, sound::sentence, wording};

/// How a condition of a reading is named that keeps the deepest line of its recording.
const DEEPEST_LINE: &str = "line 1";

/// The address of all trends of a machine.
pub fn address(machine: &MachineId) -> String {
    format!("/machines/{}/trend", escaped(machine.as_str()))
}

/// The address of one trend; of a quantity that parts have of their own, with the slot of the part.
pub fn address_of(machine: &MachineId, quantity: &str, slot: Option<&str>) -> String {
    format!("{}/{}{}", address(machine), escaped(quantity), query_of(slot))
}

/// The field of an address that names the slot of a part.
const PART: &str = "part";

fn query_of(slot: Option<&str>) -> String {
    slot.map_or_else(String::new, |slot| format!("?{PART}={}", escaped(slot)))
}

/// The slot that an address names.
fn slot_in(query: Option<&str>) -> Option<String> {
    Typed::from_query(query.unwrap_or("")).get(PART).map(str::to_owned)
}

fn find<'v>(visit: &'v Visit, machine: &str) -> Result<(&'v MachineId, &'v Machine), Trouble> {
    visit.booth().machines.get_key_value(machine).ok_or_else(|| Trouble::no_machine(machine))
}

/// Shows every quantity of a machine that was read, and where each is heading; those with a date come first.
pub async fn choose(visit: Visit, Path(machine): Path<String>) -> Answered {
    let (id, about) = find(&visit, &machine)?;
    let mut trends = trends(visit.booth(), visit.library(), &machine, &visit.now)
        .map_err(|error| not_known(&error, &machine))?;
    trends.sort_by(|a, b| {
        let hours = |one: &Trend<'_>| one.forecast.map_or(f64::INFINITY, |forecast| forecast.early.in_hours);
        hours(&a.value).total_cmp(&hours(&b.value))
    });
    let title = format!("{}: where readings are heading", about.name);
    let main = html! {
        p { a href=(Place::Machine(id.clone()).href()) { (about.name) } }
        h1 { "Where readings are heading" }
        @if trends.is_empty() { p.empty { "No readings of this machine yet." } }
        div.cards { @for one in &trends { (card(id, &one.value, &visit)) } }
        p.ways { a href={ "/sound?machine=" (escaped(id.as_str())) } { "Record and measure" } }
    };
    Ok(layout::page(&visit, Section::Sound, &title, &main))
}

fn card(machine: &MachineId, trend: &Trend<'_>, visit: &Visit) -> Markup {
    let class = if trend.forecast.is_some() { "card card-soon" } else { "card" };
    html! {
        section class=(class) data-quantity=(trend.limit.quantity) data-slot=[trend.slot] {
            h3 {
                a href=(address_of(machine, trend.limit.quantity.as_str(), trend.slot.map(SlotId::as_str))) {
                    (trend.name())
                }
            }
            @if let Some(last) = trend.points.last() {
                p { (figure(last.reading)) span.quiet { " on " (wording::date(last.reading.at.date(), visit.today())) } }
            }
            p { (sentence(trend, visit.today())) }
        }
    }
}

/// Shows one trend: the sentence, the plot with its band, the recordings behind it.
pub async fn show(
    visit: Visit,
    Path((machine, quantity)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Answered {
    let slot = slot_in(query.as_deref());
    let answer = trend(visit.booth(), visit.library(), &machine, &quantity, slot.as_deref(), &visit.now)
        .map_err(|error| not_known(&error, &machine))?;
    let (id, about) = find(&visit, &machine)?;
    let sheet = views::sound::trend(&answer, visit.today());
    let (name, slot) = (answer.value.name(), answer.value.slot);
    let recordings: Vec<&ReadingRecord> = about
        .readings
        .iter()
        .rev()
        .filter(|one| one.quantity.as_str() == quantity && one.slot.as_ref() == slot)
        .filter(|one| one.recording.is_some())
        .collect();
    let main = html! {
        p { a href=(Place::Machine(id.clone()).href()) { (about.name) } " · "
            a href=(address(id)) { "where readings are heading" } }
        h1 { (name) }
        div data-trend=(quantity) data-figures={ (address_of(id, &quantity, None)) "/figures" (query_of(slot.map(SlotId::as_str))) } { (show_as::blocks(&sheet.blocks)) }
        @if !recordings.is_empty() {
            h2 #recordings { "Recordings" }
            ul.plain { @for one in recordings { (recording(id, one, &visit)) } }
        }
        (line_trends(&visit, id, about, &quantity, slot))
        p.ways {
            @if let Some(measure) = Measure::of_quantity(&quantity) {
                a href={ "/sound?measure=" (measure.word()) "&machine=" (escaped(id.as_str())) } { "Record and measure" }
            }
        }
    };
    let title = format!("{}: {name}", about.name);
    let scripts = ["/assets/sound-plot.js"];
    Ok(layout::page_with_scripts(&visit, Some(Section::Sound), &title, &main, StatusCode::OK, &scripts))
}

/// From flutter as a whole to the lines of its parts, and from one of them to the others.
fn line_trends(
    visit: &Visit,
    id: &MachineId,
    about: &Machine,
    quantity: &str,
    here: Option<&SlotId>,
) -> Markup {
    let kind = visit.library().get(about.machine_type.as_str());
    let of_flutter = Measure::of_quantity(quantity) == Some(Measure::Flutter);
    let slots = quantities_read(about).into_iter().filter(|(read, _)| read.as_str() == FLUTTER_LINE);
    let slots: Vec<&SlotId> =
        slots.filter_map(|(_, slot)| slot).filter(|slot| of_flutter && Some(*slot) != here).collect();
    let name = |slot: &SlotId| {
        kind.and_then(|kind| kind.part(slot.as_str()))
            .map_or_else(|| slot.to_string(), |part| part.name.clone())
    };
    html! {
        @if !slots.is_empty() {
            h2 #lines { "Lines of its parts" }
            p.ways { @for slot in slots {
                a href=(address_of(id, FLUTTER_LINE, Some(slot.as_str()))) { (name(slot)) }
            } }
        }
    }
}

/// Gives the figures of a trend as JSON, as the command line does.
pub async fn figures(
    visit: Visit,
    Path((machine, quantity)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Answered {
    let slot = slot_in(query.as_deref());
    let answer = trend(visit.booth(), visit.library(), &machine, &quantity, slot.as_deref(), &visit.now)
        .map_err(|error| not_known(&error, &machine))?;
    let json = views::sound::json::trend(&answer).to_string();
    Ok(([(header::CONTENT_TYPE, "application/json")], json).into_response())
}

/// A reading with its recording: when, how much, and the deepest line with its part.
fn recording(machine: &MachineId, reading: &ReadingRecord, visit: &Visit) -> Markup {
    let page = page_of(machine, reading);
    let line = reading.conditions.get(DEEPEST_LINE);
    html! {
        li data-recording=[reading.recording.as_deref()] {
            @if let Some(page) = page {
                a href=(page) { (wording::moment(reading.at, visit.today())) }
            } @else { (wording::moment(reading.at, visit.today())) }
            ": " strong { (figure(reading)) }
            @if reading.baseline { " (baseline)" }
            @if let Some(line) = line { br; span.quiet { "Deepest line: " (line) } }
        }
    }
}

/// The page of the recording behind a reading.
pub fn page_of(machine: &MachineId, reading: &ReadingRecord) -> Option<String> {
    recording_page(machine, reading.quantity.as_str(), reading.recording.as_deref()?)
}

/// The page of a recording on which a quantity is measured.
pub fn recording_page(machine: &MachineId, quantity: &str, recording: &str) -> Option<String> {
    let measure = Measure::of_quantity(quantity)?;
    Some(Asked::address(recording, measure, machine))
}

/// A reading as a person writes it: two figures of its doubt.
fn figure(reading: &ReadingRecord) -> String {
    let doubt = reading.uncertainty.unwrap_or(0.0);
    let decimals = if doubt > 0.0 { (1.0 - doubt.log10().floor()).clamp(0.0, 4.0) as usize } else { 2 };
    format!("{:.decimals$} {}", reading.value, machine::unit_as_read(&reading.unit))
}
