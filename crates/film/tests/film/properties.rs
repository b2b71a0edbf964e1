//! What must hold for any film.

use film::calc::{length_for_time, running_time};
use film::winding::{Roll, wound_thickness};
use film::{Gauge, frames_in_time, time_of};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use units::{Frames, FramesPerSecond, Metres};

/// The same cases on every run.
fn repeatable() -> ProptestConfig {
    ProptestConfig {
        cases: 512,
        rng_seed: RngSeed::Fixed(16),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

fn any_gauge() -> impl Strategy<Value = Gauge> {
    prop::sample::select(Gauge::ALL.to_vec())
}

fn any_speed() -> impl Strategy<Value = FramesPerSecond> {
    (1.0..60.0_f64).prop_map(FramesPerSecond::new)
}

proptest! {
    #![proptest_config(repeatable())]

    #[test]
    fn frames_survive_length_time_and_footage(gauge in any_gauge(), count in 0_i64..10_000_000, speed in any_speed()) {
        let frames = Frames::new(count);
        prop_assert_eq!(gauge.frames_in(gauge.length_of(frames)), Ok(frames));
        prop_assert_eq!(frames_in_time(time_of(frames, speed).unwrap(), speed), Ok(frames));
        prop_assert_eq!(gauge.frames_of(gauge.feet_and_frames(frames)), frames);
        prop_assert_eq!(gauge.frames_of(gauge.feet_and_frames(-frames)), -frames);
    }

    #[test]
    fn a_length_comes_back_from_its_running_time(gauge in any_gauge(), count in 0_i64..10_000_000, speed in any_speed()) {
        let sum = running_time(gauge, gauge.length_of(Frames::new(count)), speed).unwrap();
        let back = length_for_time(gauge, sum.seconds, speed).unwrap();
        prop_assert_eq!(back.frames, sum.frames);
    }

    #[test]
    fn more_film_is_never_less_time(gauge in any_gauge(), a in 0.0..5000.0_f64, more in 0.0..5000.0_f64, speed in any_speed()) {
        let time = |metres| running_time(gauge, Metres::new(metres), speed).unwrap().seconds;
        prop_assert!(time(a + more) >= time(a));
    }

    #[test]
    fn a_faster_machine_never_takes_longer(gauge in any_gauge(), metres in 0.0..5000.0_f64, speed in any_speed(), faster in 1.0..3.0_f64) {
        let time = |speed| running_time(gauge, Metres::new(metres), speed).unwrap().seconds;
        prop_assert!(time(speed * faster) <= time(speed));
    }

    #[test]
    fn length_and_diameter_undo_each_other(
        hub_mm in 20.0..150.0_f64, metres in 0.0..2000.0_f64, thickness_mm in 0.1..0.3_f64,
    ) {
        let (hub, thickness) = (Metres::from_millimetres(hub_mm), Metres::from_millimetres(thickness_mm));
        let roll = Roll::of_length(Metres::new(metres), hub, thickness).unwrap();
        prop_assert!((roll.length().metres() - metres).abs() <= 1e-9 * metres.max(1.0));
        let again = Roll::new(roll.outer, hub, thickness).unwrap();
        prop_assert_eq!(again.length(), roll.length());
        if metres > 1.0 {
            let calibrated = wound_thickness(roll.outer, hub, roll.length()).unwrap();
            prop_assert!((calibrated / thickness - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn more_film_never_makes_a_smaller_roll(metres in 0.0..2000.0_f64, more in 0.0..2000.0_f64) {
        let outer = |metres| {
            Roll::of_length(Metres::new(metres), Metres::from_millimetres(60.0), Metres::from_millimetres(0.15)).unwrap().outer
        };
        prop_assert!(outer(metres + more) >= outer(metres));
    }

    #[test]
    fn no_number_makes_a_sum_panic(gauge in any_gauge(), a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), speed in any::<f64>()) {
        let speed = FramesPerSecond::new(speed);
        let (a, b, c) = (Metres::new(a), Metres::new(b), Metres::new(c));
        if let Ok(sum) = running_time(gauge, a, speed) {
            prop_assert!(sum.seconds.seconds() >= 0.0);
        }
        if let Ok(roll) = Roll::new(a, b, c) {
            prop_assert!(roll.length() >= Metres::ZERO);
        }
    }
}
