//! Conversions against published values.

use units::{Frames, Grams, Hertz, Hours, Luminance, Metres, MetresPerSecond, Percent, Seconds};

/// Compares to the figures that the publication prints.
fn assert_near(got: f64, printed: f64, half_of_the_last_figure: f64) {
    assert!((got - printed).abs() <= half_of_the_last_figure, "got {got}, printed {printed}");
}

#[test]
fn a_foot_and_an_inch_are_those_of_the_1959_agreement() {
    // International yard and pound agreement, 1959: one foot is exactly 0.3048 m, one inch exactly 25.4 mm.
    assert_eq!(Metres::from_feet(1.0).metres(), 0.3048);
    assert_near(Metres::from_inches(1.0).as_millimetres(), 25.4, 1e-12);
    assert_near(Metres::from_feet(1.0).as_inches(), 12.0, 1e-12);
}

#[test]
fn sixteen_foot_lamberts_are_55_candelas_by_smpte_eg_3() {
    // SMPTE EG 3-1994 and RP 51-1995: 16 fL +-2 = 55 +-7 cd/m2.
    assert_near(Luminance::from_foot_lamberts(16.0).candelas_per_square_metre(), 55.0, 0.5);
    assert_near(Luminance::from_foot_lamberts(2.0).candelas_per_square_metre(), 7.0, 0.5);
}

#[test]
fn projection_range_agrees_with_bs_1404_and_iso_2910() {
    // Trade journal giving BS 1404:1961 and ISO 2910: 8 to 16 fL = 27 to 55 cd/m2.
    assert_near(Luminance::from_foot_lamberts(8.0).candelas_per_square_metre(), 27.0, 0.5);
}

#[test]
fn a_foot_lambert_is_a_candela_per_pi_square_feet() {
    // Definition; the value 3.4263 from memory.
    assert_near(Luminance::from_foot_lamberts(1.0).candelas_per_square_metre(), 3.4263, 0.000_05);
    assert_near(Luminance::new(3.426_259).as_foot_lamberts(), 1.0, 1e-6);
}

#[test]
fn film_speed_of_16_mm_agrees_with_smpte_41_in_every_unit() {
    // SMPTE 41, clause 3: 36 ft/min, 7.2 in/s, 183 mm/s.
    let speed = Metres::from_feet(36.0).metres() / 60.0;
    let speed = MetresPerSecond::new(speed);
    assert_near(speed.as_inches_per_second(), 7.2, 1e-9);
    assert_near(speed.as_millimetres_per_second(), 183.0, 0.5);
    assert_near(speed.as_feet_per_minute(), 36.0, 1e-9);
}

#[test]
fn times_convert_both_ways() {
    assert_eq!(Hours::from_minutes(90.0), Hours::new(1.5));
    assert_eq!(Hours::new(1.5).as_seconds(), Seconds::new(5400.0));
    assert_eq!(Seconds::new(5400.0).as_hours(), Hours::new(1.5));
    assert_eq!(Seconds::from_minutes(2.0), Seconds::new(120.0));
    assert_eq!(Hours::new(1.5).as_minutes(), 90.0);
}

#[test]
fn arithmetic_keeps_the_unit_and_a_quotient_drops_it() {
    let mut hours = Hours::new(2.0) + Hours::new(3.0) - Hours::new(1.0);
    hours += Hours::new(1.0);
    hours -= Hours::new(2.0);
    assert_eq!(hours, Hours::new(3.0));
    assert_eq!(-hours * 2.0 / 3.0, Hours::new(-2.0));
    assert_eq!(Hours::new(3.0) / Hours::new(1.5), 2.0);
    assert_eq!([Hours::new(1.0), Hours::new(2.5)].into_iter().sum::<Hours>(), Hours::new(3.5));
    assert_eq!(Hours::new(-3.0).abs().max(Hours::new(1.0)), Hours::new(3.0));
    assert_eq!(Hours::new(f64::NAN).min(Hours::ZERO), Hours::ZERO);
    assert!(!Hours::new(f64::INFINITY).is_finite());
}

#[test]
fn distance_is_speed_times_time() {
    assert_eq!(MetresPerSecond::new(0.5) * Seconds::new(8.0), Metres::new(4.0));
    assert_eq!(Metres::new(4.0) / MetresPerSecond::new(0.5), Seconds::new(8.0));
}

#[test]
fn quantities_print_their_unit() {
    assert_eq!(format!("{:.1}", Hours::new(412.46)), "412.5 h");
    assert_eq!(Hertz::new(96.0).to_string(), "96 Hz");
    assert_eq!(Percent::from_fraction(0.125).to_string(), "12.5 %");
    assert_eq!(Grams::new(1200.0).as_kilograms().to_string(), "1.2 kg");
    assert_eq!(Frames::new(1).to_string(), "1 frame");
    assert_eq!(Frames::new(-26).to_string(), "-26 frames");
}

#[test]
fn frames_stop_at_the_ends_of_their_range() {
    assert_eq!(Frames::new(i64::MAX) + Frames::new(1), Frames::new(i64::MAX));
    assert_eq!(Frames::new(i64::MIN) - Frames::new(1), Frames::new(i64::MIN));
    assert_eq!(-Frames::new(i64::MIN), Frames::new(i64::MAX));
    assert_eq!(Frames::new(i64::MAX) * 2, Frames::new(i64::MAX));
    assert_eq!(Frames::new(i64::MIN).to_string(), "-9223372036854775808 frames");
}
