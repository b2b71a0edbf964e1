//! Events that call for care, whatever the hours say.

use crate::kit::{Log, item, maybe_item};
use booth::DueState;
use logbook::fact::Ending;
use machine::Trigger;

#[test]
fn a_transport_calls_for_the_check_until_it_is_done() {
    let mut log = Log::new();
    assert!(maybe_item(&log.fold(), "turnstone", "transport-check", "2026-03-01 12:00").is_none());
    log.event("2026-03-01 10:00", "turnstone", "transport");
    let booth = log.fold();
    let check = item(&booth, "transport-check", "2026-03-01 12:00");
    assert_eq!((check.state, check.called_by), (DueState::Due, Some(Trigger::AfterTransport)));
    log.did("2026-03-01 15:00", "turnstone", "transport-check");
    assert!(maybe_item(&log.fold(), "turnstone", "transport-check", "2026-03-01 16:00").is_none());
    log.event("2026-03-09 10:00", "turnstone", "after-transport");
    assert!(maybe_item(&log.fold(), "turnstone", "transport-check", "2026-03-09 12:00").is_some());
}

#[test]
fn after_a_repair_the_electrical_test_is_due_long_before_its_year() {
    let mut log = Log::new();
    log.by("tarn").did("2026-02-01 10:00", "turnstone", "electrical-test");
    log.by("wren").event("2026-03-01 10:00", "turnstone", "repair");
    let booth = log.fold();
    let test = item(&booth, "electrical-test", "2026-03-02 12:00");
    assert_eq!((test.state, test.called_by), (DueState::Due, Some(Trigger::Repair)));
    assert!(test.remaining_days().unwrap() > 300);
    assert_eq!(test.forecast_in_days(), Some(0));
}

#[test]
fn an_event_of_a_day_to_come_calls_for_nothing_yet() {
    let mut log = Log::new();
    log.event("2026-06-01 10:00", "turnstone", "transport");
    assert!(maybe_item(&log.fold(), "turnstone", "transport-check", "2026-03-01 12:00").is_none());
}

#[test]
fn thirty_idle_days_call_for_a_run() {
    let mut log = Log::new();
    log.ran("2026-01-10 20:00", "turnstone", 2.0);
    let booth = log.fold();
    assert!(maybe_item(&booth, "turnstone", "exercise", "2026-02-09 12:00").is_none());
    let exercise = item(&booth, "exercise", "2026-02-09 21:00");
    assert_eq!((exercise.state, exercise.called_by), (DueState::Due, Some(Trigger::IdleDays(30))));
}

#[test]
fn a_showing_after_the_idle_time_is_an_exercise_run() {
    let mut log = Log::new();
    log.ran("2026-01-10 20:00", "turnstone", 2.0);
    assert!(maybe_item(&log.fold(), "turnstone", "exercise", "2026-03-10 12:00").is_some());
    log.ran("2026-03-10 20:00", "turnstone", 9.0 / 60.0);
    assert!(
        maybe_item(&log.fold(), "turnstone", "exercise", "2026-03-11 12:00").is_some(),
        "nine minutes are too few"
    );
    log.ran("2026-03-11 20:00", "turnstone", 10.0 / 60.0);
    assert!(maybe_item(&log.fold(), "turnstone", "exercise", "2026-03-12 12:00").is_none());
}

#[test]
fn a_short_run_leaves_the_exercise_run_to_do() {
    let mut log = Log::new();
    log.ran("2026-01-10 20:00", "turnstone", 2.0);
    log.ran("2026-03-10 20:00", "turnstone", 0.1);
    assert!(maybe_item(&log.fold(), "turnstone", "exercise", "2026-03-11 12:00").is_some());
    log.did("2026-03-11 13:00", "turnstone", "exercise");
    assert!(maybe_item(&log.fold(), "turnstone", "exercise", "2026-03-12 12:00").is_none());
}

#[test]
fn idle_days_count_again_from_when_it_was_last_exercised() {
    let mut log = Log::new();
    log.ran("2026-01-10 20:00", "turnstone", 2.0);
    log.did("2026-02-10 12:00", "turnstone", "exercise");
    let booth = log.fold();
    assert!(maybe_item(&booth, "turnstone", "exercise", "2026-03-05 12:00").is_none());
    assert!(maybe_item(&booth, "turnstone", "exercise", "2026-03-13 12:00").is_some());
}

#[test]
fn a_lamp_that_died_before_half_its_life_calls_for_the_technician() {
    let mut log = Log::new();
    log.fitted("2026-01-05 10:00", "turnstone", "lamp", "lamp-1", Some(0.0));
    log.ran_daily("2026-01-06", 10, "turnstone", 2.0);
    log.replaced("2026-01-16 18:00", "turnstone", "lamp", "lamp-2", Ending::Failed);
    let booth = log.fold();
    let volts = item(&booth, "lamp-volts", "2026-01-17 12:00");
    assert_eq!(volts.called_by, Some(Trigger::LampDiedEarly), "20 h of a life of 50 h");
}

#[test]
fn a_lamp_that_died_late_or_was_changed_as_planned_does_not() {
    let mut log = Log::new();
    log.fitted("2026-01-05 10:00", "turnstone", "lamp", "lamp-1", Some(10.0));
    log.ran_daily("2026-01-06", 10, "turnstone", 2.0);
    log.replaced("2026-01-16 18:00", "turnstone", "lamp", "lamp-2", Ending::Failed);
    log.replaced("2026-01-17 18:00", "turnstone", "lamp", "lamp-3", Ending::Planned);
    assert!(maybe_item(&log.fold(), "turnstone", "lamp-volts", "2026-01-18 12:00").is_none());
}

#[test]
fn a_changed_lamp_calls_for_a_look_at_its_holder_but_not_the_one_it_came_with() {
    let mut log = Log::new();
    log.fitted("2026-01-01 10:00", "turnstone", "lamp", "lamp-1", None);
    assert!(maybe_item(&log.fold(), "turnstone", "lamp-holder-look", "2026-01-10 12:00").is_none());
    log.replaced("2026-01-16 18:00", "turnstone", "lamp", "lamp-2", Ending::Planned);
    let booth = log.fold();
    assert_eq!(item(&booth, "lamp-holder-look", "2026-01-17 12:00").called_by, Some(Trigger::LampChanged));
}
