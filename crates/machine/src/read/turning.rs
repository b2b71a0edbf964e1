//! `[[rotating]]`: what turns, and by what.

use super::circle::in_circles;
use super::form::{Allowed, Form, listed};
use super::names::Names;
use crate::turning::{BallBearing, RotatingPart, Turning};
use std::collections::HashMap;
use std::ops::Range;
use units::{Hertz, Metres};

/// The largest diameter, pulley or belt, in millimetres.
const LARGEST: Allowed = Allowed::Positive { most: 5000.0 };
/// The fastest shaft, in turns per second, and the largest ratio.
const FASTEST: Allowed = Allowed::Positive { most: 1000.0 };

/// The keys of which exactly one says what makes the part turn.
const WAYS: [&str; 7] = ["film_driven", "sprocket", "shaft", "driven", "belt", "motor", "spool"];

pub(super) fn rotating(top: &Form<'_, '_>, names: &Names<'_>) -> Vec<RotatingPart> {
    let mut parts = Vec::new();
    let mut places = Vec::new();
    for mut form in top.forms("rotating") {
        places.push(form.at.clone());
        parts.push(rotating_part(&mut form, names));
        form.finish();
    }
    note_circles(top, &parts, &places);
    parts
}

fn rotating_part(form: &mut Form<'_, '_>, names: &Names<'_>) -> RotatingPart {
    let id = form.named("rotating part");
    RotatingPart {
        slot: form.reference("part", &names.parts),
        name: form.text("name"),
        how: turning(form, names),
        slips: form.flag("slips"),
        harmonics: harmonics(form),
        passes_per_turn: form.maybe_whole("passes_per_turn", 2, 200),
        bearing: bearing(form),
        tells: form.text("tells"),
        source: form.source(names),
        id,
    }
}

fn turning(form: &Form<'_, '_>, names: &Names<'_>) -> Turning {
    let given: Vec<&'static str> = WAYS.into_iter().filter(|key| form.has(key)).collect();
    let fallback = Turning::Shaft { turns_per_frame: 1.0 };
    let way = match given.as_slice() {
        [way] => *way,
        [] => {
            let what = format!("{} does not say what makes it turn", form.what);
            form.note("id", what, format!("add one of {}", listed(WAYS.into_iter())));
            return fallback;
        }
        [_, second, ..] => {
            form.note(second, format!("{} is turned in two ways", form.what), "keep one of them");
            return fallback;
        }
    };
    let Some(table) = form.maybe_form(way, format!("`{way}` of {}", form.what)) else { return fallback };
    let turning = way_of(way, &table, names);
    table.finish();
    turning
}

fn way_of(way: &str, table: &Form<'_, '_>, names: &Names<'_>) -> Turning {
    let length = |key| Metres::from_millimetres(table.number(key, LARGEST));
    match way {
        "film_driven" => Turning::FilmDriven { diameter: length("diameter_mm") },
        "sprocket" => Turning::Sprocket { teeth: table.whole("teeth", 4, 200) },
        "shaft" => Turning::Shaft { turns_per_frame: table.number("turns_per_frame", FASTEST) },
        "driven" => Turning::Driven {
            by: table.reference("by", &names.rotating),
            turns_per_turn: table.number("turns_per_turn", FASTEST),
        },
        "belt" => Turning::Belt {
            on: table.reference("on", &names.rotating),
            pulley: length("pulley_mm"),
            length: length("length_mm"),
        },
        "motor" => Turning::Motor {
            at_50_hz: Hertz::new(table.number("hz_on_50", FASTEST)),
            at_60_hz: table.maybe_number("hz_on_60", FASTEST).map(Hertz::new),
        },
        _ => spool(table, length("hub_mm"), length("full_mm")),
    }
}

fn spool(table: &Form<'_, '_>, hub: Metres, full: Metres) -> Turning {
    if hub > Metres::ZERO && full > Metres::ZERO && full <= hub {
        table.note(
            "full_mm",
            "a full spool that is no larger than its hub",
            "write the diameter of a full spool",
        );
    }
    Turning::Spool { end: table.word("end"), hub, full }
}

fn harmonics(form: &Form<'_, '_>) -> Vec<u32> {
    let range = Allowed::Whole { least: 2, most: 40 };
    let values = form.list("harmonics").into_iter();
    values.filter_map(|value| form.number_in("harmonics", value, range)).map(|n| n as u32).collect()
}

fn bearing(form: &Form<'_, '_>) -> Option<BallBearing> {
    let table = form.maybe_form("bearing", format!("`bearing` of {}", form.what))?;
    let bearing = BallBearing {
        balls: table.whole("balls", 3, 100),
        ball_to_pitch: table.number("ball_to_pitch", Allowed::Between { least: 0.01, most: 0.9 }),
    };
    table.finish();
    Some(bearing)
}

/// Notes each part whose chain of drivers comes round to itself.
fn note_circles(top: &Form<'_, '_>, parts: &[RotatingPart], places: &[Range<usize>]) {
    let place: HashMap<&str, usize> =
        parts.iter().enumerate().map(|(at, part)| (part.id.as_str(), at)).collect();
    let driver = |part: &RotatingPart| match &part.how {
        Turning::Driven { by: id, .. } | Turning::Belt { on: id, .. } => place.get(id.as_str()).copied(),
        _ => None,
    };
    let leads_to: Vec<Vec<usize>> = parts.iter().map(|part| driver(part).into_iter().collect()).collect();
    for (n, _) in in_circles(&leads_to).into_iter().enumerate().filter(|(_, circle)| *circle) {
        let what =
            format!("rotating part `{}` is driven by itself, straight or by way of others", parts[n].id);
        top.desk.note(&places[n], what, "let the chain of drivers end at film, a shaft or the motor");
    }
}
