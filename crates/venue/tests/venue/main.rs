//! The hall's sums against printed tables, standards and worked examples.
#![allow(clippy::unwrap_used)]

mod lens;
mod light;
mod power;
mod properties;
mod reading;
mod seats;
mod sound;

use std::collections::BTreeMap;
use venue::Setting;

/// Compares with a printed figure, to half of its last place unless a tolerance is argued.
#[track_caller]
fn assert_near(got: f64, printed: f64, tolerance: f64) {
    assert!((got - printed).abs() <= tolerance, "got {got}, printed {printed}");
}

/// The texts of a set-up.
fn texts(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
    pairs.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect()
}

/// Reads a set-up that must be free of errors.
#[track_caller]
fn setting(pairs: &[(&str, &str)]) -> Setting {
    let (setting, errors) = Setting::read(&texts(pairs));
    assert!(errors.is_empty(), "{errors:?}");
    setting
}
