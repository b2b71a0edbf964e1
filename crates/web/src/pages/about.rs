//! What this is; the list of all ways; and where there is nothing.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    visit::Visit,
};
use maud::html;

/// Shows what the program is and what it keeps.
pub async fn show(visit: Visit) -> Answered {
    let booth = visit.booth();
    let main = html! {
        h1 { "About Boothwright" }
        p.lead { "Keeps a booth's machines fit and its programmes on the screen: what was done, what is due, what to do before the doors open." }
        p { "Everything is kept in one folder on this computer, and nothing is sent anywhere. Every entry stays as it was written; "
            "a correction is another entry that names it." }
        p { "Local codes and licensed practice come first. What a qualified technician must do, this tool does not tell an operator to do: it is passed on." }
        p { "Nothing here is called good: a part is up to date when its care is written down, and that is all that a logbook can know." }
        h2 { "This booth" }
        dl.facts {
            div { dt { "Machines" } dd { (booth.machines.len()) } }
            div { dt { "Showings" } dd { (booth.showings.len()) } }
            div { dt { "Time zone" } dd { (booth.settings.zone) } }
            div { dt { "Program" } dd { "Boothwright " (env!("CARGO_PKG_VERSION")) } }
        }
        h2 { "Machine types known here" }
        ul.plain { @for kind in visit.library().iter() { li { strong { (kind.name) } " " span.quiet { (kind.words) } } } }
        p.ways { a href="/log/booth-named?back=/about" { "Change the booth's name or customs" } a href="/log/person-added?back=/about" { "Add a person" } }
    };
    Ok(layout::page(&visit, Section::About, "About", &main))
}

/// Shows every way around.
pub async fn more(visit: Visit) -> Answered {
    let main = html! { h1 { "More" } (layout::all_ways()) };
    Ok(layout::page_with(&visit, None, "More", &main, axum::http::StatusCode::OK))
}

/// There is no page at this address.
pub async fn nothing_here() -> Answered {
    Err(Trouble::not_found("There is no page at this address.", "Go on from one of these.")
        .way("/machines", "Machines")
        .way("/logbook", "Logbook"))
}
