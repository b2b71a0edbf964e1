//! Tonight: where one begins.

use crate::{
    layout::{self, Section},
    trouble::Answered,
    visit::Visit,
};
use axum::response::{IntoResponse, Redirect};
use booth::TonightShowing;
use maud::{Markup, html};
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
        h1 { (sheet.title) }
        @if let Some(next) = answer.value.this_evening.first().filter(|next| next.is_near()) { (now_ways(next)) }
        (show_as::blocks(&sheet.blocks))
        @if let Some(words) = views::stores::no_spare(&case) { p #no-spare { (show_as::words(&words)) } }
        p.ways {
            a href=(Place::NewShowing.href()) { "Add a showing" }
            a href=(Place::Diary.href()) { "Diary" }
        }
    };
    Ok(layout::page(&visit, Section::Tonight, &sheet.title, &main))
}

/// The last hours before a showing: each machine's walk and the show itself, large and first.
fn now_ways(next: &TonightShowing<'_>) -> Markup {
    html! {
        nav.now-ways aria-label="Now" {
            @for machine in next.machines.iter().filter(|machine| machine.kind.is_some() && machine.may_run) {
                a.button.main[machine.n_before_left() > 0] data-walk=(machine.id)
                    href=(Place::Walk(machine.id.clone(), "before-showing".to_owned()).href()) { "Walk " (machine.name()) }
            }
            a.button #run-now href={ (Place::Showing(next.id.clone()).href()) "/show" } { "Run the show" }
        }
    }
}
