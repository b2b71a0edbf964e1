//! Care that was put off, for a reason and up to a limit.

use crate::kit::{Log, day, item, near};
use booth::{CaveatKind, DueState};

fn overdue_rollers() -> Log {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    log
}

#[test]
fn put_off_until_a_day_it_is_deferred_until_then() {
    let mut log = overdue_rollers();
    log.put_off("2026-04-15 12:00", "turnstone", "guide-rollers", None, Some("2026-05-01"));
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-04-20 12:00");
    assert_eq!((rollers.state, rollers.remaining_days()), (DueState::Deferred, Some(11)));
    assert_eq!(rollers.forecast_date(), Some(day("2026-05-01")));
    assert_eq!(rollers.deferral.unwrap().why, "no oil left");
}

#[test]
fn when_the_day_comes_it_is_as_late_as_it_is() {
    let mut log = overdue_rollers();
    log.put_off("2026-04-15 12:00", "turnstone", "guide-rollers", None, Some("2026-05-01"));
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-05-01 12:00");
    assert_eq!((rollers.state, rollers.remaining_days()), (DueState::Overdue, Some(-29)));
    assert!(rollers.caveats().iter().any(|caveat| caveat.kind == CaveatKind::DeferralNotHeld));
}

#[test]
fn put_off_until_so_many_hours_run_it_ends_with_them() {
    let mut log = overdue_rollers();
    log.put_off("2026-04-15 12:00", "turnstone", "guide-rollers", Some(1010.0), None);
    log.ran("2026-04-16 20:00", "turnstone", 4.0);
    let rest = log.fold();
    let rollers = item(&rest, "guide-rollers", "2026-04-17 12:00");
    assert_eq!(rollers.state, DueState::Deferred);
    assert!(near(rollers.remaining_hours().unwrap().hours(), 6.0));
    log.ran("2026-04-17 20:00", "turnstone", 6.0);
    assert_eq!(item(&log.fold(), "guide-rollers", "2026-04-18 12:00").state, DueState::Overdue);
}

#[test]
fn doing_it_ends_the_deferral() {
    let mut log = overdue_rollers();
    log.put_off("2026-04-15 12:00", "turnstone", "guide-rollers", None, Some("2026-09-01"));
    log.did("2026-04-20 18:00", "turnstone", "guide-rollers");
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-04-21 12:00");
    assert_eq!((rollers.state, rollers.deferral), (DueState::Ok, None));
    assert_eq!(rollers.forecast_date(), Some(day("2026-06-19")));
}

#[test]
fn doing_the_bigger_task_ends_it_too() {
    let mut log = overdue_rollers();
    log.put_off("2026-04-15 12:00", "turnstone", "guide-rollers", None, Some("2026-09-01"));
    log.did("2026-04-20 18:00", "turnstone", "roller-shafts");
    let booth = log.fold();
    assert_eq!(item(&booth, "guide-rollers", "2026-04-21 12:00").deferral, None);
}

/// A safety task is put off by nobody: common practice, no source.
#[test]
fn what_safety_hangs_on_stays_due_whatever_was_written() {
    let mut log = Log::new();
    log.did("2026-01-02 18:00", "turnstone", "heat-filter-look");
    log.put_off("2026-08-01 12:00", "turnstone", "heat-filter-look", None, Some("2027-01-01"));
    let booth = log.fold();
    let filter = item(&booth, "heat-filter-look", "2026-08-02 12:00");
    assert_eq!(filter.state, DueState::Overdue);
    assert!(filter.caveats().iter().any(|caveat| caveat.words.contains("safety hangs on it")));
}

#[test]
fn what_is_not_due_yet_is_not_called_deferred() {
    let mut log = overdue_rollers();
    log.put_off("2026-02-10 12:00", "turnstone", "guide-rollers", None, Some("2026-09-01"));
    let booth = log.fold();
    assert_eq!(item(&booth, "guide-rollers", "2026-02-15 12:00").state, DueState::Ok);
}
