//! Quantities as they are shown.

use units::{Hours, Luminance, Metres, Seconds, show};

#[test]
fn lengths_are_shown_in_both_systems() {
    assert_eq!(show::room_length(Metres::from_feet(12.5)), "3.81 m (12 ft 6 in)");
    assert_eq!(show::feet_and_inches(Metres::from_inches(11.6)), "1 ft");
    assert_eq!(show::feet_and_inches(Metres::from_inches(6.0)), "6 in");
    assert_eq!(show::feet_and_inches(Metres::ZERO), "0 in");
    assert_eq!(show::feet_and_inches(Metres::from_feet(-2.0)), "-2 ft");
    assert_eq!(show::film_length(Metres::from_feet(400.0)), "121.9 m (400 ft)");
    assert_eq!(show::film_length(Metres::from_feet(4.95)), "1.5 m (5.0 ft)");
    assert_eq!(show::metric(Metres::from_millimetres(7.62)), "7.62 mm");
}

#[test]
fn running_times_carry_over_and_never_show_sixty() {
    for (seconds, shown) in [
        (666.666, "11:07"),
        (59.6, "1:00"),
        (3599.5, "1:00:00"),
        (3723.0, "1:02:03"),
        (0.0, "0:00"),
        (-5.0, "-0:05"),
        (-0.2, "0:00"),
    ] {
        assert_eq!(show::running_time(Seconds::new(seconds)), shown);
    }
    assert_eq!(show::running_time_in_tenths(Seconds::new(666.666)), "11:06.7");
    assert_eq!(show::running_time_in_tenths(Seconds::new(59.97)), "1:00.0");
}

#[test]
fn spans_hours_and_light() {
    for (seconds, shown) in [
        (20.0, "20 s"),
        (59.7, "1 min"),
        (2700.0, "45 min"),
        (5400.0, "1 h 30 min"),
        (7199.0, "2 h"),
        (-60.0, "-1 min"),
    ] {
        assert_eq!(show::span(Seconds::new(seconds)), shown);
    }
    assert_eq!(show::hours(Hours::new(412.46)), "412.5 h");
    assert_eq!(show::luminance(Luminance::from_foot_lamberts(16.0)), "55 cd/m² (16 fL)");
    assert_eq!(show::luminance(Luminance::from_foot_lamberts(2.5)), "8.6 cd/m² (2.5 fL)");
}

#[test]
fn what_is_no_number_is_shown_as_unknown() {
    assert_eq!(show::running_time(Seconds::new(f64::NAN)), "unknown");
    assert_eq!(show::film_length(Metres::new(f64::INFINITY)), "unknown");
    assert_eq!(show::hours(Hours::new(f64::NAN)), "unknown");
}
