//! What is shown can be read back, and reading never panics.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use units::{Frames, FramesPerSecond, Hours, Luminance, Metres, Probability, Seconds, show};

/// The same cases on every run.
fn repeatable() -> ProptestConfig {
    ProptestConfig {
        cases: 512,
        rng_seed: RngSeed::Fixed(24),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(repeatable())]

    #[test]
    fn running_times_read_back_to_the_tenth(tenths in -1_000_000_i64..1_000_000) {
        let time = Seconds::new(tenths as f64 / 10.0);
        let back: Seconds = show::running_time_in_tenths(time).parse().unwrap();
        prop_assert!((back - time).abs() < Seconds::new(1e-6));
    }

    #[test]
    fn running_times_read_back_to_the_second(seconds in -1.0e6..1.0e6_f64) {
        let back: Seconds = show::running_time(Seconds::new(seconds)).parse().unwrap();
        prop_assert!((back.seconds() - seconds).abs() <= 0.5 + 1e-6);
    }

    #[test]
    fn spans_read_back_to_half_a_minute(seconds in -1.0e6..1.0e6_f64) {
        let back: Seconds = show::span(Seconds::new(seconds)).parse().unwrap();
        prop_assert!((back.seconds() - seconds).abs() <= 30.0 + 1e-6);
    }

    #[test]
    fn lengths_read_back_to_what_is_shown(metres in -1.0e4..1.0e4_f64) {
        let length = Metres::new(metres);
        let metric: Metres = show::metric(length).parse().unwrap();
        prop_assert!((metric - length).abs() <= Metres::from_millimetres(5.0 + 1e-6));
        let customary: Metres = show::feet_and_inches(length).parse().unwrap();
        prop_assert!((customary - length).abs() <= Metres::from_inches(0.5 + 1e-6));
    }

    #[test]
    fn hours_read_back_to_the_tenth(tenths in 0_i64..1_000_000) {
        let hours = Hours::new(tenths as f64 / 10.0);
        let back: Hours = show::hours(hours).parse().unwrap();
        prop_assert!((back - hours).abs() < Hours::new(1e-6));
    }

    #[test]
    fn plain_printing_reads_back_exactly(value in -1.0e9..1.0e9_f64, count in -1_000_000_000_i64..1_000_000_000) {
        prop_assert_eq!(Metres::new(value).to_string().parse(), Ok(Metres::new(value)));
        prop_assert_eq!(Seconds::new(value).to_string().parse(), Ok(Seconds::new(value)));
        prop_assert_eq!(FramesPerSecond::new(value).to_string().parse(), Ok(FramesPerSecond::new(value)));
        prop_assert_eq!(Luminance::new(value).to_string().parse(), Ok(Luminance::new(value)));
        prop_assert_eq!(Frames::new(count).to_string().parse(), Ok(Frames::new(count)));
    }

    #[test]
    fn a_decimal_comma_reads_as_a_decimal_point(whole in 0_u32..100_000, hundredths in 0_u32..100) {
        let comma: Metres = format!("{whole},{hundredths:02} m").parse().unwrap();
        let point: Metres = format!("{whole}.{hundredths:02} m").parse().unwrap();
        prop_assert_eq!(comma, point);
    }

    #[test]
    fn chances_stay_chances(a in 0.0..=1.0_f64, b in 0.0..=1.0_f64) {
        let (a, b) = (Probability::new(a).unwrap(), Probability::new(b).unwrap());
        prop_assert!(a.and(b).value() <= a.value().min(b.value()));
        prop_assert!(a.or(b).value() >= a.value().max(b.value()) - 1e-12);
        prop_assert!(Probability::new(a.or(b).value()).is_ok());
    }

    #[test]
    fn any_text_is_read_or_refused_with_a_column_inside_it(text in "\\PC{0,20}|[0-9:.,/' \"fthinmsc-]{0,12}") {
        let width = text.chars().count();
        let refusals = [text.parse::<Metres>().err(), text.parse::<Seconds>().err(), text.parse::<Hours>().err()];
        for refusal in refusals.into_iter().flatten() {
            prop_assert!((1..=width + 1).contains(&refusal.column), "{refusal}");
            prop_assert_eq!(&refusal.given, &text);
        }
    }
}
