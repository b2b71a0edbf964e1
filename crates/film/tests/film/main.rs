//! Film sums against printed tables, standards and worked examples.
#![allow(clippy::unwrap_used)]

mod geometry;
mod leaders;
mod names;
mod print;
mod programme;
mod properties;
mod reels;
mod run_times;
mod sums;
mod take_up;

/// Compares with a printed figure, to half of its last place unless a tolerance is argued.
#[track_caller]
fn assert_near(got: f64, printed: f64, tolerance: f64) {
    assert!((got - printed).abs() <= tolerance, "got {got}, printed {printed}");
}
