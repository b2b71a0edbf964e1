//! Models that no memory could hold are refused with what is too much, before any is taken.
#![allow(clippy::unwrap_used)]

use plan::{Effort, Minutes, Model, ModelError, solve};
use serde_json::json;

/// One hall with one machine, one showing, one slot and one piece of work.
fn small() -> Model {
    serde_json::from_value(json!({
        "places": [{"id": "hall"}],
        "machines": [{"id": "m", "home": "hall"}],
        "showings": [{"id": "s", "place": "hall", "starts": 0, "ends": 120, "running_hours": 2.0,
            "stoppage_cost": 100.0}],
        "slots": [{"id": "b", "place": "hall", "starts": -600, "minutes": 60}],
        "work": [{"id": "w", "machine": "m", "minutes": 15, "limit_hours": 40.0}],
    }))
    .unwrap()
}

/// Adds so many more of the first in a list, each a little changed.
fn more<T: Clone>(list: &mut Vec<T>, count: i64, change: impl Fn(&mut T, i64)) {
    let first = list[0].clone();
    for n in 0..count {
        let mut other = first.clone();
        change(&mut other, n);
        list.push(other);
    }
}

fn refused(model: &Model, words: &[&str]) {
    let Err(ModelError::Faulty(faults)) = solve(model, &Effort::BOOTH) else { panic!("it is taken") };
    let told = ModelError::Faulty(faults).to_string();
    for word in words {
        assert!(told.contains(word), "`{word}` is not in: {told}");
    }
}

#[test]
fn the_small_one_is_planned() {
    assert!(solve(&small(), &Effort::BOOTH).unwrap().proven);
}

#[test]
fn a_showing_that_asks_for_a_thousand_million_machines_is_refused() {
    let mut model = small();
    model.showings[0].machines = 1_000_000_000;
    refused(&model, &["showings `s`", "`machines` is 1000000000", "1000 at most"]);
}

#[test]
fn showings_that_ask_for_too_many_machines_together_are_refused() {
    let mut model = small();
    more(&mut model.showings, 1_000, |other, n| {
        other.id = format!("s{n}");
        other.machines = 1_000;
    });
    refused(&model, &["showings:", "1000001 machines in all", "100000 at most"]);
}

#[test]
fn a_slot_of_years_is_refused() {
    let mut model = small();
    model.slots[0].minutes = Minutes(500_000_000);
    refused(&model, &["slots `b`", "`minutes` is 500000000", "44640 at most"]);
}

#[test]
fn more_slots_than_there_is_room_for_are_refused() {
    let mut model = small();
    more(&mut model.slots, 20_000, |other, n| {
        other.id = format!("b{n}");
        other.starts.0 -= 100 * (n + 1);
    });
    refused(&model, &["the model", "20001 slots", "shorter time"]);
}

#[test]
fn work_that_holds_for_a_time_of_its_own_from_each_of_many_slots_is_refused() {
    let mut model = small();
    more(&mut model.slots, 2_000, |other, n| {
        other.id = format!("b{n}");
        other.starts.0 += 1_000 * (n + 1);
    });
    more(&mut model.showings, 2_000, |other, n| {
        other.id = format!("s{n}");
        other.starts.0 += 1_000 * (n + 1);
        other.ends.0 += 1_000 * (n + 1);
    });
    model.work[0].limit_minutes = Some(Minutes(10_000));
    refused(&model, &["work `w`", "2001 showings", "2001 slots"]);
}
