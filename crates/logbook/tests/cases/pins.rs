//! Choices that a person fixed in the service plan.

use crate::kit::*;
use jiff::civil::date;
use logbook::{
    Draft, Fact, Refusal, accept,
    booth::Pinned,
    fact::{PlanPinned, ShowingPlanned},
};

fn pin() -> PlanPinned {
    PlanPinned { machine: "turnstone".into(), showing: None, task: None, on: None, note: String::new() }
}

fn at(showing: &str) -> PlanPinned {
    PlanPinned { showing: Some(showing.into()), ..pin() }
}

fn care(day: i8) -> PlanPinned {
    PlanPinned { task: Some("oil".into()), on: Some(date(2026, 3, day)), ..pin() }
}

fn planned() -> ShowingPlanned {
    ShowingPlanned {
        showing: "evening".into(),
        title: "Evening".to_owned(),
        starts: "2026-03-07T19:30:00+00:00[UTC]".parse().unwrap(),
        length_minutes: 90.0,
        place: None,
        machines: Vec::new(),
        prints: Vec::new(),
        note: String::new(),
    }
}

fn started() -> Log {
    let mut log = Log::default();
    log.at(0.0, machine("turnstone"));
    log.at(0.5, planned());
    log
}

fn write(log: &Log, fact: impl Into<Fact>) -> Result<(), Refusal> {
    let draft = Draft {
        id: id(77),
        device: logbook::DeviceId(uuid::Uuid::from_u128(7)),
        happened: after(24.0),
        by: "ada".into(),
        fact: fact.into(),
    };
    accept(draft, &log.booth(), after(1000.0)).map(drop)
}

#[test]
fn a_later_day_for_the_same_care_takes_the_earlier_ones_place_until_it_is_withdrawn() {
    let mut log = started();
    let later = log.at(5.0, care(12));
    log.at(2.0, care(9));
    let days = |log: &Log| log.booth().pins.iter().map(|pin| pin.what.clone()).collect::<Vec<_>>();
    let on = |day| Pinned::Care { task: "oil".into(), on: date(2026, 3, day) };
    assert_eq!(days(&log), [on(12)]);
    log.at(6.0, at("evening"));
    assert_eq!(days(&log), [on(12), Pinned::At("evening".into())]);
    log.at(7.0, withdraws(later));
    assert_eq!(days(&log), [on(9), Pinned::At("evening".into())]);
}

#[test]
fn a_pin_that_fixes_nothing_is_kept_and_asked_about() {
    let mut log = started();
    log.at(2.0, PlanPinned { on: None, ..care(9) });
    let booth = log.booth();
    assert!(booth.pins.is_empty());
    assert!(booth.queries.iter().any(|query| query.what.contains("fixes nothing")));
}

#[test]
fn a_pin_names_one_thing_that_is_there() {
    let log = started();
    write(&log, at("evening")).unwrap();
    write(&log, care(9)).unwrap();
    assert_eq!(write(&log, at("morning")).unwrap_err().field, "showing");
    assert_eq!(write(&log, pin()).unwrap_err().field, "showing");
    assert_eq!(
        write(&log, PlanPinned { task: Some("oil".into()), ..at("evening") }).unwrap_err().field,
        "task"
    );
    assert_eq!(write(&log, PlanPinned { on: None, ..care(9) }).unwrap_err().field, "on");
    let nobody = PlanPinned { machine: "nobody".into(), ..at("evening") };
    assert_eq!(write(&log, nobody).unwrap_err().field, "machine");
}
