//! On which day, and in which showing, care falls due.

use crate::kit::{Log, day, item, near};
use booth::DueState;

/// Ninety hours run since the rollers were done: ten are left, the diary has 2 h on each of ten evenings.
fn ten_hours_left() -> Log {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    log.ran_daily("2026-02-02", 18, "turnstone", 5.0);
    log
}

#[test]
fn the_diary_says_in_which_showing_the_hours_are_used_up() {
    let mut log = ten_hours_left();
    for n in 0..8 {
        log.planned(&format!("s{n}"), &format!("2026-03-{:02} 19:30", 1 + n), 150.0, &["turnstone"]);
    }
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-02-22 12:00");
    assert!(near(rollers.remaining_hours().unwrap().hours(), 10.0));
    assert_eq!(rollers.forecast_showing.unwrap().as_str(), "s3", "4 x 2.5 h are 10 h");
    assert_eq!(rollers.forecast_date(), Some(day("2026-03-04")));
}

#[test]
fn two_machines_share_a_programme_so_each_runs_half() {
    let mut log = ten_hours_left();
    log.machine("2026-01-01 09:00", "dunlin");
    for n in 0..8 {
        log.planned(
            &format!("s{n}"),
            &format!("2026-03-{:02} 19:30", 1 + n),
            150.0,
            &["turnstone", "dunlin"],
        );
    }
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-02-22 12:00");
    assert_eq!(rollers.forecast_showing.unwrap().as_str(), "s7");
}

#[test]
fn past_the_diary_the_recent_rate_of_use_counts_on() {
    let mut log = Log::new();
    log.did("2026-06-01 18:00", "turnstone", "roller-shafts");
    log.ran_daily("2026-04-01", 90, "turnstone", 1.0);
    log.planned("last", "2026-07-10 19:30", 120.0, &["turnstone"]);
    let booth = log.fold();
    let shafts = item(&booth, "roller-shafts", "2026-06-30 12:00");
    // One hour a day for the last 90 days; 30 h run since, 220 left; 2 h of them in the diary until 10 July.
    assert!(
        near(shafts.remaining_hours().unwrap().hours(), 220.0 + 1.0),
        "evening of 1 June ran after the deed"
    );
    let in_days = shafts.forecast_in_days().unwrap();
    let use_per_day = 90.0 / 90.0;
    let expected = 10 + ((221.0_f64 - 1.0 - 2.0) / use_per_day).ceil() as i32;
    assert!((in_days - expected).abs() <= 3, "{in_days} against {expected}");
    assert!(shafts.forecast_showing.is_none());
}

#[test]
fn the_busier_of_the_last_months_and_the_last_year_counts() {
    let mut log = Log::new();
    log.did("2026-01-02 09:00", "turnstone", "roller-shafts");
    log.ran_daily("2026-01-03", 100, "turnstone", 2.0);
    let booth = log.fold();
    // Idle since mid April; 200 h in 250 days of log make 0.8 h a day, so 50 h last 63 days.
    let shafts = item(&booth, "roller-shafts", "2026-09-08 12:00");
    assert_eq!(shafts.forecast_in_days(), Some(63));
}

#[test]
fn a_machine_that_never_runs_falls_due_by_days_only() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    log.did("2026-02-01 18:00", "turnstone", "roller-shafts");
    let booth = log.fold();
    assert_eq!(item(&booth, "guide-rollers", "2026-02-22 12:00").forecast_date(), Some(day("2026-04-02")));
    assert_eq!(item(&booth, "roller-shafts", "2026-02-22 12:00").forecast_date(), None);
}

#[test]
fn by_days_it_falls_due_before_the_first_showing_on_or_after_its_day() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    log.planned("before", "2026-04-01 19:30", 60.0, &["turnstone"]);
    log.planned("after", "2026-04-05 19:30", 60.0, &["turnstone"]);
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-03-20 12:00");
    assert_eq!(rollers.forecast_date(), Some(day("2026-04-02")));
    assert_eq!(rollers.forecast_showing.unwrap().as_str(), "after");
}

#[test]
fn what_is_due_already_falls_due_today_and_before_the_next_showing() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    log.planned("next", "2026-05-08 19:30", 60.0, &["turnstone"]);
    log.planned("later", "2026-05-09 19:30", 60.0, &["turnstone"]);
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-05-01 12:00");
    assert_eq!((rollers.state, rollers.forecast_date()), (DueState::Overdue, Some(day("2026-05-01"))));
    assert_eq!(rollers.forecast_showing.unwrap().as_str(), "next");
}

#[test]
fn another_showing_in_the_diary_brings_the_date_forward() {
    let mut log = ten_hours_left();
    for n in 0..8 {
        log.planned(&format!("s{n}"), &format!("2026-03-{:02} 19:30", 1 + n), 150.0, &["turnstone"]);
    }
    log.planned("matinee", "2026-03-01 15:00", 150.0, &["turnstone"]);
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-02-22 12:00");
    assert_eq!(rollers.forecast_date(), Some(day("2026-03-03")));
}

#[test]
fn a_cancelled_showing_uses_no_hours() {
    let mut log = ten_hours_left();
    for n in 0..8 {
        log.planned(&format!("s{n}"), &format!("2026-03-{:02} 19:30", 1 + n), 150.0, &["turnstone"]);
    }
    log.cancelled("2026-02-21 12:00", "s1");
    let booth = log.fold();
    assert_eq!(item(&booth, "guide-rollers", "2026-02-22 12:00").forecast_showing.unwrap().as_str(), "s4");
}

#[test]
fn a_showing_that_was_held_is_not_counted_twice() {
    let mut log = ten_hours_left();
    for n in 0..8 {
        log.planned(&format!("s{n}"), &format!("2026-03-{:02} 19:30", 1 + n), 150.0, &["turnstone"]);
    }
    log.ran("2026-03-01 19:30", "turnstone", 2.5);
    log.held("2026-03-01 19:30", "s0", 150.0);
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-03-01 23:30");
    assert!(near(rollers.remaining_hours().unwrap().hours(), 7.5));
    assert_eq!(rollers.forecast_showing.unwrap().as_str(), "s3", "the forecast stays where it was");
}

#[test]
fn each_showing_is_one_strike_of_the_lamp() {
    let mut log = Log::new();
    log.did("2026-01-02 09:00", "turnstone", "lamp-strikes");
    log.ran_daily("2026-01-03", 17, "turnstone", 1.0);
    for n in 0..5 {
        log.planned(&format!("s{n}"), &format!("2026-02-{:02} 19:30", 1 + n), 60.0, &["turnstone"]);
    }
    let booth = log.fold();
    let pins = item(&booth, "lamp-strikes", "2026-01-25 12:00");
    assert_eq!(pins.remaining_strikes(), Some(3));
    assert_eq!(pins.forecast_showing.unwrap().as_str(), "s2");
}
