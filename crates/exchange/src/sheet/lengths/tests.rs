#![allow(clippy::unwrap_used)]

use super::*;

fn minutes(cell: &str) -> f64 {
    read_length(cell, Decimal::Comma, LengthUnit::Minutes)
        .unwrap_or_else(|no| panic!("{cell}: {no:?}"))
        .as_minutes()
}

#[test]
fn an_hour_and_a_half_in_all_its_ways() {
    for cell in [
        "1:30",
        "01:30",
        "1:30:00",
        "1h30",
        "1 h 30",
        "1h30m",
        "1 h 30 min",
        "1hr 30mins",
        "90",
        "90 min",
        "90'",
        "90′",
        "90 Min.",
        "1,5 h",
        "1.5 h",
        "1,5 Std.",
        "1 Std. 30 Min.",
        "1 heure 30",
        "1 hora 30 minutos",
        "5400 s",
        "1:30 h",
    ] {
        assert!((minutes(cell) - 90.0).abs() < 1e-9, "{cell}: {}", minutes(cell));
    }
    let hours = read_length("1.5", Decimal::Point, LengthUnit::Hours).unwrap();
    assert_eq!(hours.hours(), 1.5);
    assert_eq!(minutes("-45 min"), -45.0);
}

#[test]
fn what_is_no_length_is_refused() {
    for cell in
        ["", "long", "1:75", "1:2:3:4", "30 min 1 h", "90 m2", "1 h 30 40", "3 reels", ":", "1:", "12o min"]
    {
        assert!(read_length(cell, Decimal::Point, LengthUnit::Minutes).is_err(), "{cell}");
    }
}
