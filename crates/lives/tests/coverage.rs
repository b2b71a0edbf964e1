//! Intervals hold as often as they say: 10,000 small samples of a known law.
#![allow(clippy::unwrap_used)]

use lives::{
    Life, LifeRecord, Lives,
    fit::{self, IntervalMethod, Model},
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const SAMPLES: usize = 10_000;
const TRUTH: Life = Life::Weibull { shape: 2.5, scale: 100.0 };
const METHODS: [IntervalMethod; 3] =
    [IntervalMethod::Wald, IntervalMethod::LikelihoodRatio, IntervalMethod::Corrected];

/// Shares of samples whose intervals hold shape and scale, by each method.
fn coverage(size: usize, watched_until: f64) -> [[f64; 2]; 3] {
    let mut rng = ChaCha8Rng::seed_from_u64(size as u64);
    let (mut held, mut fitted) = ([[0.0; 2]; 3], 0.0);
    for _ in 0..SAMPLES {
        let record = |age: f64| {
            if age > watched_until { LifeRecord::censored(watched_until) } else { LifeRecord::failed(age) }
        };
        let records = (0..size).map(|_| record(TRUTH.fails_at(0.0, rng.random::<f64>()))).collect();
        let Ok(found) = fit::fit(Model::Weibull, &Lives::new(records).unwrap(), 0.95) else { continue };
        fitted += 1.0;
        for (held, method) in held.iter_mut().zip(METHODS) {
            let intervals = found.intervals(method);
            held[0] += f64::from(u8::from(intervals.shape.unwrap().holds(TRUTH.shape())));
            held[1] += f64::from(u8::from(intervals.scale.unwrap().holds(TRUTH.scale())));
        }
    }
    assert!(fitted > 0.99 * SAMPLES as f64);
    held.map(|row| row.map(|held| held / fitted))
}

fn corrected_holds_within_two_points(size: usize, until: f64) {
    let found = coverage(size, until);
    for (method, row) in METHODS.iter().zip(found) {
        println!("{size} lives to {until}: {} {row:?}", method.name());
    }
    for share in found[2] {
        assert!((share - 0.95).abs() < 0.02, "{size} lives watched until {until}: {found:?}");
    }
}

#[test]
fn ten_complete_lives() {
    corrected_holds_within_two_points(10, f64::INFINITY);
}

#[test]
fn twenty_complete_lives() {
    corrected_holds_within_two_points(20, f64::INFINITY);
}

#[test]
fn twenty_lives_of_which_two_in_five_are_censored() {
    corrected_holds_within_two_points(20, 95.0);
}
