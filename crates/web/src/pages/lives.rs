//! How long parts last: all at a glance, and one with its curve.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use axum::extract::{Path, RawQuery};
use booth::{
    Answer, NotKnown, PartLives,
    parts_lives::{DARK_MINUTE_WORTH, Only, read_dark_minute},
};
use maud::{Markup, html};
use views::{Place, html as show_as};

/// Shows how long the parts of all machines last.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let dark = DarkMinute::of(query.as_deref());
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
    let dark = DarkMinute::of(query.as_deref());
    let only = Only { kind: Some(kind.as_str()), slot: Some(slot.as_str()) };
    let answer = asked(&visit, only, &dark)?;
    let sheet = views::parts_lives::part_sheet(&answer, visit.booth());
    let main = html! {
        p { a href=(Place::Lives.href()) { "Parts and lives" } }
        (show_as::sheet(&sheet))
        (dark.form())
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

/// What a minute of dark screen is worth in minutes of work.
struct DarkMinute {
    worth: f64,
    refusal: Option<&'static str>,
}

impl DarkMinute {
    fn of(query: Option<&str>) -> Self {
        let typed = Typed::from_query(query.unwrap_or(""));
        match typed.get("dark").map(read_dark_minute) {
            None => Self { worth: DARK_MINUTE_WORTH, refusal: None },
            Some(Ok(worth)) => Self { worth, refusal: None },
            Some(Err(_)) => Self {
                worth: DARK_MINUTE_WORTH,
                refusal: Some("Write minutes of work from 0.1 to 1000, such as 10."),
            },
        }
    }

    fn form(&self) -> Markup {
        html! {
            form.ask method="get" {
                label for="dark" { "A minute of dark screen is worth so many minutes of work" }
                input #dark name="dark" inputmode="decimal" value=(self.worth)
                    aria-describedby=[self.refusal.map(|_| "dark-refused")];
                @if let Some(refusal) = self.refusal { p.problem #dark-refused { (refusal) } }
                button { "Reckon again" }
            }
        }
    }
}
