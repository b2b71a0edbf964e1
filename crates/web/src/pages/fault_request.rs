//! The repair request of a fault: to read aloud, to send, to print.

use super::fault::{machine_name, not_at_desk};
use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    visit::Visit,
};
use axum::extract::Path;
use booth::desk::find_fault;
use logbook::booth::RepairRequest;
use maud::{Markup, html};
use views::Place;

/// Shows the last request that was written.
pub async fn show(visit: Visit, Path(fault): Path<String>) -> Answered {
    let (id, known) = find_fault(visit.booth(), &fault).map_err(|error| not_at_desk(&error))?;
    let there = Place::Fault(id.clone());
    let Some(request) = known.requests.last() else {
        return Err(Trouble::not_found(
            "No repair request was written for this fault.",
            "Write it on the fault's page.",
        )
        .way(there.href(), "The fault"));
    };
    let person =
        visit.booth().people.get(&request.by).map_or(request.by.as_str(), |person| person.name.as_str());
    let main = html! {
        link rel="stylesheet" href="/assets/fault.css";
        h1 { "Repair request: " (machine_name(&visit, &known.machine)) }
        dl.facts {
            div { dt { "To" } dd { (request.to) } }
            div { dt { "From" } dd { (person) ", " (request.at.date()) } }
            div { dt { "Booth" } dd { (visit.booth().settings.name) } }
        }
        p.what #asked { (request.words) }
        (lines(request))
        p.ways { a href=(there.href()) { "The fault" } a href=(Place::Entry(request.entry).href()) { "Its entry" } a href=(Place::Faults.href()) { "Faults" } }
        p.quiet { "Print this page to put it on paper. Local codes and licensed practice come first." }
    };
    Ok(layout::page(&visit, Section::Faults, "Repair request", &main))
}

fn lines(request: &RepairRequest) -> Markup {
    html! {
        @for (head, lines) in [
            ("The machine", &request.about),
            ("What is noticed", &request.symptoms),
            ("What was looked at and tried", &request.tried),
            ("Not tried by the operator", &request.not_tried),
            ("Likely", &request.likely),
            ("Unlikely by what was seen, though nobody looked", &request.unlikely),
            ("Ruled out", &request.ruled_out),
            ("Last readings", &request.readings),
        ] {
            @if !lines.is_empty() {
                h2 { (head) }
                ul { @for line in lines { li { (line) } } }
            }
        }
    }
}
