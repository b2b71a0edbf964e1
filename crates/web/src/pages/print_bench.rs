//! The rewind bench: one reel is inspected, finding by finding, on a phone that may have no connection.
//!
//! Each finding is one line of text, so that the form works without a script; with one, large buttons write the lines,
//! and what is written stays on the device until the server has it.

use super::{
    prints::{bench, find},
    unseen_fields,
    walk::as_json,
    writer_field,
};
use crate::{
    fields::{self, Field, Kind, Problem},
    forms::{
        self, Ask, Form,
        prints::{FOUND, GAUGED},
    },
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use axum::{extract::Path, http::StatusCode, response::Response};
use booth::prints::{PrintSheet, ReelSheet, told};
use maud::{Markup, html};
use std::sync::Arc;
use views::Place;

/// What the large buttons write after the place, and what they say.
const BUTTONS: [(&str, &[(&str, &str)]); 4] = [
    (
        "Splice",
        &[
            ("splice tape holds", "Tape, holds"),
            ("splice tape weak", "Tape, weak"),
            ("splice cement holds", "Cement, holds"),
            ("splice cement weak", "Cement, weak"),
            ("splice weld holds", "Weld, holds"),
        ],
    ),
    (
        "Perforations",
        &[
            ("perforations 1", "1 worn"),
            ("perforations 2", "2 cracked"),
            ("perforations 3", "3 some torn"),
            ("perforations 4", "4 torn in a row"),
        ],
    ),
    (
        "Scratch",
        &[
            ("scratch base light", "Base, light"),
            ("scratch base heavy", "Base, heavy"),
            ("scratch emulsion light", "Emulsion, light"),
            ("scratch emulsion heavy", "Emulsion, heavy"),
        ],
    ),
    ("Else", &[("tear", "Tear"), ("burn", "Burn"), ("warp", "Warp"), ("dirt", "Dirt"), ("oil", "Oil")]),
];

fn form() -> &'static Form {
    forms::of_kind("print-inspected").expect("a test sees that every kind has a form")
}

fn reel_of<'s, 'v>(print: &'s PrintSheet<'v>, reel: u32) -> Result<&'s ReelSheet<'v>, Trouble> {
    print.reels.iter().find(|known| known.reel.reel == reel).ok_or_else(|| {
        let words = format!("\"{}\" has no reel {reel}.", print.print.title);
        Trouble::not_found(words, "Choose one of its reels.")
            .way(Place::Print(print.id.clone()).href(), print.print.title.clone())
    })
}

/// Shows the bench page of a reel.
pub async fn show(visit: Visit, Path((id, reel)): Path<(String, u32)>) -> Answered {
    let print = find(&visit, &id)?;
    let reel = reel_of(&print, reel)?;
    let mut typed = Typed::default();
    // What film is made of does not change; everything else is looked at anew.
    if let Some(last) = reel.last {
        let body = forms::body_of(&as_known(last).into());
        for field in ["base", "edge", "spool"] {
            if let Some(known) = body.get(field).and_then(serde_json::Value::as_str) {
                typed.push(field, known);
            }
        }
    }
    Ok(page(&visit, &print, reel, &typed, &[], StatusCode::OK))
}

/// What the last inspection said that need not be said again.
fn as_known(last: &::logbook::booth::Inspection) -> ::logbook::fact::PrintInspected {
    ::logbook::fact::PrintInspected {
        print: "".into(),
        reel: last.reel,
        length_m: None,
        base: last.base,
        edge: last.edge,
        shrinkage: Vec::new(),
        acid_level: None,
        vinegar: None,
        fade: None,
        leader: None,
        wound: None,
        spool: last.spool.clone(),
        found: Vec::new(),
        note: String::new(),
        photos: Vec::new(),
    }
}

/// Takes an inspection.
pub async fn take(visit: Visit, Path((id, reel)): Path<(String, u32)>, mut posted: Posted) -> Answered {
    posted.typed.set_if_missing("print", || id.clone());
    posted.typed.set_if_missing("reel", || reel.to_string());
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let print = find(&visit, &id)?;
    let reel = reel_of(&print, reel)?;
    let address = Place::Print(print.id.clone()).href();
    match write::form_in_background(&visit, form(), &posted).await {
        Ok(entry) if posted.wants_json => Ok(as_json(StatusCode::OK, &serde_json::json!({ "entry": entry }))),
        Ok(entry) => {
            let at = format!("{address}#reel-{}", reel.reel.reel);
            Ok(write::onwards(&visit, &posted.typed, entry, &at))
        }
        Err(NotWritten::Problems(problems)) if !posted.wants_json => {
            Ok(page(&visit, &print, reel, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
        Err(refused) => {
            let back = (bench(print.id, reel.reel.reel), "Back to the bench");
            let right = "Open the reel's bench page and say it another way.";
            Err(refused.on_a_page("Not written down", right, back))
        }
    }
}

fn page(
    visit: &Visit,
    print: &PrintSheet<'_>,
    reel: &ReelSheet<'_>,
    typed: &Typed,
    problems: &[Problem],
    status: StatusCode,
) -> Response {
    let ask = Ask::of(visit);
    let asked = (form().fields)(&ask);
    let of = |keys: &'static [&'static str]| -> Vec<&Field> {
        keys.iter().filter_map(|key| asked.iter().find(|field| field.key == *key)).collect()
    };
    let number = reel.reel.reel;
    let address = Place::Print(print.id.clone()).href();
    let main = html! {
        link rel="stylesheet" href="/assets/bench.css";
        p { a href=(address) { (print.print.title) } }
        h1 { "Inspect reel " (number) }
        ul.cautions { @for caution in views::prints::CAUTIONS { li { (caution) } } }
        (fields::problems(problems))
        form.entry #bench-form method="post" action=(bench(print.id, number)) data-form="print-inspected"
            data-onwards={ (address) "#reel-" (number) } data-words={ (print.print.title) ", reel " (number) } novalidate {
            input type="hidden" name="print" value=(print.id);
            input type="hidden" name="reel" value=(number);
            h2 { "Before winding" }
            @for field in of(&["edge", "base"]) { (fields::show_one(field, typed, problems)) }
            (yes_or_no("vinegar", "Does it smell of vinegar?", typed))
            h2 { "Along the reel" }
            (findings(print, reel, typed, problems))
            h2 { "Measured" }
            p.hint { "Shrinkage as the gauge shows it, 0.7 %; or the length of 100 perforations in a row, for example 756.7 mm." }
            div.three {
                @for (key, label) in GAUGED { (fields::show_one(&Field::new(key, label, Kind::Line), typed, problems)) }
            }
            @for field in of(&["length_m", "acid_level", "fade"]) { (fields::show_one(field, typed, problems)) }
            h2 { "Put away" }
            (yes_or_no("leader", "Is there a leader to thread by?", typed))
            @for field in of(&["wound", "spool", "note"]) { (fields::show_one(field, typed, problems)) }
            (writer_field(visit, typed, problems))
            (unseen_fields(visit, typed))
            p.ways { button.main type="submit" { "Keep this inspection" } }
            p.kept #bench-kept hidden { "Kept on this device. It is sent as soon as there is a connection." }
        }
    };
    let title = format!("Inspect reel {number}");
    layout::page_with_scripts(visit, Some(Section::Prints), &title, &main, status, &["/assets/bench.js"])
}

fn yes_or_no(key: &'static str, label: &str, typed: &Typed) -> Markup {
    let choices = [("yes", "Yes"), ("no", "No")].map(|(value, words)| fields::Choice::new(value, words));
    fields::show_one(&Field::new(key, label, Kind::Pick(choices.to_vec())), typed, &[])
}

/// The place, the buttons, and the lines that they write.
fn findings(print: &PrintSheet<'_>, reel: &ReelSheet<'_>, typed: &Typed, problems: &[Problem]) -> Markup {
    let lines = Field::new(FOUND, "What was found, one to a line", Kind::Paragraph).hint(
        "Place and finding: 12.4 m splice tape weak; 48 ft + 12 to 50 ft perforations 4: sound side; 60 ft scratch emulsion light 3.1 mm.",
    );
    let known = reel.last.zip(print.gauge).map(|(last, gauge)| {
        last.found.iter().map(|found| told::finding_line(found, gauge)).collect::<Vec<_>>()
    });
    html! {
        div.bench-place hidden {
            div {
                label for="bench-at" { "At" }
                input #bench-at type="text" autocomplete="off" placeholder="40 ft + 12, or 12.4 m";
            }
            div {
                label for="bench-to" { "To " span.quiet { "(if it goes on)" } }
                input #bench-to type="text" autocomplete="off";
            }
        }
        p.problem #bench-problem role="status" {}
        div.bench-buttons hidden {
            @for (group, buttons) in BUTTONS {
                fieldset {
                    legend { (group) }
                    @for (line, words) in buttons { button type="button" data-line=(line) { (words) } }
                }
            }
        }
        (fields::show_one(&lines, typed, problems))
        @if let Some(known) = known.filter(|known| !known.is_empty()) {
            details.bench-known {
                summary { "Found last time" }
                p.quiet { "Add what is still there." }
                ul { @for line in known { li { span { (line) } " " button type="button" hidden data-whole=(line) { "Still there" } } } }
            }
        }
    }
}
