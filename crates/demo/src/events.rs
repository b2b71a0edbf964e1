//! What befell the machines: crossings, early lamp deaths, a shock, repairs, and who said that a machine may run.

use crate::diary::{Calendar, Outing};
use crate::faults::{Kind, Story};
use crate::lamps::LampLife;
use crate::pen::{Hand, Pen, minutes_after};
use crate::runs::{IDLE_DAYS, Odometer};
use crate::setting::{BENCH, Bird, DEPOT, KEEPER, TECHNICIAN};
use jiff::civil::DateTime;
use logbook::fact::{Ending, Fitness, FitnessSet, MachineChanged, MachineEvent};
use machine::Trigger;

/// One event of one machine.
pub(crate) struct Event {
    pub(crate) bird: Bird,
    pub(crate) trigger: Trigger,
    pub(crate) at: DateTime,
    pub(crate) by: &'static str,
    pub(crate) note: &'static str,
}

/// A lamp of the 50 h class that did not reach half of it died early.
const EARLY_DEATH_H: f64 = 27.5;
/// The crate is strapped and checked anew after so many days of touring at the least.
const DAYS_BETWEEN_CROSSINGS: i32 = 21;

/// Every event, in order of time.
pub(crate) fn events(
    odometer: &Odometer<'_>,
    outings: &[Outing],
    lamps: &[LampLife],
    stories: &[Story],
) -> Vec<Event> {
    let calendar = odometer.calendar;
    let mut events = crossings(calendar, outings);
    events.extend(exercises(odometer));
    events.extend(early_deaths(lamps));
    events.extend(lamp_changes(lamps));
    events.extend(repairs(calendar, stories));
    events.sort_by_key(|event| event.at);
    events
}

fn crossings(calendar: &Calendar, outings: &[Outing]) -> Vec<Event> {
    let mut events = Vec::new();
    for bird in [Bird::Turnstone, Bird::Dunlin, Bird::Phalarope] {
        let mut last = -DAYS_BETWEEN_CROSSINGS;
        let mut unlocked = bird != Bird::Turnstone;
        for outing in
            outings.iter().filter(|outing| outing.held() && outing.hall.by_boat && outing.uses(bird))
        {
            let the_one = !unlocked && outing.day >= calendar.crossing();
            if !the_one && outing.day - last < DAYS_BETWEEN_CROSSINGS {
                continue;
            }
            last = outing.day;
            unlocked |= the_one;
            let note = if the_one {
                "Rough crossing. Flywheel lock was off when the crate was opened."
            } else {
                "By boat, strapped, lock on."
            };
            let at = outing.minute(-240);
            events.push(Event { bird, trigger: Trigger::AfterTransport, at, by: outing.operator, note });
        }
    }
    events
}

fn early_deaths(lamps: &[LampLife]) -> impl Iterator<Item = Event> {
    lamps.iter().filter_map(|lamp| {
        let end = lamp.end.as_ref().filter(|end| end.why == Ending::Failed && end.burnt_h < EARLY_DEATH_H)?;
        let at = minutes_after(end.at, 160);
        let note = "Dead before half its life: holder and volts to be looked at.";
        Some(Event { bird: lamp.bird, trigger: Trigger::LampDiedEarly, at, by: KEEPER, note })
    })
}

/// A new lamp calls for a look at its holder; the fitting itself is the evidence, so nothing else is written.
fn lamp_changes(lamps: &[LampLife]) -> impl Iterator<Item = Event> {
    lamps.iter().filter_map(|lamp| {
        let at = minutes_after(lamp.fitted?, 3);
        Some(Event { bird: lamp.bird, trigger: Trigger::LampChanged, at, by: KEEPER, note: "" })
    })
}

fn exercises(odometer: &Odometer<'_>) -> impl Iterator<Item = Event> {
    let exercised = odometer.all().filter(|run| run.is_exercise);
    let trigger = Trigger::IdleDays(IDLE_DAYS.unsigned_abs());
    exercised.map(move |run| Event { bird: run.bird, trigger, at: run.at, by: KEEPER, note: "" })
}

fn repairs(calendar: &Calendar, stories: &[Story]) -> Vec<Event> {
    let holder = calendar.date(calendar.new_holder()).at(11, 30, 0, 0);
    let mut events = vec![Event {
        bird: Bird::Dunlin,
        trigger: Trigger::Repair,
        at: holder,
        by: TECHNICIAN,
        note: "New lamp holder.",
    }];
    for story in stories {
        if story.kind == Kind::Tingle {
            let note = "A tingle at the case.";
            events.push(Event {
                bird: story.bird,
                trigger: Trigger::Shock,
                at: minutes_after(story.at, 3),
                by: story.by,
                note,
            });
        }
        if let (Kind::Tingle | Kind::Knock | Kind::Hum, Some(closed)) = (story.kind, &story.closed) {
            let at = minutes_after(closed.at, -70);
            events.push(Event {
                bird: story.bird,
                trigger: Trigger::Repair,
                at,
                by: TECHNICIAN,
                note: "Repaired by the technician.",
            });
        }
    }
    events
}

/// Writes the events, and what was decided about the machines.
pub(crate) fn write(pen: &mut Pen, events: &[Event], stories: &[Story]) {
    // That a lamp was changed or a machine stood still, the other entries tell.
    let said = |event: &&Event| !matches!(event.trigger, Trigger::LampChanged | Trigger::IdleDays(_));
    for event in events.iter().filter(said) {
        let fact = MachineEvent {
            machine: event.bird.id().into(),
            event: event.trigger.to_string(),
            note: event.note.to_owned(),
        };
        pen.write(event.at, Hand::phone(event.by), fact);
    }
    for story in stories {
        match story.kind {
            Kind::Tingle => quarantine(pen, story),
            Kind::Knock => stand_still(pen, story),
            _ => {}
        }
    }
}

/// Danger at once, to the depot, and free again only by the technician's word.
fn quarantine(pen: &mut Pen, story: &Story) {
    let set =
        |fitness, why: &str| FitnessSet { machine: story.bird.id().into(), fitness, why: why.to_owned() };
    pen.write(
        minutes_after(story.at, 6),
        Hand::phone(story.by),
        set(Fitness::Danger, "Tingle at the case: plug pulled and taped, nobody touches it."),
    );
    pen.write(minutes_after(story.at, 18 * 60), Hand::laptop(KEEPER), moved(story.bird, DEPOT.0));
    let Some(closed) = &story.closed else { return };
    pen.write(
        minutes_after(closed.at, 10),
        Hand::laptop(TECHNICIAN),
        set(Fitness::Fit, "Earth, insulation and leakage tested and passed; sticker on."),
    );
    pen.write(minutes_after(closed.at, 30), Hand::laptop(KEEPER), moved(story.bird, BENCH.0));
}

fn stand_still(pen: &mut Pen, story: &Story) {
    let set =
        |fitness, why: &str| FitnessSet { machine: story.bird.id().into(), fitness, why: why.to_owned() };
    pen.write(
        minutes_after(story.at, 15),
        Hand::phone(story.by),
        set(
            Fitness::Unfit,
            "Knocks once a turn of the worm wheel: not to be run before the technician has seen it.",
        ),
    );
    if let Some(closed) = &story.closed {
        pen.write(
            minutes_after(closed.at, 10),
            Hand::laptop(TECHNICIAN),
            set(Fitness::Fit, "Gears renewed and timed, test films as left."),
        );
    }
}

fn moved(bird: Bird, place: &str) -> MachineChanged {
    MachineChanged {
        machine: bird.id().into(),
        name: None,
        machine_type: None,
        serial: None,
        place: Some(place.into()),
    }
}
