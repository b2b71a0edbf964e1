//! The film path of a machine: the way in.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    visit::Visit,
};
use axum::{
    extract::Path,
    response::{IntoResponse, Redirect},
};
use booth::{FilmPath, NotKnown, WalkKind};
use logbook::ids::SlotId;
use maud::{Markup, html};
use views::{Mark, Place, html as show_as};

/// How many machines are offered to choose from; beyond them one searches by name.
const MOST_CHOICES: usize = 60;

/// Shows the machines to choose one; a single one is chosen already.
pub async fn choose(visit: Visit) -> Answered {
    let machines: Vec<_> = visit.booth().machines.iter().filter(|(_, one)| one.retired.is_none()).collect();
    if let [(id, _)] = machines.as_slice() {
        return Ok(Redirect::to(&Place::FilmPath((*id).clone()).href()).into_response());
    }
    let main = html! {
        h1 { "Film path" }
        p { "Of which machine?" }
        ul.choices {
            @for (id, machine) in machines.iter().take(MOST_CHOICES) {
                li { a href=(Place::FilmPath((*id).clone()).href()) data-machine=(id) {
                    strong { (machine.name) }
                    span { (visit.library().get(machine.machine_type.as_str()).map_or("type not known here", |kind| &kind.name)) }
                } }
            }
        }
        p.ways {
            @if machines.len() > MOST_CHOICES { a href="/machines" { "All machines" } }
            a href="/log/machine-added?back=/path" { "Add a machine" }
        }
    };
    Ok(layout::page(&visit, Section::FilmPath, "Film path", &main))
}

/// Shows the drawing, and the parts in the order in which film meets them.
pub async fn show(visit: Visit, Path(machine): Path<String>) -> Answered {
    let answer = booth::film_path(visit.booth(), visit.library(), &machine, &visit.now)
        .map_err(|error| not_known(&error, &machine))?;
    let sheet = views::film_path::sheet(&answer, visit.today());
    let path = &answer.value;
    let main = html! {
        h1 { (sheet.title) }
        (show_as::blocks(&sheet.blocks[..1]))
        p.ways {
            a href=(Place::Walk(path.machine.clone(), "before-showing".to_owned()).href()) { "Walk it" }
            a href="#along" { "The parts as a list" }
        }
        (show_as::blocks(&sheet.blocks[1..]))
        (legend())
        h2 #walks { "Walk it" }
        p.ways {
            @for walk in WalkKind::ALL {
                a href=(Place::Walk(path.machine.clone(), walk.as_str().to_owned()).href()) data-walk=(walk.as_str()) {
                    (views::walk::name(*walk))
                }
            }
        }
        h2 #along { "Along the film" }
        (along(path))
        p.ways { a href=(Place::Machine(path.machine.clone()).href()) { "All of " (path.about.name) } }
    };
    Ok(layout::page(&visit, Section::FilmPath, &sheet.title, &main))
}

/// A machine that is not there, or whose type is not known here.
pub fn not_known(error: &NotKnown, machine: &str) -> Trouble {
    if matches!(error, NotKnown::Machine { .. }) {
        return Trouble::no_machine(machine);
    }
    let words = error.to_string();
    let (what, right) = words.split_once("; ").unwrap_or((&words, ""));
    Trouble::not_found(format!("{what}."), format!("Here {right}."))
        .way(format!("/machines/{}", views::address::escaped(machine)), "The machine")
}

fn legend() -> Markup {
    html! {
        ul.legend aria-label="Signs" {
            @for mark in Mark::ALL.into_iter().filter(|mark| !mark.is_calm() && *mark != Mark::NotForUse) {
                li { (show_as::mark_with(mark, mark.word())) }
            }
        }
    }
}

/// The film path straightened: one row for each part.
fn along(path: &FilmPath<'_>) -> Markup {
    html! {
        ol.along {
            @for (at, slot) in path.slots.iter().enumerate() {
                @let new_group = at == 0 || path.slots[at - 1].part.group != slot.part.group;
                @let mark = Mark::from(slot.state);
                li class=[slot.part.place.on_film.then_some("on-film")] {
                    @if new_group { h3 { (slot.part.group.name()) } }
                    a href=(Place::Part(path.machine.clone(), SlotId::new(slot.part.id.as_str())).href())
                        data-slot=(slot.part.id) data-mark=(mark.name()) {
                        span.at { (at + 1) }
                        span { (slot.part.name) }
                        (show_as::mark_with(mark, mark.word()))
                    }
                }
            }
        }
    }
}
