//! The diary: plans, changes of plan, and nights on which the clocks change.

use crate::kit::*;
use logbook::{
    booth::ShowingState,
    fact::{Assigned, Ran, ShowingCancelled, ShowingHeld, ShowingPlanned},
};
use units::Hours;

fn held(name: &str, minutes: f64) -> ShowingHeld {
    ShowingHeld { showing: name.into(), lasted_minutes: minutes, audience: None, note: String::new() }
}

fn cancelled(name: &str) -> ShowingCancelled {
    ShowingCancelled { showing: name.into(), why: "no ferry".to_owned() }
}

#[test]
fn the_plan_that_was_written_last_holds() {
    let mut log = with_turnstone();
    // The second plan was made later, though it is dated earlier.
    log.at(24.0, showing("club-night", "2026-03-06T19:30[Europe/Lisbon]", 90.0));
    log.at(20.0, showing("club-night", "2026-03-06T20:00[Europe/Lisbon]", 100.0));
    let booth = log.booth();
    assert_eq!(booth.showings["club-night"].length_minutes, 100.0);
    assert_eq!(booth.coming_showings().len(), 1);
}

#[test]
fn machines_share_a_programme_equally_unless_somebody_says_otherwise() {
    let mut log = with_turnstone();
    log.at(0.0, machine("dunlin"));
    let assigned =
        |name: &str, hours: Option<f64>| Assigned { machine: name.into(), running_hours: hours.map(h) };
    let planned = showing("club-night", "2026-03-06T19:30[Europe/Lisbon]", 120.0);
    let machines = vec![assigned("turnstone", None), assigned("dunlin", None)];
    log.at(1.0, ShowingPlanned { machines, ..planned.clone() });
    let hours: Vec<Hours> =
        log.booth().showings["club-night"].machines.iter().map(|(_, hours)| *hours).collect();
    assert_eq!(hours, [h(1.0), h(1.0)]);
    let machines = vec![assigned("turnstone", Some(1.5)), assigned("dunlin", None)];
    log.at(2.0, ShowingPlanned { machines, ..planned });
    let hours: Vec<Hours> =
        log.booth().showings["club-night"].machines.iter().map(|(_, hours)| *hours).collect();
    assert_eq!(hours, [h(1.5), h(1.0)]);
}

#[test]
fn a_showing_is_planned_called_off_planned_again_and_held() {
    let mut log = with_turnstone();
    let plan = || showing("club-night", "2026-03-06T19:30[Europe/Lisbon]", 90.0);
    log.at(1.0, plan());
    log.at(2.0, cancelled("club-night"));
    assert!(matches!(log.booth().showings["club-night"].state, ShowingState::Cancelled { .. }));
    log.at(3.0, plan());
    assert_eq!(log.booth().showings["club-night"].state, ShowingState::Planned);
    log.at(4.0, held("club-night", 97.0));
    log.at(5.0, cancelled("club-night"));
    assert!(matches!(
        log.booth().showings["club-night"].state,
        ShowingState::Held { lasted_minutes, .. } if lasted_minutes == 97.0
    ));
    assert_eq!(log.asked().len(), 1);
}

#[test]
fn a_showing_for_which_a_machine_ran_took_place() {
    let mut log = with_turnstone();
    log.at(1.0, showing("club-night", "2026-03-06T19:30[Europe/Lisbon]", 90.0));
    log.at(48.0, Ran { showing: Some("club-night".into()), ..showed(1.5) });
    assert!(matches!(log.booth().showings["club-night"].state, ShowingState::Held { .. }));
    log.at(72.0, Ran { showing: Some("no-such-night".into()), ..showed(1.5) });
    assert_eq!(log.asked(), ["showing “no-such-night” never stood in the diary"]);
}

#[test]
fn a_run_for_a_showing_that_was_called_off_is_asked_about_unless_it_was_planned_again() {
    let mut log = with_turnstone();
    let plan = || showing("club-night", "2026-03-06T19:30[Europe/Lisbon]", 90.0);
    log.at(1.0, plan());
    log.at(2.0, cancelled("club-night"));
    log.at(3.0, Ran { showing: Some("club-night".into()), ..showed(1.5) });
    assert_eq!(log.asked(), ["a machine ran for “club-night”, which was called off"]);
    log.at(4.0, plan());
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn two_showings_cannot_have_one_machine_at_the_same_time() {
    let mut log = with_turnstone();
    log.at(1.0, showing("matinee", "2026-03-06T18:30[Europe/Lisbon]", 90.0));
    let second = log.at(2.0, showing("club-night", "2026-03-06T19:30[Europe/Lisbon]", 90.0));
    log.at(3.0, showing("late-night", "2026-03-06T21:00[Europe/Lisbon]", 90.0));
    let booth = log.booth();
    assert_eq!(booth.queries.len(), 1);
    assert_eq!(booth.queries[0].entry, second);
    log.at(4.0, cancelled("matinee"));
    assert_eq!(log.asked(), NOTHING);
}

/// Checks that a showing of three hours ends when the clock on the wall shows a time.
#[track_caller]
fn three_hours_from(starts: &str, wall: &str) {
    let mut log = with_turnstone();
    log.at(1.0, showing("night", starts, 180.0));
    let showing = log.booth().showings["night"].clone();
    let (from, to) = (showing.starts.timestamp(), showing.ends());
    assert_eq!(to.duration_since(from).as_secs(), 3 * 3600);
    let end = to.to_zoned_datetime(showing.starts.time_zone().clone());
    assert_eq!(end.strftime("%Y-%m-%dT%H:%M%:z").to_string(), wall);
    // A change of the clocks is no change of the evening.
    assert_eq!(log.booth().evening_of_showing(&showing).date(), showing.starts.date());
}

// The days on which the clocks change, and by how much, are those of the IANA Time Zone Database (files `europe`,
// rule EU, and `northamerica`, rule US); a start with its zone in brackets is written as RFC 9557 says.

#[test]
fn a_showing_over_the_spring_change_agrees_with_the_iana_time_zone_database() {
    three_hours_from("2026-03-28T23:30[Europe/London]", "2026-03-29T03:30+01:00");
    three_hours_from("2026-03-07T23:30[America/New_York]", "2026-03-08T03:30-04:00");
}

#[test]
fn a_showing_over_the_autumn_change_agrees_with_the_iana_time_zone_database() {
    three_hours_from("2026-10-24T23:30[Europe/London]", "2026-10-25T01:30+00:00");
    three_hours_from("2026-10-31T23:30[America/New_York]", "2026-11-01T01:30-05:00");
}

#[test]
fn a_showing_on_a_plain_night_ends_three_hours_on() {
    three_hours_from("2026-06-13T23:30[Europe/London]", "2026-06-14T02:30+01:00");
}
