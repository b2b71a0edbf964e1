//! The machines at a glance.

use crate::{
    layout::{self, Section},
    trouble::Answered,
    typed::Typed,
    visit::Visit,
};
use axum::extract::RawQuery;
use maud::html;
use views::html as show_as;

/// From so many machines on the page offers to search them by name.
const MANY: usize = 12;

/// Shows every machine, or those whose name has the words that are looked for.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let wanted = typed.get("name").unwrap_or("").to_lowercase();
    let mut answer = booth::machines(visit.booth(), visit.library(), &visit.now);
    let many = answer.value.len() > MANY;
    answer
        .value
        .retain(|row| row.machine.name.to_lowercase().contains(&wanted) || row.id.as_str().contains(&wanted));
    let sheet = views::machines::sheet(&answer, visit.booth(), visit.today());
    let main = html! {
        (show_as::sheet(&sheet))
        @if many {
            form.search method="get" action="/machines" role="search" {
                div.words {
                    div.field { label for="name" { "Find a machine by name" } input #name type="search" name="name" value=(wanted); }
                    button type="submit" { "Search" }
                }
            }
        }
        p.ways { a href="/log/machine-added?back=/machines" { "Add a machine" } }
    };
    Ok(layout::page(&visit, Section::Machines, &sheet.title, &main))
}
