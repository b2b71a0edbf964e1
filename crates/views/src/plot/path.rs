//! The film path of a machine as a drawing: the film a smooth line along the parts it touches, each part in its place
//! with its number and its state.

use super::{coordinate as c, shapes};
use crate::address::Place;
use crate::sheet::{Picture, Table};
use crate::words::{Mark, Words};
use logbook::ids::{MachineId, SlotId};
use machine::{DRAWING_HEIGHT, DRAWING_WIDTH, DrawnPlace, FilmSide};
use maud::{Markup, html};

/// One part as it is to be drawn.
#[derive(Clone, PartialEq, Debug)]
pub struct Drawn {
    /// Its slot.
    pub slot: SlotId,
    /// Its number in the order of the type file, from 1.
    pub number: usize,
    /// Its name.
    pub name: String,
    /// How it stands.
    pub mark: Mark,
    /// Where it stands.
    pub place: DrawnPlace,
}

/// Half of the least target that a thumb hits, in drawing units: 48 pixels across where a unit is a pixel.
const HALF_TARGET: f64 = 24.0;

/// The same where the whole drawing is as wide as a phone: 1000 units on some 350 pixels.
const HALF_TARGET_FAR: f64 = 68.0;

/// Draws the film path of a machine.
pub fn film_path(title: &str, machine: &MachineId, parts: &[Drawn]) -> Picture {
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (DRAWING_WIDTH) " " (DRAWING_HEIGHT) }
            width=(DRAWING_WIDTH) height=(DRAWING_HEIGHT) class="path" role="group" aria-label=(title)
            font-family="sans-serif" font-size="15" {
            @for part in parts.iter().filter(|part| !part.place.on_film) { (one_part(machine, part, room(part, parts))) }
            (film(parts))
            @for part in parts.iter().filter(|part| part.place.on_film) { (one_part(machine, part, room(part, parts))) }
        }
    };
    Picture { title: title.to_owned(), svg, twin: twin(title, machine, parts), wide: true }
}

/// Returns how far a part's target may reach without reaching into its nearest neighbour's.
fn room(part: &Drawn, parts: &[Drawn]) -> f64 {
    let apart = |other: &Drawn| {
        (f64::from(other.place.x) - f64::from(part.place.x))
            .hypot(f64::from(other.place.y) - f64::from(part.place.y))
    };
    let others = parts.iter().filter(|other| other.slot != part.slot);
    others.map(|other| apart(other) / 2.0).fold(HALF_TARGET_FAR, f64::min)
}

fn film(parts: &[Drawn]) -> Markup {
    let line = film_line(parts.iter().map(|part| &part.place));
    html! {
        path.film d=(line) fill="none" stroke="#000" stroke-width="9" stroke-linejoin="round" {}
        path.perforations d=(line) fill="none" stroke="#fff" stroke-width="3" stroke-dasharray="3 7" {}
    }
}

/// Returns the film as path data: a smooth curve that touches each part on its side, along that side.
pub fn film_line<'a>(places: impl Iterator<Item = &'a DrawnPlace>) -> String {
    let knots: Vec<(f64, f64, FilmSide)> = places
        .filter(|place| place.on_film)
        .map(|place| {
            let (x, y) = place.touch_point();
            (x, y, place.side)
        })
        .collect();
    let Some((first, _)) = knots.split_first() else { return String::new() };
    let mut line = format!("M{} {}", c(first.0), c(first.1));
    for at in 1..knots.len() {
        let (from, to) = (knots[at - 1], knots[at]);
        let reach = (to.0 - from.0).hypot(to.1 - from.1) / 3.0;
        let (leaving, arriving) = (direction(&knots, at - 1), direction(&knots, at));
        line.push_str(&format!(
            " C{} {} {} {} {} {}",
            c(from.0 + leaving.0 * reach),
            c(from.1 + leaving.1 * reach),
            c(to.0 - arriving.0 * reach),
            c(to.1 - arriving.1 * reach),
            c(to.0),
            c(to.1)
        ));
    }
    line
}

/// Returns the direction of the film at a knot, as a unit vector: along the side that it touches, onwards.
fn direction(knots: &[(f64, f64, FilmSide)], at: usize) -> (f64, f64) {
    let before = knots[at.saturating_sub(1)];
    let after = knots[(at + 1).min(knots.len() - 1)];
    let (dx, dy) = (after.0 - before.0, after.1 - before.1);
    let length = dx.hypot(dy);
    if length < f64::EPSILON {
        return (0.0, 0.0);
    }
    match knots[at].2 {
        FilmSide::Over | FilmSide::Under if dx.abs() > length * 0.2 => (dx.signum(), 0.0),
        FilmSide::Left | FilmSide::Right if dy.abs() > length * 0.2 => (0.0, dy.signum()),
        _ => (dx / length, dy / length),
    }
}

fn one_part(machine: &MachineId, part: &Drawn, room: f64) -> Markup {
    let place = &part.place;
    let (x, y, size) = (f64::from(place.x), f64::from(place.y), f64::from(place.size));
    let target = (size / 2.0).max(HALF_TARGET);
    let words = format!("{} {}: {}", part.number, part.name, part.mark.word());
    html! {
        a class={ "part mark-" (part.mark.name()) } href=(Place::Part(machine.clone(), part.slot.clone()).href())
            data-slot=(part.slot) data-mark=(part.mark.name()) aria-label=(words) {
            title { (words) }
            circle.hit cx=(c(x)) cy=(c(y)) r=(c(target)) fill="none" pointer-events="all" {}
            circle.hit-far cx=(c(x)) cy=(c(y)) r=(c(room)) fill="none" pointer-events="all" {}
            (shapes::shape(place.shape, x, y, size))
            text.number x=(c(x)) y=(c(y + 5.0)) text-anchor="middle" fill="#000" { (part.number) }
            @if !part.mark.is_calm() && part.mark != Mark::NoRecord { (badge(part.mark, x, y, size)) }
        }
    }
}

/// A state's sign at the upper right of its part.
fn badge(mark: Mark, x: f64, y: f64, size: f64) -> Markup {
    let reach = (size / 2.0).clamp(14.0, 60.0) * 0.8;
    html! {
        circle.badge cx=(c(x + reach)) cy=(c(y - reach)) r="11" fill="#fff" stroke="#000" stroke-width="1.5" {}
        text.sign x=(c(x + reach)) y=(c(y - reach + 5.0)) text-anchor="middle" font-size="14" fill="#000" {
            (mark.sign())
        }
    }
}

fn twin(title: &str, machine: &MachineId, parts: &[Drawn]) -> Table {
    let mut table = Table::new(title, &["#", "Part", "State"], "This type of machine names no parts.");
    for part in parts {
        let cells = vec![
            part.number.to_string().into(),
            Words::new().link(Place::Part(machine.clone(), part.slot.clone()), &part.name),
            Words::new().mark(part.mark),
        ];
        table.push(cells, vec![("slot", part.slot.to_string())]);
    }
    table
}
