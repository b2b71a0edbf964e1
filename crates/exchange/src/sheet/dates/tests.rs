#![allow(clippy::unwrap_used)]

use super::*;

const THIS_YEAR: i16 = 2026;

fn day(cell: &str) -> Day {
    read_day(cell, THIS_YEAR).unwrap_or_else(|why| panic!("{cell}: {why}")).0
}

#[test]
fn dates_with_only_one_reading() {
    let third_of_november = date(2025, 11, 3);
    for cell in [
        "2025-11-03",
        "2025/11/3",
        "2025.11.03",
        "20251103",
        "3 Nov 2025",
        "3-Nov-25",
        "3rd November 2025",
        "Nov 3, 2025",
        "November 3rd, 2025",
        "Mon 3 Nov 2025",
        "Monday, 3 November 2025",
        "3. November 2025",
        "Mo, 3. Nov. 2025",
        "le 3 novembre 2025",
        "lun. 3 nov. 2025",
        "3 de noviembre de 2025",
        "2025 Nov 3",
        // A spreadsheet program's day number; 45964 is the day that programs show for 2025-11-03.
        "45964",
    ] {
        assert_eq!(day(cell), Day::Sure(third_of_november), "{cell}");
    }
    assert_eq!(day("3 März 2025"), Day::Sure(date(2025, 3, 3)));
    assert_eq!(day("1er août 2025"), Day::Sure(date(2025, 8, 1)));
    assert_eq!(day("mar 4 mars 2025"), Day::Sure(date(2025, 3, 4)), "Tuesday, then March");
    assert_eq!(day("Mar 4 2025"), Day::Sure(date(2025, 3, 4)), "March");
    assert_eq!(day("mar 04/03/2025"), Day::Figures([(4, 2), (3, 2), (2025, 4)]), "Tuesday, then figures");
    assert_eq!(day("Nov 2025"), Day::Month(date(2025, 11, 15)));
    assert_eq!(day("11/2025"), Day::Month(date(2025, 11, 15)));
}

/// ECMA-376 part 1, 18.17.4.1: in the 1900 system day 1 is 1900-01-01 and, counting the 29 February 1900 that never
/// was, day 39448 is 2008-01-01 (from memory); 45964.8125 is 19:30 of its day.
#[test]
fn day_numbers_of_spreadsheet_programs() {
    assert_eq!(day("39448"), Day::Sure(date(2008, 1, 1)));
    let (_, clock) = read_day("45964.8125", THIS_YEAR).unwrap();
    assert_eq!(clock.unwrap().time, time(19, 30, 0, 0));
    let (_, clock) = read_day("45964,8125", THIS_YEAR).unwrap();
    assert_eq!(clock.unwrap().time, time(19, 30, 0, 0));
}

#[test]
fn dates_in_figures_wait_for_their_order() {
    let figures = |cell| match day(cell) {
        Day::Figures(figures) => figures,
        other => panic!("{cell}: {other:?}"),
    };
    for cell in ["3/11/2025", "3.11.2025", "03-11-2025", "3.11.25", "3 11 2025"] {
        let found = figures(cell);
        assert_eq!(in_order(found, DateOrder::DayMonthYear, THIS_YEAR), Ok(date(2025, 11, 3)), "{cell}");
        assert_eq!(in_order(found, DateOrder::MonthDayYear, THIS_YEAR), Ok(date(2025, 3, 11)), "{cell}");
    }
    assert_eq!(in_order(figures("25-11-03"), DateOrder::YearMonthDay, THIS_YEAR), Ok(date(2025, 11, 3)));
    assert_eq!(in_order(figures("1.5.27"), DateOrder::DayMonthYear, THIS_YEAR), Ok(date(2027, 5, 1)));
    assert_eq!(in_order(figures("1.5.68"), DateOrder::DayMonthYear, THIS_YEAR), Ok(date(1968, 5, 1)));
    assert!(in_order(figures("31/4/2025"), DateOrder::DayMonthYear, THIS_YEAR).is_err());
}

#[test]
fn dates_carry_times_behind_them() {
    for cell in [
        "2025-11-03 19:30",
        "2025-11-03T19:30:00",
        "2025-11-03T19:30:00+01:00",
        "3.11.2025 19.30 Uhr",
        "3.11.25 19:30",
        "Nov 3, 2025 7:30 PM",
        "11/3/2025 7:30pm",
        "3 Nov 2025, 19h30",
    ] {
        let (_, clock) = read_day(cell, THIS_YEAR).unwrap();
        assert_eq!(clock.unwrap().time, time(19, 30, 0, 0), "{cell}");
    }
}

#[test]
fn what_is_no_date_is_refused_with_a_reason() {
    for (cell, why) in [
        ("", "no date"),
        ("tomorrow", "no date"),
        ("3 Nov", "no year"),
        ("3/11", "no year"),
        ("31 April 2025", "no day 31 of month 4"),
        ("2025-02-29", "no day 29 of month 2"),
        ("12345678901234567890", "no date"),
        ("2025-11-03 about noon", "no time of day"),
    ] {
        let told = read_day(cell, THIS_YEAR).unwrap_err();
        assert!(told.contains(why), "{cell}: {told}");
    }
}

#[test]
fn times_of_day() {
    for cell in [
        "19:30",
        "19.30",
        "19h30",
        "19.30 Uhr",
        "1930",
        "7.30pm",
        "7:30 p.m.",
        "7:30 PM",
        "19:30:00",
        "0.8125",
        "0,8125",
    ] {
        let clock = read_clock(cell).unwrap_or_else(|| panic!("{cell}"));
        assert_eq!((clock.time, clock.days), (time(19, 30, 0, 0), 0), "{cell}");
    }
    for (cell, hour, days) in [
        ("12am", 0, 0),
        ("12pm", 12, 0),
        ("noon", 12, 0),
        ("midnight", 0, 1),
        ("24:00", 0, 1),
        ("8 Uhr", 8, 0),
    ] {
        let clock = read_clock(cell).unwrap_or_else(|| panic!("{cell}"));
        assert_eq!((clock.time, clock.days), (time(hour, 0, 0, 0), days), "{cell}");
    }
    for cell in ["", "late", "25:00", "19:75", "13pm", "0pm", "7:30 xm", "1:2:3:4:5", "-7:30pm x"] {
        assert_eq!(read_clock(cell), None, "{cell}");
    }
}
