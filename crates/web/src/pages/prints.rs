//! The prints: the list, one print with its reels drawn, its condition report, and its coming and going.

use super::form_frame;
use crate::{
    fields::{self, Problem},
    forms::{self, Ask, Form},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use ::logbook::PrintId;
use axum::{
    extract::{Path, RawQuery},
    http::StatusCode,
    response::Response,
};
use booth::prints::{self as question, PrintSheet};
use maud::{Markup, html};
use std::sync::Arc;
use views::{Place, html as show_as};

/// Lists the prints.
pub async fn list(visit: Visit) -> Answered {
    let rows = question::prints(visit.booth(), visit.library());
    let main = html! {
        (show_as::sheet(&views::prints::list(&rows, visit.today())))
        p.ways { a href="/log/print-added" { "Add a print" } }
    };
    Ok(layout::page(&visit, Section::Prints, "Prints", &main))
}

/// Finds a print by the address.
pub(super) fn find<'v>(visit: &'v Visit, id: &str) -> Result<PrintSheet<'v>, Trouble> {
    question::print_sheet(visit.booth(), visit.library(), &PrintId::new(id)).ok_or_else(|| {
        Trouble::not_found(format!("There is no print \"{id}\" in this booth."), "Choose one of the prints.")
            .way(Place::Prints.href(), "Prints")
    })
}

/// The address of the bench page of a reel.
pub(super) fn bench(id: &PrintId, reel: u32) -> String {
    format!("{}/reels/{reel}", Place::Print(id.clone()).href())
}

/// Shows one print.
pub async fn show(visit: Visit, Path(id): Path<String>) -> Answered {
    let print = find(&visit, &id)?;
    let address = Place::Print(print.id.clone()).href();
    let sheet = views::prints::sheet(&print, visit.booth(), visit.today());
    let main = html! {
        (show_as::sheet(&sheet))
        p.ways {
            @for reel in &print.reels {
                a data-inspect=(reel.reel.reel) href=(bench(print.id, reel.reel.reel)) { "Inspect reel " (reel.reel.reel) }
            }
            a href=(Place::PrintHandled(print.id.clone(), Vec::new()).href()) { "Arrived, rewound, mended, sent" }
            a href={ (address) "/report" } { "Condition report" }
            a href={ "/logbook?about=" (views::address::escaped(print.id.as_str())) } { "In the logbook" }
        }
    };
    Ok(layout::page(&visit, Section::Prints, &sheet.title, &main))
}

/// Shows the condition report, as it goes to paper.
pub async fn report(visit: Visit, Path(id): Path<String>) -> Answered {
    let print = find(&visit, &id)?;
    let sheet = views::prints::report(&print, visit.booth(), visit.today());
    let main = html! {
        p.ways { a href=(Place::Print(print.id.clone()).href()) { "Back to the print" } }
        (show_as::sheet(&sheet))
    };
    Ok(layout::page(&visit, Section::Prints, &sheet.title, &main))
}

fn form() -> &'static Form {
    forms::of_kind("print-handled").expect("a test sees that every kind has a form")
}

/// Asks what was done with a print; what the address knows is filled in.
pub async fn handled(visit: Visit, Path(id): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let print = find(&visit, &id)?;
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    Ok(handled_page(&visit, &print, &typed, &[], StatusCode::OK))
}

fn handled_page(
    visit: &Visit,
    print: &PrintSheet<'_>,
    typed: &Typed,
    problems: &[Problem],
    status: StatusCode,
) -> Response {
    let ask = Ask::of(visit);
    let asked: Vec<_> = (form().fields)(&ask).into_iter().filter(|field| field.key != "print").collect();
    let which = fields::Field::new("which_reels", "With which reels", fields::Kind::Line)
        .hint("Left empty: all of them. Else for example 1, 2.");
    let main: Markup = html! {
        p { a href=(Place::Print(print.id.clone()).href()) { (print.print.title) } }
        h1 { "Arrived, rewound, mended, sent" }
        (fields::problems(problems))
        form.entry method="post" action=(Place::PrintHandled(print.id.clone(), Vec::new()).href()) data-form="print-handled" novalidate {
            input type="hidden" name="print" value=(print.id);
            (fields::show(&asked, typed, problems))
            (fields::show_one(&which, typed, problems))
            (form_frame(visit, typed, problems))
            button.main type="submit" { "Write it down" }
        }
    };
    layout::page_with(visit, Some(Section::Prints), "A print on its way", &main, status)
}

/// Takes what was done with a print.
pub async fn take_handled(visit: Visit, Path(id): Path<String>, mut posted: Posted) -> Answered {
    posted.typed.set_if_missing("print", || id.clone());
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let print = find(&visit, &id)?;
    match write::form_in_background(&visit, form(), &posted).await {
        Ok(entry) => Ok(write::onwards(&visit, &posted.typed, entry, &Place::Print(print.id.clone()).href())),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            Ok(handled_page(&visit, &print, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}
