//! How a coming showing stands: the chance of a stoppage, what weighs, what to do.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use axum::extract::{Path, RawQuery};
use maud::html;
use views::{Place, html as show_as};

/// Shows the outlook of a showing.
pub async fn show(visit: Visit, Path(id): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let written = typed.get("minutes");
    let minutes = written.map(|text| text.replace(',', ".").parse::<f64>());
    let (minutes, refusal) = match minutes {
        None => (None, None),
        Some(Ok(minutes)) if (0.0..=1440.0).contains(&minutes) => (Some(minutes), None),
        Some(_) => (None, Some("Write minutes from 0 to 1440, such as 20.")),
    };
    let answer = booth::outlook(visit.booth(), visit.library(), &visit.now, visit.beliefs(), &id, minutes)
        .map_err(|unknown| {
            Trouble::not_found(format!("{unknown}."), "Look for it in the diary.")
                .way(Place::Diary.href(), "Diary")
        })?;
    let sheet = views::outlook::sheet(&answer, visit.booth());
    let main = html! {
        (show_as::sheet(&sheet))
        form.ask method="get" {
            label for="minutes" { "Minutes there are for work" }
            input #minutes name="minutes" inputmode="decimal" value=(format!("{:.0}", answer.value.minutes.floor()))
                aria-describedby=[refusal.map(|_| "minutes-refused")];
            @if let Some(refusal) = refusal { p.problem #minutes-refused { (refusal) } }
            button { "Reckon again" }
        }
        p.ways { a href=(Place::Showing(answer.value.id.clone()).href()) { "The showing" } a href=(Place::Tonight.href()) { "Tonight" } }
    };
    Ok(layout::page(&visit, Section::Tonight, &sheet.title, &main))
}
