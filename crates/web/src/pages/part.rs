//! One part in a machine's film path.

use super::film_path::not_known;
use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    visit::Visit,
};
use axum::extract::Path;
use logbook::{MachineId, ids::SlotId};
use maud::{Markup, html};
use views::{Place, html as show_as};

/// Shows a part: what it does, its care, its life, its faults, what happened.
pub async fn show(visit: Visit, Path((machine, slot)): Path<(String, String)>) -> Answered {
    let booth = visit.booth();
    let answer = booth::film_path(booth, visit.library(), &machine, &visit.now)
        .map_err(|error| not_known(&error, &machine))?;
    let path = &answer.value;
    let part = path.slot(&slot).ok_or_else(|| {
        Trouble::not_found(
            format!("{} has no part \"{slot}\".", path.about.name),
            "Choose one along its film path.",
        )
        .way(Place::FilmPath(path.machine.clone()).href(), "Film path")
    })?;
    let sheet = views::film_path::part_sheet(path, part, booth, visit.today());
    let history =
        booth::history(booth, &machine, Some(&slot)).map_err(|error| not_known(&error, &machine))?;
    let lines = views::machines::history(&history.value, booth, visit.today());
    let at = path.slots.iter().position(|one| one.part.id == part.part.id).unwrap_or(0);
    let step = |to: usize| {
        path.slots.get(to).map(|other| {
            (Place::Part(path.machine.clone(), SlotId::new(other.part.id.as_str())).href(), &other.part.name)
        })
    };
    let kind = booth.machines.get(path.machine).map(|machine| machine.machine_type.as_str());
    let lives = kind
        .filter(|kind| visit.library().get(kind).is_some_and(|kind| kind.lives_of(&slot).next().is_some()));
    let lives = lives.map(|kind| Place::PartLives(kind.to_owned(), SlotId::new(slot.as_str())));
    let main = html! {
        p { a href=(Place::FilmPath(path.machine.clone()).href()) { (path.about.name) ": film path" }
            span.quiet { " · " (at + 1) " of " (path.slots.len()) } }
        (show_as::sheet(&sheet))
        h2 #what-happened { "What happened here" }
        (show_as::table(&lines))
        (ways(path.machine, &slot, lives))
        @if let Some(item) = booth::stores::kept_for(booth, path.machine, path.kind, &slot) {
            p.ways { a #spares href=(Place::StoreItem(item).href()) { "Spares of it" } }
        }
        nav.row aria-label="Along the film" {
            @if let Some((href, name)) = at.checked_sub(1).and_then(step) { a.way rel="prev" href=(href) { "← " (name) } }
            @if let Some((href, name)) = step(at + 1) { a.way rel="next" href=(href) { (name) " →" } }
        }
    };
    Ok(layout::page(&visit, Section::FilmPath, &sheet.title, &main))
}

fn ways(machine: &MachineId, slot: &str, lives: Option<Place>) -> Markup {
    let back = Place::Part(machine.clone(), SlotId::new(slot)).href();
    let form = |kind: &str| {
        let filled = [("machine", machine.as_str()), ("slot", slot), ("back", &back)];
        let filled = filled.map(|(key, value)| (key.to_owned(), value.to_owned())).to_vec();
        Place::LogKind(kind.to_owned(), filled).href()
    };
    html! {
        p.ways {
            a href=(form("part-fitted")) { "A part was fitted" }
            a href=(form("fault-opened")) { "Something is wrong here" }
            a href=(form("reading")) { "A reading" }
            @if let Some(lives) = lives { a href=(lives.href()) { "How long it lasts" } }
        }
    }
}
