//! Days and evenings.

use units::civil::{self, Date, DateTime, Evening, date, time};
use units::read;

#[test]
fn a_showing_past_midnight_belongs_to_the_evening_on_which_it_began() {
    let friday = Evening::on(date(2026, 3, 6));
    for moment in [
        date(2026, 3, 6).at(19, 30, 0, 0),
        date(2026, 3, 7).at(0, 10, 0, 0),
        date(2026, 3, 7).at(4, 59, 59, 0),
    ] {
        assert_eq!(Evening::of(moment, civil::NIGHT_ENDS), friday, "{moment}");
    }
    assert_eq!(Evening::of(date(2026, 3, 7).at(5, 0, 0, 0), civil::NIGHT_ENDS).date(), date(2026, 3, 7));
}

#[test]
fn the_end_of_the_night_is_the_booths_to_set() {
    let moment = date(2026, 1, 1).at(1, 0, 0, 0);
    assert_eq!(Evening::of(moment, time(0, 0, 0, 0)).date(), date(2026, 1, 1));
    assert_eq!(Evening::of(moment, time(3, 0, 0, 0)).date(), date(2025, 12, 31));
}

#[test]
fn the_first_day_of_the_calendar_has_no_evening_before_it() {
    assert_eq!(Evening::of(DateTime::MIN, civil::NIGHT_ENDS).date(), Date::MIN);
}

#[test]
fn dates_are_written_and_read_as_iso_8601() {
    let day = date(2026, 3, 7);
    assert_eq!(civil::iso(day), "2026-03-07");
    assert_eq!(read::date(" 2026-03-07 "), Ok(day));
    assert_eq!("2026-03-07".parse::<Evening>(), Ok(Evening::on(day)));
    assert_eq!(Evening::on(day).to_string(), "2026-03-07");
    for wrong in ["7.3.2026", "2026-02-30", "tomorrow", ""] {
        let refusal = read::date(wrong).unwrap_err().to_string();
        assert!(refusal.contains("is not a date") && refusal.contains("2026-03-07"), "{refusal}");
    }
}

#[test]
fn days_are_counted_across_a_leap_day_and_backwards() {
    assert_eq!(civil::days_between(date(2028, 2, 28), date(2028, 3, 1)), 2);
    assert_eq!(civil::days_between(date(2027, 3, 1), date(2027, 2, 28)), -1);
    assert_eq!(civil::days_between(date(2027, 3, 1), date(2027, 3, 1)), 0);
    assert_eq!(civil::days_between(Date::MIN, Date::MAX), 7_304_483);
}
