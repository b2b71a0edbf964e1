//! One entry with its corrections.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    visit::Visit,
};
use axum::extract::Path;
use logbook::{Entry, EntryId, Fact};
use maud::{Markup, html};
use store::{Stored, hex};
use views::{Place, entry::Names, wording};

/// Shows one entry.
pub async fn show(visit: Visit, Path(entry): Path<String>) -> Answered {
    let stored = find(&visit, &entry)?;
    let one = &stored.chained.entry;
    let names = Names { booth: visit.booth(), library: visit.library() };
    let settled_by = visit.desk.store().settlements(one.id)?;
    let title = views::entry::kind_name(one.fact.kind());
    let main = html! {
        h1 { (title) }
        p.lead data-entry=(one.id) { (views::entry::in_words(&one.fact, names)) }
        @for later in &settled_by { (settlement(&visit, later, names)) }
        @if let Some(earlier) = store::settled_by(&one.fact) {
            p { "This settles " a href=(Place::Entry(earlier).href()) { "an earlier entry" } "." }
        }
        (photos(&one.fact))
        (recording(&one.fact))
        (particulars(&visit, &stored))
        details { summary { "As it is written" } pre { code { (as_written(&one.fact)) } } }
        (ways(one, &settled_by))
    };
    Ok(layout::page(&visit, Section::Logbook, title, &main))
}

/// Finds an entry by the id in the address.
pub fn find(visit: &Visit, entry: &str) -> Result<Stored, Trouble> {
    let not_there = || {
        Trouble::not_found(
            format!("There is no entry \"{entry}\" in this logbook."),
            "Look for it in the logbook.",
        )
        .way("/logbook", "Logbook")
    };
    let id: EntryId = entry.parse().map_err(|_| not_there())?;
    visit.desk.store().get(id)?.ok_or_else(not_there)
}

fn settlement(visit: &Visit, later: &Entry, names: Names<'_>) -> Markup {
    let what = if matches!(later.fact, Fact::Withdraws(_)) { "Taken back" } else { "Corrected" };
    html! {
        p.done-notice data-settled-by=(later.id) {
            strong { (what) } " on " a href=(Place::Entry(later.id).href()) { (wording::moment(later.recorded, visit.today())) }
            ": " (views::entry::in_words(&later.fact, names))
        }
    }
}

fn photos(fact: &Fact) -> Markup {
    html! {
        @if !fact.photos().is_empty() {
            div.photos { @for name in fact.photos() {
                a href=(Place::Attachment(name.clone()).href()) {
                    img src=(Place::Attachment(name.clone()).href()) alt="Photo that came with this entry" loading="lazy";
                }
            } }
        }
    }
}

/// The way to the recording behind a reading, with its plots.
fn recording(fact: &Fact) -> Markup {
    let page = match fact {
        Fact::Reading(reading) => reading.recording.as_deref().and_then(|recording| {
            super::sound_trend::recording_page(&reading.machine, reading.quantity.as_str(), recording)
        }),
        Fact::Corrects(corrects) => return recording(&corrects.with),
        _ => None,
    };
    html! { @if let Some(page) = page { p.ways { a #recording href=(page) { "The recording, with its plots" } } } }
}

fn particulars(visit: &Visit, stored: &Stored) -> Markup {
    let (chained, today) = (&stored.chained, visit.today());
    let entry = &chained.entry;
    html! {
        dl.facts {
            div { dt { "Happened" } dd { (wording::moment(entry.happened, today)) } }
            div { dt { "Written down" } dd { (wording::moment(entry.recorded, today)) } }
            div { dt { "By" } dd { (views::common::person_name(visit.booth(), &entry.by)) } }
            div { dt { "Id" } dd { code { (entry.id) } } }
            div { dt { "Number" } dd { (chained.number) " of device " code { (entry.device) } } }
            div { dt { "Hash" } dd { code { (hex(&chained.hash)) } } }
        }
    }
}

/// The body as JSON, laid out to be read.
fn as_written(fact: &Fact) -> String {
    let (_, _, body) = logbook::wire::encode_fact(fact);
    let value: serde_json::Value = serde_json::from_str(&body).unwrap_or(serde_json::Value::Null);
    serde_json::to_string_pretty(&value).unwrap_or(body)
}

fn ways(entry: &Entry, settled_by: &[Entry]) -> Markup {
    let withdrawn = settled_by.iter().any(|later| matches!(later.fact, Fact::Withdraws(_)));
    let may_be_settled = !withdrawn && store::settled_by(&entry.fact).is_none();
    html! {
        p.ways {
            @if may_be_settled {
                a #correct href={ (Place::Entry(entry.id).href()) "/correct" } { "Correct it or take it back" }
            }
            a href="/logbook" { "Logbook" }
        }
    }
}
