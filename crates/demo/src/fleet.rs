//! How the log begins: the booth, its people, halls and prints, and four machines with every part that is in them.

use crate::ZONE;
use crate::diary::Calendar;
use crate::dice::{Dice, Stream, rounded};
use crate::lamps::LampLife;
use crate::names::slot;
use crate::pen::{Hand, Pen, minutes_after};
use crate::prints::Title;
use crate::setting::{BENCH, Bird, DEPOT, HALLS, KEEPER, NESSARY, PEOPLE};
use jiff::civil::{DateTime, time};
use logbook::fact::{
    BoothNamed, MachineAdded, PartFitted, PersonAdded, PlaceAdded, PreferredUnits, PrintAdded, Reel,
};
use machine::{Library, MachineType, Part, PartGroup, Shape};
use std::collections::BTreeMap;
use units::Hours;

/// Writes the first morning: who, where, what.
pub(crate) fn open_the_log(
    pen: &mut Pen,
    calendar: &Calendar,
    titles: &[Title],
    library: &Library,
    lamps: &[LampLife],
    seed: u64,
) {
    let morning = calendar.start.at(9, 0, 0, 0);
    name_everything(pen, morning);
    for title in titles {
        add_print(pen, minutes_after(morning, 40), title);
    }
    let mut dice = Dice::new(seed, Stream::Fleet);
    for (bird, minutes) in Bird::ALL.into_iter().zip([60, 100, 140, 180]) {
        let at = minutes_after(morning, minutes);
        add_machine(pen, at, bird, calendar);
        let kind = kind_of(library, bird);
        let lamp = lamps.iter().find(|lamp| lamp.bird == bird).expect("every machine has a lamp");
        for part in kind.parts.iter().filter(|part| has_identity(part, bird)) {
            let fact = part_at_entry(bird, part, lamp, &mut dice);
            pen.write(minutes_after(at, 10), hand(), fact);
        }
    }
}

/// The type of one of the four machines.
pub(crate) fn kind_of(library: &Library, bird: Bird) -> &MachineType {
    library.get(bird.character().machine_type).expect("the demo's machines are of shipped types")
}

fn hand() -> Hand {
    Hand::laptop(KEEPER).later(60)
}

fn name_everything(pen: &mut Pen, morning: DateTime) {
    let named = BoothNamed {
        name: "Haldoray Islands touring cinema".to_owned(),
        zone: ZONE.to_owned(),
        night_ends: time(5, 0, 0, 0),
        units: PreferredUnits::Metric,
        invented: true,
    };
    pen.write(morning, hand(), named);
    for (person, name, role) in PEOPLE {
        let fact = PersonAdded { person: person.into(), name: name.to_owned(), role };
        // The keeper comes first: from then on it is the keeper who gives the roles.
        let minute = if person == KEEPER { 5 } else { 10 };
        pen.write(minutes_after(morning, minute), hand(), fact);
    }
    let halls = HALLS.iter().map(|hall| (hall.id, hall.name, hall.notes));
    for (place, name, notes) in halls.chain([BENCH, DEPOT]) {
        let fact = PlaceAdded { place: place.into(), name: name.to_owned(), notes: notes.to_owned() };
        pen.write(minutes_after(morning, 20), hand(), fact);
    }
    for setup in crate::halls::kept() {
        pen.write(minutes_after(morning, 25), hand(), setup);
    }
}

fn add_print(pen: &mut Pen, at: DateTime, title: &Title) {
    let reels = title.reel_lengths().into_iter().zip(1..);
    let fact = PrintAdded {
        standing: title.standing,
        made_year: title.made_year,
        print: title.id.as_str().into(),
        title: title.name.clone(),
        gauge: "16mm".to_owned(),
        reels: reels.map(|(length_m, reel)| Reel { reel, length_m }).collect(),
        lender: title.lender.to_owned(),
        note: title.note.to_owned(),
    };
    pen.write(at, hand(), fact);
}

fn add_machine(pen: &mut Pen, at: DateTime, bird: Bird, calendar: &Calendar) {
    let own = bird.character();
    let place = if bird == Bird::Whimbrel { HALLS[NESSARY].id } else { BENCH.0 };
    let settings: BTreeMap<String, String> =
        own.settings.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
    let fact = MachineAdded {
        machine: own.id.into(),
        name: own.name.to_owned(),
        machine_type: own.machine_type.into(),
        serial: own.serial.to_owned(),
        place: Some(place.into()),
        meter_hours: own.meter_hours.map(Hours::new),
        hours_before: Some(Hours::new(own.hours_before)),
        hours_estimated: own.meter_hours.is_none(),
        made_year: Some(calendar.today.year() - own.age_years),
        settings,
    };
    pen.write(at, hand(), fact);
}

/// Whether a place in the machine holds a thing that can be taken out and carried elsewhere.
pub(crate) fn has_identity(part: &Part, bird: Bird) -> bool {
    let meter = part.id.as_str() != "hour-meter" || bird.character().meter_hours.is_some();
    meter && part.place.shape != Shape::Loop && !NOT_FITTED.contains(&part.id.as_str())
}

/// What stands in the type's list of parts but is no single thing.
const NOT_FITTED: [&str; 2] = ["kit", "oil-points"];

/// What an overhaul renews, besides belts and lamps.
const RENEWED: [&str; 2] = [slot::FELT, slot::PRESSURE_ROLLER];

/// The name of a part that was in the machine when the log began, or the n-th that went in since.
pub(crate) fn part_name(bird: Bird, slot: &str, n: usize) -> String {
    format!("{}-{slot}-{n}", bird.id())
}

fn part_at_entry(bird: Bird, part: &Part, lamp: &LampLife, dice: &mut Dice) -> PartFitted {
    let own = bird.character();
    let (age_hours, age_band_hours, age_days) = if part.id.as_str() == slot::LAMP {
        (Some(lamp.age_h), None, None)
    } else {
        age(part, own.hours_before, own.age_years, dice)
    };
    let is_lamp = part.id.as_str() == slot::LAMP;
    PartFitted {
        part: if is_lamp { lamp.part.as_str().into() } else { part_name(bird, &part.id, 1).as_str().into() },
        slot: part.id.as_str().into(),
        machine: own.id.into(),
        age_hours: age_hours.map(Hours::new),
        age_band_hours: age_band_hours.map(|(low, high)| (Hours::new(low), Hours::new(high))),
        age_days,
        strikes: is_lamp.then_some((lamp.age_h * 1.3) as u32),
        lot: lot(part, dice),
        replaces: None,
        item: None,
        note: if age_hours.is_none() { "came with it, age unknown".to_owned() } else { String::new() },
    }
}

type Age = (Option<f64>, Option<(f64, f64)>, Option<u32>);

/// What the card says of a part's age: as old as the machine, renewed since, or anybody's guess.
fn age(part: &Part, machine_hours: f64, machine_years: i16, dice: &mut Dice) -> Age {
    // The machines come back from an overhaul in which all that is made of rubber, felt or glass was renewed.
    let renewed =
        matches!(part.place.shape, Shape::Belt | Shape::Lamp) || RENEWED.contains(&part.id.as_str());
    if renewed {
        return (Some(0.0), None, Some(12));
    }
    let wears_fast = part.group == PartGroup::TakeUp;
    if dice.chance(0.3) {
        let low = rounded(machine_hours * dice.between(0.05, 0.3), -1);
        let high = rounded(machine_hours * dice.between(0.5, 1.0), -1);
        return (None, Some((low, high)), None);
    }
    if wears_fast || dice.chance(0.3) {
        let share = dice.between(0.01, 0.25);
        let hours = rounded(machine_hours * share, 0);
        let days = dice.whole(90, 2900);
        return (Some(hours), None, u32::try_from(days).ok());
    }
    let days = u32::try_from(machine_years).ok().map(|years| years * 365);
    (Some(machine_hours), None, days)
}

fn lot(part: &Part, dice: &mut Dice) -> String {
    match part.place.shape {
        Shape::Lamp | Shape::Belt | Shape::Gear => {
            format!("lot {}", ["H3", "H7", "K1", "K2"][dice.below(4) as usize])
        }
        _ => String::new(),
    }
}
