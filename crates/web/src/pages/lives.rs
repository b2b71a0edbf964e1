//! How long parts last: all at a glance, and one with its curve.

use crate::{
    dark_minute::DarkMinute,
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use axum::extract::{Path, RawQuery};
use booth::{Answer, NotKnown, PartLives, parts_lives::Only};
use maud::html;
use views::{Place, html as show_as};

/// Shows how long the parts of all machines last.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let dark = DarkMinute::of(&Typed::from_query(query.as_deref().unwrap_or("")));
    let answer = asked(&visit, Only::default(), &dark)?;
    let sheet = views::parts_lives::sheet(&answer, visit.booth());
    let main = html! {
        (show_as::sheet(&sheet))
        p.ways { a href=(Place::Machines.href()) { "Machines" } a href=(Place::Due.href()) { "Due" } }
    };
    Ok(layout::page(&visit, Section::Lives, &sheet.title, &main))
}

/// Shows how long the parts of one slot last, in machines of a type.
pub async fn part(
    visit: Visit,
    Path((kind, slot)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Answered {
    let dark = DarkMinute::of(&Typed::from_query(query.as_deref().unwrap_or("")));
    let only = Only { kind: Some(kind.as_str()), slot: Some(slot.as_str()) };
    let answer = asked(&visit, only, &dark)?;
    let sheet = views::parts_lives::part_sheet(&answer, visit.booth());
    let main = html! {
        p { a href=(Place::Lives.href()) { "Parts and lives" } }
        (show_as::sheet(&sheet))
        form.ask method="get" {
            (dark.field())
            button { "Reckon again" }
        }
    };
    Ok(layout::page(&visit, Section::Lives, &sheet.title, &main))
}

fn asked<'v>(
    visit: &'v Visit,
    only: Only<'_>,
    dark: &DarkMinute,
) -> Result<Answer<Vec<PartLives<'v>>>, Trouble> {
    booth::parts_lives(visit.booth(), visit.library(), &visit.now, visit.beliefs(), only, dark.worth)
        .map_err(|unknown| not_known(&unknown))
}

fn not_known(unknown: &NotKnown) -> Trouble {
    Trouble::not_found(format!("{unknown}."), "Choose a part from the list.")
        .way(Place::Lives.href(), "Parts and lives")
}
