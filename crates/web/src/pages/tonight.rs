//! Tonight: where one begins.

use crate::{
    layout::{self, Section},
    trouble::Answered,
    visit::Visit,
};
use axum::response::{IntoResponse, Redirect};
use maud::html;
use views::{Place, html as show_as};

/// Shows the coming showings; a logbook without a booth is asked the first questions.
pub async fn show(visit: Visit) -> Answered {
    if visit.booth().settings.name.is_empty() && visit.booth().machines.is_empty() {
        return Ok(Redirect::to(&Place::FirstRun.href()).into_response());
    }
    let present = visit.present();
    let answer = present.tonight();
    let outlooks = present.outlooks(visit.beliefs(), None);
    let sheet = views::tonight::sheet(&answer, &outlooks, visit.booth());
    let case = present.case();
    let main = html! {
        (show_as::sheet(&sheet))
        @if let Some(words) = views::stores::no_spare(&case) { p #no-spare { (show_as::words(&words)) } }
        p.ways {
            a href=(Place::NewShowing.href()) { "Add a showing" }
            a href=(Place::Diary.href()) { "Diary" }
            a #wrong href=(Place::NewFault(None).href()) { "Something is wrong" }
        }
    };
    Ok(layout::page(&visit, Section::Tonight, &sheet.title, &main))
}
