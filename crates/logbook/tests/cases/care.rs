//! Care: done, left out, put off, and done inside something bigger. And who may say that a machine is fit.

use crate::kit::*;
use logbook::{
    Precision, When,
    fact::{CareDone, Fitness, Outcome, Role, Used},
};

#[test]
fn looked_at_counts_as_done_and_left_out_does_not() {
    let mut log = with_turnstone();
    log.at(1.0, cared("gate-brush", Outcome::Done));
    log.at(24.0, cared("gate-brush", Outcome::Fine));
    log.at(48.0, cared("gate-brush", Outcome::Attention));
    log.at(72.0, cared("gate-brush", Outcome::Skipped));
    log.at(96.0, cared("gate-brush", Outcome::CannotTell));
    let machine = log.turnstone();
    let brush = &machine.care[&care_point("gate-brush")];
    assert_eq!((brush.times, brush.at, brush.outcome), (3, after(48.0), Outcome::Attention));
    assert_eq!(machine.left_out[&care_point("gate-brush")].outcome, Outcome::CannotTell);
}

#[test]
fn a_bigger_task_counts_for_all_that_it_contains() {
    let mut log = with_turnstone();
    log.at(24.0, showed(2.0));
    log.at(48.0, CareDone { includes: vec!["gate-brush".into()], ..cared("yearly-overhaul", Outcome::Done) });
    let machine = log.turnstone();
    let brush = &machine.care[&care_point("gate-brush")];
    assert_eq!(brush.within.as_ref().unwrap().as_str(), "yearly-overhaul");
    is(brush.clocks.hours_run(), 2.0);
    assert_eq!(machine.care[&care_point("yearly-overhaul")].within, None);
}

#[test]
fn a_deferral_ends_when_the_deed_is_done() {
    let mut log = with_turnstone();
    log.at(1.0, deferred("oil-rollers", Some(20.0), None));
    assert_eq!(log.turnstone().deferred.len(), 1);
    log.at(24.0, cared("oil-rollers", Outcome::Skipped));
    assert_eq!(log.turnstone().deferred.len(), 1);
    log.at(48.0, cared("oil-rollers", Outcome::Done));
    assert!(log.turnstone().deferred.is_empty());
}

#[test]
fn putting_off_without_a_limit_changes_nothing() {
    let mut log = with_turnstone();
    log.at(1.0, deferred("oil-rollers", None, None));
    assert!(log.turnstone().deferred.is_empty());
    assert_eq!(log.asked(), ["“oil-rollers” is put off without a limit; it stays due"]);
}

#[test]
fn care_draws_on_the_stock() {
    let mut log = with_turnstone();
    log.at(0.0, counted("swabs", 50));
    log.at(
        24.0,
        CareDone {
            used: vec![Used { item: "swabs".into(), count: 4 }],
            ..cared("gate-brush", Outcome::Done)
        },
    );
    assert_eq!(log.booth().stock["swabs"].count, 46);
    log.at(48.0, counted("swabs", 40));
    assert_eq!(log.booth().stock["swabs"].count, 40);
}

#[test]
fn only_a_technician_releases_a_machine_from_danger() {
    let mut log = with_turnstone();
    log.at(0.0, person("ada", Role::Keeper));
    log.at(0.0, person("tove", Role::Technician));
    log.at(24.0, fit(Fitness::Danger));
    assert!(!log.turnstone().is_available());
    log.at(48.0, fit(Fitness::Fit));
    assert_eq!(log.turnstone().fitness.fitness, Fitness::Danger);
    assert_eq!(log.asked().len(), 1);
    assert_eq!(log.booth().available_machines().count(), 0);
    log.by("tove", 72.0, fit(Fitness::Fit));
    assert!(log.turnstone().is_available());
    assert_eq!(log.asked().len(), 1);
}

#[test]
fn nobody_slips_a_release_past_the_technician_by_correcting_their_words() {
    let mut log = with_turnstone();
    log.at(0.0, person("tove", Role::Technician));
    log.at(24.0, fit(Fitness::Danger));
    let limited = log.by("tove", 48.0, fit(Fitness::Danger));
    log.by("ada", 72.0, corrects(limited, fit(Fitness::Fit)));
    assert_eq!(log.turnstone().fitness.fitness, Fitness::Danger);
    assert_eq!(log.asked().len(), 1);
}

#[test]
fn a_fault_known_only_by_its_day_can_be_noted_before_noon() {
    let mut log = with_turnstone();
    let opened_by = log.at(24.0, opened("tick"));
    // Only the day is known, so the entry stands at noon.
    log.entries.last_mut().unwrap().happened.precision = Precision::Day;
    log.at(
        22.0,
        logbook::fact::FaultNoted { fault: "tick".into(), words: "louder".to_owned(), photos: vec![] },
    );
    let booth = log.booth();
    assert_eq!(booth.faults["tick"].opened.1, opened_by);
    assert_eq!(booth.faults["tick"].notes.len(), 1);
    assert_eq!(booth.open_faults(&"turnstone".into()).count(), 1);
    assert_eq!(log.asked(), NOTHING);
    log.at(48.0, closed("tick"));
    assert_eq!(log.booth().open_faults(&"turnstone".into()).count(), 0);
}

#[test]
fn news_of_machines_and_faults_that_nobody_knows_is_asked_about() {
    let mut log = with_turnstone();
    log.at(24.0, ran("dunlin", logbook::fact::RunKind::Showing, 2.0));
    log.at(48.0, closed("tick"));
    assert_eq!(log.asked().len(), 2);
    assert_eq!(log.fold().entries, 3);
}

#[test]
fn a_moment_after_midnight_belongs_to_the_evening_before() {
    let mut log = with_turnstone();
    log.at(
        0.0,
        logbook::fact::BoothNamed {
            name: "Pier Store".to_owned(),
            zone: "Europe/Lisbon".to_owned(),
            night_ends: jiff::civil::time(5, 0, 0, 0),
            units: logbook::fact::PreferredUnits::Metric,
            invented: true,
        },
    );
    let booth = log.booth();
    let night: jiff::ZonedDateTime = "2026-07-04T01:30[Europe/Lisbon]".parse().unwrap();
    assert_eq!(booth.evening_of(When::from_zoned(&night)).to_string(), "2026-07-03");
}

#[test]
fn a_machine_may_have_more_care_points_than_anybody_would_keep() {
    let mut log = with_turnstone();
    for round in 0..2 {
        for task in 0..300 {
            log.at(f64::from(round * 300 + task), cared(&format!("task-{task}"), Outcome::Done));
        }
    }
    let care = log.turnstone().care;
    assert_eq!(care.len(), 300);
    for task in 0..300 {
        let record = &care[&care_point(&format!("task-{task}"))];
        assert_eq!((record.times, record.at), (2, after(f64::from(300 + task))));
    }
}
