//! Parts that went in, came out or changed machines while the log ran.

use crate::diary::Calendar;
use crate::faults::{Kind, Story};
use crate::fleet::part_name;
use crate::lamps::LampLife;
use crate::names::{slot, task};
use crate::pen::{Hand, Pen, minutes_after};
use crate::setting::{Bird, KEEPER, TECHNICIAN};
use crate::stores::{Item, Stores};
use jiff::civil::DateTime;
use logbook::fact::{CareDone, Ending, Outcome, PartFitted, PartMoved, Replaced};
use units::Hours;

/// One change of a part.
pub(crate) struct Change {
    pub(crate) at: DateTime,
    pub(crate) bird: Bird,
    pub(crate) slot: &'static str,
    pub(crate) by: &'static str,
    pub(crate) part: String,
    pub(crate) age_h: f64,
    pub(crate) why: Ending,
    pub(crate) note: &'static str,
    pub(crate) item: Option<Item>,
}

/// Every change but the one part that moved, in order of time.
pub(crate) fn changes(calendar: &Calendar, lamps: &[LampLife], stories: &[Story]) -> Vec<Change> {
    let mut changes = lamp_changes(lamps);
    changes.extend(stories.iter().filter_map(spare_of));
    changes.extend(bench_jobs(calendar));
    changes.sort_by_key(|change| change.at);
    changes
}

fn lamp_changes(lamps: &[LampLife]) -> Vec<Change> {
    let ends = lamps.windows(2).filter(|pair| pair[0].bird == pair[1].bird);
    ends.filter_map(|pair| {
        let (end, new) = (pair[0].end.as_ref()?, &pair[1]);
        Some(Change {
            at: new.fitted?,
            bird: new.bird,
            slot: slot::LAMP,
            by: KEEPER,
            part: new.part.clone(),
            age_h: new.age_h,
            why: end.why,
            note: match end.why {
                Ending::Borrowed => "old one kept as get-you-home lamp",
                Ending::Planned => "planned change, old one still good",
                _ => "",
            },
            item: Some(if new.bird == Bird::Phalarope { Item::TungstenLamp } else { Item::HalogenLamp }),
        })
    })
    .collect()
}

/// The spare that a fault called for.
fn spare_of(story: &Story) -> Option<Change> {
    let (slot, item) = match story.kind {
        Kind::Exciter => (slot::EXCITER, Item::Exciter),
        Kind::TakeUpBelt => (slot::TAKE_UP_BELT, Item::TakeUpBelt),
        _ => return None,
    };
    Some(Change {
        at: minutes_after(story.at, 5),
        bird: story.bird,
        slot,
        by: story.by,
        part: part_name(story.bird, slot, 2),
        age_h: 0.0,
        why: if story.kind == Kind::Exciter { Ending::Failed } else { Ending::Worn },
        note: "",
        item: Some(item),
    })
}

/// What the technician and the keeper renewed at the bench.
fn bench_jobs(calendar: &Calendar) -> Vec<Change> {
    let (released, back) = (calendar.quarantine().end, calendar.idle().end);
    let visit = |n: usize, bird: Bird| calendar.visits(bird)[n];
    let job = |day, minute, bird, slot: &'static str, by, why, note, item| Change {
        at: minutes_after(calendar.date(day).at(10, 0, 0, 0), minute),
        bird,
        slot,
        by,
        part: part_name(bird, slot, 2),
        age_h: 0.0,
        why,
        note,
        item,
    };
    vec![
        job(
            visit(1, Bird::Dunlin),
            40,
            Bird::Dunlin,
            slot::FELT,
            TECHNICIAN,
            Ending::Worn,
            "felt glazed, tension twice what it was",
            None,
        ),
        job(
            calendar.new_holder(),
            35,
            Bird::Dunlin,
            slot::HOLDER,
            TECHNICIAN,
            Ending::Worn,
            "contacts pitted and blue",
            None,
        ),
        job(
            released,
            120,
            Bird::Phalarope,
            slot::LEAD,
            TECHNICIAN,
            Ending::Damaged,
            "flex nicked at the gland",
            None,
        ),
        job(
            back,
            20,
            Bird::Phalarope,
            slot::MAIN_BELT,
            KEEPER,
            Ending::Failed,
            "bad batch: gone to tar in a year",
            Some(Item::MainBelt),
        ),
        job(
            back,
            45,
            Bird::Phalarope,
            slot::TAKE_UP_BELT,
            KEEPER,
            Ending::Worn,
            "from the belt set",
            Some(Item::TakeUpBelt),
        ),
        job(
            back,
            60,
            Bird::Phalarope,
            slot::PRESSURE_ROLLER,
            KEEPER,
            Ending::Unknown,
            "",
            Some(Item::PressureRoller),
        ),
        job(
            visit(2, Bird::Whimbrel),
            240,
            Bird::Whimbrel,
            slot::GEARS,
            TECHNICIAN,
            Ending::Failed,
            "cracked at the boss",
            None,
        ),
    ]
}

/// Writes the changes and draws the spares from stock.
pub(crate) fn write(pen: &mut Pen, changes: &[Change], stores: &mut Stores, calendar: &Calendar) {
    for change in changes {
        if let Some(item) = change.item {
            stores.draw(pen, item, change.at);
        }
        let replaces =
            (change.slot != slot::PRESSURE_ROLLER).then_some(Replaced { part: None, why: change.why });
        let fact = PartFitted {
            part: change.part.as_str().into(),
            slot: change.slot.into(),
            machine: change.bird.id().into(),
            age_hours: Some(Hours::new(change.age_h)),
            age_band_hours: None,
            age_days: Some(0),
            strikes: (change.slot == slot::LAMP).then_some(0),
            lot: String::new(),
            replaces,
            item: change.item.map(|item| item.id().into()),
            note: change.note.to_owned(),
        };
        pen.write(change.at, Hand::phone(change.by), fact);
        if let Some(task) = task_of(change.slot) {
            pen.write(minutes_after(change.at, 2), Hand::phone(change.by), renewed(change, task));
        }
    }
    borrow_the_roller(pen, calendar);
}

/// The care task that is done by fitting a new part here.
fn task_of(slot: &str) -> Option<&'static str> {
    match slot {
        slot::LAMP => Some(task::LAMP_CHANGE),
        slot::EXCITER => Some(task::EXCITER_CHANGE),
        slot::MAIN_BELT => Some(task::MAIN_BELT_RENEW),
        slot::TAKE_UP_BELT => Some(task::TAKE_UP_BELT_RENEW),
        _ => None,
    }
}

fn renewed(change: &Change, task: &str) -> CareDone {
    CareDone {
        machine: change.bird.id().into(),
        task: task.into(),
        slot: None,
        outcome: Outcome::Done,
        note: change.note.to_owned(),
        minutes: None,
        includes: Vec::new(),
        used: Vec::new(),
        photos: Vec::new(),
        walk: String::new(),
    }
}

/// Phalarope's pressure roller, the better one, goes to Dunlin while Phalarope waits for belts.
fn borrow_the_roller(pen: &mut Pen, calendar: &Calendar) {
    let fact = PartMoved {
        part: part_name(Bird::Phalarope, slot::PRESSURE_ROLLER, 1).as_str().into(),
        machine: Bird::Dunlin.id().into(),
        slot: slot::PRESSURE_ROLLER.into(),
        why: Ending::Borrowed,
        replaces: Some(Replaced {
            part: Some(part_name(Bird::Dunlin, slot::PRESSURE_ROLLER, 1).as_str().into()),
            why: Ending::Worn,
        }),
    };
    let at = calendar.date(calendar.idle().start + 6).at(11, 0, 0, 0);
    pen.write(at, Hand::phone(KEEPER), fact);
}
