//! The film path: every part in its place.

use crate::kit::{Log, at, types};
use booth::{SlotState, film_path, history};
use logbook::fact::{Ending, Outcome};

fn state(log: &Log, slot: &str, now: &str) -> SlotState {
    let booth = log.fold();
    film_path(&booth, types(), "turnstone", &at(now)).unwrap().value.slot(slot).unwrap().state
}

#[test]
fn every_part_of_the_type_is_there_in_its_order() {
    let booth = Log::new().fold();
    let path = film_path(&booth, types(), "turnstone", &at("2026-01-02 12:00")).unwrap().value;
    let slots: Vec<&str> = path.slots.iter().map(|view| view.part.id.as_str()).collect();
    let parts: Vec<&str> = path.kind.parts.iter().map(|part| part.id.as_str()).collect();
    assert_eq!(slots, parts);
}

#[test]
fn a_part_shows_the_worst_of_what_is_known_of_it() {
    let mut log = Log::new();
    let roller = "guide-roller-upper";
    assert_eq!(state(&log, roller, "2026-01-10 12:00"), SlotState::NoRecord);
    log.did("2026-01-10 18:00", "turnstone", "roller-shafts");
    assert_eq!(state(&log, roller, "2026-01-11 12:00"), SlotState::UpToDate);
    assert_eq!(state(&log, roller, "2026-03-06 12:00"), SlotState::Soon);
    assert_eq!(state(&log, roller, "2026-03-11 12:00"), SlotState::Due);
    assert_eq!(state(&log, roller, "2026-04-11 12:00"), SlotState::Overdue);
    log.fault("2026-04-11 20:00", "squeak", "turnstone", Some(roller));
    assert_eq!(state(&log, roller, "2026-04-12 12:00"), SlotState::Fault);
    log.fault_closed("2026-04-12 20:00", "squeak");
    assert_eq!(state(&log, roller, "2026-04-13 12:00"), SlotState::Overdue);
}

#[test]
fn attention_stays_until_the_next_look_finds_it_mended() {
    let mut log = Log::new();
    log.found("2026-01-10 18:00", "turnstone", "claw-look", None, Outcome::Attention);
    assert_eq!(state(&log, "claw", "2026-01-11 12:00"), SlotState::Attention);
    log.found("2026-01-12 18:00", "turnstone", "claw-look", None, Outcome::Fine);
    assert_eq!(state(&log, "claw", "2026-01-13 12:00"), SlotState::UpToDate);
}

#[test]
fn a_part_without_care_by_hours_or_days_is_not_called_good() {
    assert_eq!(state(&Log::new(), "gate", "2026-01-11 12:00"), SlotState::NoCare);
}

#[test]
fn a_slot_shows_what_is_fitted_and_how_old_it_is() {
    let mut log = Log::new();
    log.fitted("2026-01-02 10:00", "turnstone", "lamp", "lamp-1", Some(12.0));
    log.ran("2026-01-03 20:00", "turnstone", 2.0);
    let booth = log.fold();
    let path = film_path(&booth, types(), "turnstone", &at("2026-01-04 12:00")).unwrap().value;
    let lamp = path.slot("lamp").unwrap().fitted.unwrap();
    assert_eq!((lamp.id.as_str(), lamp.clock), ("lamp-1", machine::Clock::Lamp));
    assert!((lamp.age.hours_lit.hours() - 14.0).abs() < 1e-9);
    assert_eq!((lamp.age.strikes, lamp.age.days), (1, 2));
}

#[test]
fn last_care_and_next_due_stand_at_the_part() {
    let mut log = Log::new();
    log.did("2026-01-10 18:00", "turnstone", "supply-oil");
    let booth = log.fold();
    let path = film_path(&booth, types(), "turnstone", &at("2026-01-11 12:00")).unwrap().value;
    let spindle = path.slot("supply-spindle").unwrap();
    assert_eq!(spindle.last_care.unwrap().0.id.as_str(), "supply-oil");
    assert_eq!(spindle.next_due.unwrap().0.to_string(), "2026-04-10");
}

#[test]
fn a_fault_without_a_slot_is_shown_beside_the_path() {
    let mut log = Log::new();
    log.fault("2026-01-11 20:00", "smell", "turnstone", None);
    let booth = log.fold();
    let path = film_path(&booth, types(), "turnstone", &at("2026-01-12 12:00")).unwrap().value;
    assert_eq!(path.faults_elsewhere.len(), 1);
}

#[test]
fn the_history_of_a_slot_tells_what_went_in_and_came_out() {
    let mut log = Log::new();
    log.fitted("2026-01-02 10:00", "turnstone", "lamp", "lamp-1", Some(0.0));
    log.replaced("2026-01-16 18:00", "turnstone", "lamp", "lamp-2", Ending::Failed);
    log.did("2026-01-20 18:00", "turnstone", "supply-oil");
    let booth = log.fold();
    let lines = history(&booth, "turnstone", Some("lamp")).unwrap().value;
    let words: Vec<&str> = lines.iter().map(|line| line.words.as_str()).collect();
    assert_eq!(words.len(), 3);
    assert!(words.contains(&"lamp-1 came out: failed") && words.contains(&"lamp-2 fitted"));
    assert_eq!(words[2], "lamp-1 fitted", "the latest first");
    assert!(history(&booth, "turnstone", None).unwrap().value.len() > 3);
}
