//! Nights, and nights on which the clocks change.

use crate::kit::{Log, at, day, item, near, types, utc};
use booth::{Now, WalkKind};

#[test]
fn what_is_done_after_midnight_belongs_to_the_evening_before() {
    let mut log = Log::new();
    log.did("2026-02-02 00:40", "turnstone", "supply-oil");
    let booth = log.fold();
    assert_eq!(item(&booth, "supply-oil", "2026-02-02 12:00").remaining_days(), Some(89));
}

#[test]
fn at_one_in_the_morning_it_is_still_the_same_evening() {
    let mut log = Log::new();
    log.planned("late", "2026-02-01 22:30", 180.0, &["turnstone"]);
    let booth = log.fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-02-02 00:45")).value;
    assert_eq!(tonight.evening, day("2026-02-01"));
    assert_eq!(tonight.this_evening.len(), 1, "{}", tonight.sentence);
    assert!(tonight.this_evening[0].minutes_till_start < 0);
    assert!(tonight.sentence.starts_with("Now running:"), "{}", tonight.sentence);
}

#[test]
fn a_showing_that_starts_after_midnight_belongs_to_the_evening_before() {
    let mut log = Log::new();
    log.planned("midnight", "2026-02-02 00:15", 90.0, &["turnstone"]);
    let booth = log.fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-02-01 19:00")).value;
    assert_eq!(tonight.this_evening.len(), 1);
    assert_eq!(tonight.this_evening[0].evening, day("2026-02-01"));
}

#[test]
fn a_check_after_midnight_counts_for_the_late_showing() {
    let mut log = Log::new();
    log.planned("midnight", "2026-02-02 01:00", 90.0, &["turnstone"]);
    log.did("2026-02-02 00:20", "turnstone", "mains-look");
    let booth = log.fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-02-02 00:30")).value;
    let machine = &tonight.this_evening[0].machines[0];
    let done: Vec<&str> =
        machine.before.iter().filter(|(_, done)| done.is_some()).map(|(task, _)| task.id.as_str()).collect();
    assert_eq!(done, ["mains-look"]);
}

#[test]
fn the_walk_of_the_next_evening_starts_anew() {
    let mut log = Log::new();
    log.did("2026-02-01 19:00", "turnstone", "gate-brush");
    let booth = log.fold();
    let done = |now| {
        booth::walk(&booth, types(), "turnstone", WalkKind::BeforeShowing, &at(now)).unwrap().value.n_done()
    };
    assert_eq!((done("2026-02-01 20:00"), done("2026-02-02 03:00"), done("2026-02-02 19:00")), (1, 1, 0));
}

/// Clocks go forward on 29 March 2026 and back on 25 October 2026 in this zone (IANA time zone database).
#[test]
fn a_showing_across_the_change_of_clocks_is_as_long_as_it_is() {
    let mut log = Log::new();
    log.planned("autumn", "2026-10-25 00:00", 180.0, &["turnstone"]);
    let booth = log.fold();
    let showing = booth.showings.get("autumn").unwrap();
    assert_eq!(showing.starts.timestamp(), utc("2026-10-24T23:00:00Z"));
    assert_eq!(
        showing.ends(),
        utc("2026-10-25T02:00:00Z"),
        "three hours later, though the wall shows two o'clock"
    );
    let still_on =
        booth::tonight(&booth, types(), &"2026-10-25T01:59:00+00:00[Europe/Lisbon]".parse().unwrap());
    assert_eq!(still_on.value.this_evening.len(), 1);
    let over = booth::tonight(&booth, types(), &"2026-10-25T02:01:00+00:00[Europe/Lisbon]".parse().unwrap());
    assert!(over.value.this_evening.is_empty());
}

#[test]
fn days_are_counted_by_the_calendar_across_the_change_of_clocks() {
    let mut log = Log::new();
    log.did("2026-03-28 23:30", "turnstone", "supply-oil");
    let booth = log.fold();
    assert_eq!(item(&booth, "supply-oil", "2026-03-29 23:30").remaining_days(), Some(89));
    assert_eq!(item(&booth, "supply-oil", "2026-06-26 08:00").remaining_days(), Some(0));
}

#[test]
fn minutes_until_the_doors_are_real_minutes_across_the_change_of_clocks() {
    let mut log = Log::new();
    log.planned("early", "2026-03-29 09:00", 60.0, &["turnstone"]);
    let booth = log.fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-03-28 23:00")).value;
    assert_eq!(tonight.next_days[0].minutes_till_start, 9 * 60, "one hour of that night is left out");
}

#[test]
fn a_booth_may_let_its_night_end_at_midnight() {
    let settings =
        logbook::booth::Settings { night_ends: jiff::civil::time(0, 0, 0, 0), ..Default::default() };
    let now = Now::new(&at("2026-02-02 00:40"), &settings);
    assert_eq!(now.day.date(), day("2026-02-02"));
}

#[test]
fn a_day_before_1970_and_a_far_one_keep_their_dates() {
    for date in ["1936-02-29", "1969-12-31", "1970-01-01", "2100-03-01"] {
        assert_eq!(booth::Day::on(day(date)).date(), day(date));
    }
    assert!(near(f64::from(booth::Day::on(day("2026-03-01")).since(booth::Day::on(day("2026-02-28")))), 1.0));
}
