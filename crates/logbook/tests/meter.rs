//! How hours are counted: what a projectionist writes, and what the clocks then show.
#![allow(
    clippy::unwrap_used,
    clippy::wildcard_imports,
    dead_code,
    reason = "a test kit shared by several test files"
)]

mod kit;

use kit::*;
use logbook::fact::{MeterChange, RunKind};

/// Checks hours to a hundredth of a second: sums of decimal fractions are not exact in binary.
#[track_caller]
fn is(hours: units::Hours, expected: f64) {
    assert!((hours.hours() - expected).abs() < 3e-6, "{hours} is not {expected} h");
}

#[test]
fn each_kind_of_running_has_a_clock_of_its_own() {
    let mut log = with_turnstone();
    log.at(1.0, showed(2.0));
    log.at(4.0, ran("turnstone", RunKind::Rehearsal, 0.5));
    log.at(5.0, ran("turnstone", RunKind::Test, 0.25));
    log.at(6.0, ran("turnstone", RunKind::Rewind, 0.2));
    let clocks = log.turnstone().clocks;
    is(clocks.showing, 2.0);
    is(clocks.testing, 0.75);
    is(clocks.rewinding, 0.2);
    is(clocks.hours_run(), 2.75);
    is(clocks.motor(), 2.95);
    // The lamp burns in showings and rehearsals, and is struck once for each.
    is(clocks.lit, 2.5);
    assert_eq!(clocks.strikes, 2);
}

#[test]
fn runs_are_stretched_to_what_the_meter_gained() {
    let mut log = with_turnstone();
    log.at(1.0, meter(100.0));
    log.at(24.0, showed(2.0));
    log.at(48.0, cared("gate-brush", logbook::fact::Outcome::Done));
    log.at(72.0, showed(2.0));
    log.at(96.0, meter(104.4));
    let machine = log.turnstone();
    is(machine.clocks.hours_run(), 4.4);
    is(machine.care[&care_point("gate-brush")].clocks.hours_run(), 2.2);
    assert_eq!(log.asked(), Vec::<String>::new());
}

#[test]
fn hours_that_nobody_wrote_down_are_spread_over_the_days() {
    let mut log = with_turnstone();
    log.at(0.0, meter(100.0));
    log.at(120.0, cared("gate-brush", logbook::fact::Outcome::Done));
    log.at(240.0, meter(110.0));
    let machine = log.turnstone();
    is(machine.clocks.showing, 10.0);
    is(machine.clocks.estimated, 10.0);
    is(machine.care[&care_point("gate-brush")].clocks.hours_run(), 5.0);
}

#[test]
fn a_lower_reading_is_left_out_and_asked_about() {
    let mut log = with_turnstone();
    log.at(1.0, meter(100.0));
    log.at(24.0, meter(90.0));
    log.at(48.0, showed(2.0));
    log.at(72.0, meter(102.0));
    is(log.turnstone().clocks.hours_run(), 2.0);
    assert_eq!(
        log.asked(),
        ["the meter shows 90 h, less than the 100 h read before; the figure is left out"]
    );
}

#[test]
fn a_new_meter_begins_a_new_count() {
    let mut log = with_turnstone();
    log.at(1.0, meter(1900.0));
    log.at(24.0, showed(2.0));
    log.at(48.0, meter_jump(MeterChange::Replaced, Some(1902.2), 0.0));
    log.at(72.0, showed(2.0));
    log.at(96.0, meter(2.0));
    is(log.turnstone().clocks.hours_run(), 4.2);
    assert_eq!(log.asked(), Vec::<String>::new());
}

#[test]
fn a_meter_that_rolled_over_counted_on() {
    let mut log = with_turnstone();
    log.at(1.0, meter(9998.0));
    log.at(24.0, showed(5.0));
    log.at(48.0, meter_jump(MeterChange::RolledOver, None, 3.5));
    is(log.turnstone().clocks.hours_run(), 5.5);
    assert_eq!(log.asked(), Vec::<String>::new());
}
