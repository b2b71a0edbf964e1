//! Due: of all machines, or of one.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use axum::extract::RawQuery;
use maud::html;
use views::html as show_as;

/// How many machines are offered to choose from.
const MOST_CHOICES: usize = 60;

/// Shows what is due.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let answer = match typed.get("machine") {
        Some(machine) => booth::due_for(visit.booth(), visit.library(), machine, &visit.now)
            .map_err(|_| Trouble::no_machine(machine))?,
        None => booth::due(visit.booth(), visit.library(), &visit.now),
    };
    let sheet = views::due::sheet(&answer, visit.booth(), visit.today());
    let machines: Vec<_> = visit.booth().machines.iter().filter(|(_, one)| one.retired.is_none()).collect();
    let main = html! {
        (show_as::sheet(&sheet))
        @if (2..=MOST_CHOICES).contains(&machines.len()) {
            p.ways {
                a href="/due" { "All machines" }
                @for (id, machine) in machines {
                    a href={ "/due?machine=" (views::address::escaped(id.as_str())) } { (machine.name) }
                }
            }
        }
    };
    Ok(layout::page(&visit, Section::Due, &sheet.title, &main))
}
