//! How hours are counted: what a projectionist writes, and what the clocks then show.

use crate::kit::*;
use logbook::fact::{MachineAdded, MeterChange, Outcome, Ran, RunKind};

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
    log.at(48.0, cared("gate-brush", Outcome::Done));
    log.at(72.0, showed(2.0));
    log.at(96.0, meter(104.4));
    let machine = log.turnstone();
    is(machine.clocks.hours_run(), 4.4);
    is(machine.care[&care_point("gate-brush")].clocks.hours_run(), 2.2);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn hours_that_nobody_wrote_down_are_spread_over_the_days() {
    let mut log = with_turnstone();
    log.at(0.0, meter(100.0));
    log.at(120.0, cared("gate-brush", Outcome::Done));
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
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn a_meter_that_rolled_over_counted_on() {
    let mut log = with_turnstone();
    log.at(1.0, meter(9998.0));
    log.at(24.0, showed(5.0));
    log.at(48.0, meter_jump(MeterChange::RolledOver, None, 3.5));
    is(log.turnstone().clocks.hours_run(), 5.5);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn a_meter_that_rolled_over_from_far_below_its_top_is_asked_about() {
    let mut log = with_turnstone();
    log.at(1.0, meter(500.0));
    log.at(24.0, showed(5.0));
    log.at(48.0, meter_jump(MeterChange::RolledOver, None, 3.5));
    is(log.turnstone().clocks.hours_run(), 5.0);
    assert_eq!(log.turnstone().meter.unwrap().reading, h(3.5));
    assert_eq!(log.asked().len(), 1);
}

#[test]
fn a_meter_set_back_to_nothing_loses_nothing() {
    let mut log = with_turnstone();
    log.at(1.0, meter(40.0));
    log.at(24.0, showed(2.0));
    log.at(48.0, meter_jump(MeterChange::Reset, None, 0.0));
    log.at(72.0, showed(2.0));
    log.at(96.0, meter(2.2));
    is(log.turnstone().clocks.hours_run(), 4.2);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn a_reading_that_gained_more_hours_than_have_passed_is_left_out() {
    let mut log = with_turnstone();
    log.at(1.0, meter(112.0));
    log.at(25.0, meter(1120.0));
    log.at(49.0, meter(114.0));
    is(log.turnstone().clocks.hours_run(), 2.0);
    let asked = log.asked();
    assert_eq!(asked.len(), 1);
    assert!(asked[0].contains("more hours than have passed"), "{}", asked[0]);
}

#[test]
fn runs_that_are_missing_are_asked_about_and_the_meter_counts() {
    let mut log = with_turnstone();
    log.at(1.0, meter(100.0));
    log.at(24.0, showed(2.0));
    log.at(240.0, meter(112.0));
    let machine = log.turnstone();
    is(machine.clocks.hours_run(), 12.0);
    // Ten hours are inferred; the one run that was written stays as it was written.
    is(machine.clocks.estimated, 10.0);
    is(machine.runs[0].hours, 2.0);
    assert!(
        log.asked()[0].contains("the meter gained 12.0 h but the runs add up to 2.0 h"),
        "{:?}",
        log.asked()
    );
}

#[test]
fn a_meter_that_stands_still_while_the_machine_runs_does_not_stop_the_clocks() {
    let mut log = with_turnstone();
    log.at(1.0, meter(100.0));
    log.at(24.0, showed(2.0));
    log.at(48.0, showed(2.0));
    log.at(72.0, meter(100.0));
    is(log.turnstone().clocks.hours_run(), 4.0);
    assert!(log.asked()[0].contains("as if the meter stood still"), "{:?}", log.asked());
}

#[test]
fn rewinding_on_the_machine_takes_its_share_of_what_the_meter_gained() {
    let mut log = with_turnstone();
    log.at(1.0, meter(100.0));
    log.at(24.0, showed(2.0));
    log.at(27.0, ran("turnstone", RunKind::Rewind, 0.4));
    log.at(48.0, meter(102.4));
    let clocks = log.turnstone().clocks;
    is(clocks.hours_run(), 2.0);
    is(clocks.rewinding, 0.4);
}

#[test]
fn runs_of_a_machine_without_meter_count_as_written_and_guesses_are_told_apart() {
    let mut log = with_turnstone();
    log.at(1.0, showed(2.0));
    log.at(24.0, Ran { estimated: true, ..showed(1.5) });
    let clocks = log.turnstone().clocks;
    is(clocks.hours_run(), 3.5);
    is(clocks.estimated, 1.5);
}

#[test]
fn a_guess_is_corrected_later() {
    let mut log = with_turnstone();
    let guess = log.at(24.0, Ran { estimated: true, ..showed(1.5) });
    log.at(48.0, cared("gate-brush", Outcome::Done));
    log.at(72.0, corrects(guess, showed(1.8)));
    let machine = log.turnstone();
    is(machine.clocks.hours_run(), 1.8);
    is(machine.clocks.estimated, 0.0);
    is(machine.care[&care_point("gate-brush")].clocks.hours_run(), 1.8);
}

#[test]
fn hours_before_entry_hold_what_is_written_for_days_before_it() {
    let mut log = Log::default();
    log.at(240.0, MachineAdded { hours_before: Some(h(3120.0)), ..machine("turnstone") });
    log.at(24.0, showed(2.0));
    log.at(120.0, cared("gate-brush", Outcome::Done));
    log.at(264.0, showed(1.0));
    let machine = log.turnstone();
    is(machine.clocks.hours_run(), 3121.0);
    is(machine.care[&care_point("gate-brush")].clocks.hours_run(), 3120.0);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn lamp_hours_and_strikes_of_runs_before_entry_count_for_no_figure_holds_them() {
    let mut log = Log::default();
    log.at(240.0, MachineAdded { hours_before: Some(h(3120.0)), ..machine("turnstone") });
    log.at(24.0, showed(2.0));
    log.at(48.0, Ran { lit_hours: Some(h(0.5)), strikes: Some(3), ..ran("turnstone", RunKind::Test, 1.0) });
    let before = log.at(120.0, cared("lamp-look", Outcome::Done));
    log.at(264.0, showed(1.0));
    let machine = log.turnstone();
    is(machine.clocks.hours_run(), 3121.0);
    is(machine.clocks.lit, 3.5);
    assert_eq!(machine.clocks.strikes, 5);
    let then = &machine.care[&care_point("lamp-look")];
    assert_eq!(then.entry, before);
    is(then.clocks.lit, 2.5);
    assert_eq!(then.clocks.strikes, 4);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn without_hours_before_the_meter_figure_is_taken_as_read() {
    let mut log = Log::default();
    log.at(0.0, MachineAdded { hours_before: None, meter_hours: Some(h(1890.0)), ..machine("turnstone") });
    log.at(24.0, showed(2.0));
    log.at(48.0, meter(1892.0));
    let machine = log.turnstone();
    is(machine.clocks.hours_run(), 1892.0);
    is(machine.clocks.estimated, 0.0);
    let added = crate::kit::machine("turnstone");
    let guessed =
        MachineAdded { hours_before: None, meter_hours: Some(h(1890.0)), hours_estimated: true, ..added };
    let mut log = Log::default();
    log.at(0.0, guessed);
    is(log.turnstone().clocks.estimated, 1890.0);
    assert!(!machine.hours_before_unknown);
}

#[test]
fn hours_that_cannot_be_are_left_out_and_asked_about() {
    let mut log = with_turnstone();
    for hours in [-1.0, 25.0, f64::NAN, f64::INFINITY] {
        log.at(24.0, showed(hours));
    }
    is(log.turnstone().clocks.hours_run(), 0.0);
    assert_eq!(log.asked().len(), 4);
}

#[test]
fn the_same_run_written_twice_counts_twice_and_is_asked_about() {
    let mut log = with_turnstone();
    log.at(24.0, showed(2.0));
    log.at(24.0, showed(2.0));
    is(log.turnstone().clocks.hours_run(), 4.0);
    assert!(log.asked()[0].starts_with("the same run stands in entry"), "{:?}", log.asked());
}

#[test]
fn a_print_keeps_count_of_its_passes() {
    let mut log = with_turnstone();
    log.at(24.0, Ran { print: Some("loop".into()), passes: Some(12), ..showed(2.0) });
    log.at(48.0, Ran { print: Some("loop".into()), ..showed(1.0) });
    // The print was entered for a later day than it first ran.
    log.at(72.0, print("loop"));
    let print = log.booth().prints["loop"].clone();
    assert_eq!(print.passes, 13);
    is(print.hours, 3.0);
    assert_eq!(log.asked(), NOTHING);
}
