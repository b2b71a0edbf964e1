//! All of one machine.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    visit::Visit,
};
use axum::extract::Path;
use logbook::MachineId;
use maud::{Markup, html};
use views::{Place, html as show_as, machines::MachineAnswers};

/// How many weeks of running the page draws.
const WEEKS: u16 = 26;

/// What one most often writes down about a machine.
const WRITTEN: [(&str, &str); 6] = [
    ("ran", "A run"),
    ("meter-read", "Hour meter"),
    ("part-fitted", "Part fitted"),
    ("reading", "Reading"),
    ("fault-opened", "Fault"),
    ("fitness-set", "May it be used?"),
];

/// Shows one machine.
pub async fn show(visit: Visit, Path(machine): Path<String>) -> Answered {
    let (booth, library) = (visit.booth(), visit.library());
    let not_there = |_| Trouble::no_machine(&machine);
    let sheet = booth::machine_sheet(booth, library, &machine, &visit.now).map_err(not_there)?;
    let weeks = booth::hours_by_week(booth, &machine, WEEKS, &visit.now).map_err(not_there)?;
    let history = booth::history(booth, &machine, None).map_err(not_there)?;
    let answers = MachineAnswers { sheet: &sheet, weeks: &weeks.value, history: &history.value };
    let shown = views::machines::machine_sheet(&answers, booth, visit.today());
    let main = html! {
        (show_as::sheet(&shown))
        (ways(sheet.value.id, sheet.value.kind.is_some()))
    };
    Ok(layout::page(&visit, Section::Machines, &shown.title, &main))
}

fn ways(machine: &MachineId, has_type: bool) -> Markup {
    let back = Place::Machine(machine.clone()).href();
    let form = |kind: &str| {
        let filled = [("machine", machine.to_string()), ("back", back.clone())];
        Place::LogKind(kind.to_owned(), filled.map(|(key, value)| (key.to_owned(), value)).to_vec()).href()
    };
    html! {
        p.ways {
            @if has_type { a #wrong href=(Place::NewFault(Some(machine.clone())).href()) { "Something is wrong" } }
            a href=(super::sound_trend::address(machine)) { "Where readings are heading" }
            a href={ "/sound?machine=" (machine) } { "Record the sound" }
        }
        h2 #write-down { "Write down" }
        p.ways {
            @if has_type {
                a href=(Place::FilmPath(machine.clone()).href()) { "Film path" }
                a href=(Place::Walk(machine.clone(), "before-showing".to_owned()).href()) { "Walk it" }
            }
            @for (kind, words) in WRITTEN { a href=(form(kind)) { (words) } }
        }
    }
}
