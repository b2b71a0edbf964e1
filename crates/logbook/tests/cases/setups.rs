//! Halls as they were set up.

use crate::kit::*;
use logbook::{
    Draft, Fact, Refusal, accept,
    fact::{PlaceAdded, SetupKept},
};

fn kept(place: &str, throw: &str) -> SetupKept {
    SetupKept {
        place: place.into(),
        values: [("throw".to_owned(), throw.to_owned())].into(),
        note: "socket by the stove".to_owned(),
    }
}

fn hall(place: &str) -> PlaceAdded {
    PlaceAdded { place: place.into(), name: place.to_owned(), notes: String::new() }
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
fn the_set_up_that_was_kept_last_holds_whatever_arrives_first() {
    let mut log = Log::default();
    log.at(0.0, hall("barn"));
    let later = log.at(30.0, kept("barn", "8 m"));
    log.at(20.0, kept("barn", "7 m"));
    let setup = log.booth().setups["barn"].clone();
    assert_eq!(setup.values["throw"], "8 m");
    assert_eq!(setup.kept.1, later);
}

#[test]
fn a_set_up_that_is_taken_back_uncovers_the_one_before() {
    let mut log = Log::default();
    log.at(0.0, hall("barn"));
    log.at(20.0, kept("barn", "7 m"));
    let wrong = log.at(30.0, kept("barn", "80 m"));
    log.at(31.0, withdraws(wrong));
    assert_eq!(log.booth().setups["barn"].values["throw"], "7 m");
}

#[test]
fn a_set_up_needs_a_hall_that_is_known_and_fields_on_one_line() {
    let mut log = Log::default();
    log.at(0.0, hall("barn"));
    write(&log, kept("barn", "7 m")).unwrap();
    assert_eq!(write(&log, kept("bern", "7 m")).unwrap_err().field, "place");
    assert_eq!(write(&log, kept("barn", "7\nm")).unwrap_err().field, "values");
}
