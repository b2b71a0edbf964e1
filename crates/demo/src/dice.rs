//! Seeded chance: the same seed and stream give the same throws, on every machine.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// What a stream of throws is for. A stream of its own for each keeps one story from changing the next.
#[derive(Clone, Copy)]
pub(crate) enum Stream {
    Ids,
    Diary,
    Fleet,
    Runs,
    Lamps,
    Care,
    Readings,
    Faults,
    Dirt,
    Depot,
}

/// A stream of throws.
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    pub(crate) fn new(seed: u64, stream: Stream) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(stream as u64);
        Self(rng)
    }

    /// Sixteen bytes, for an id.
    pub(crate) fn bytes<const N: usize>(&mut self) -> [u8; N] {
        self.0.random()
    }

    /// A whole number from 0 to one less than `end`.
    pub(crate) fn below(&mut self, end: u32) -> u32 {
        self.0.random_range(0..end.max(1))
    }

    /// A whole number between two ends, both included.
    pub(crate) fn whole(&mut self, low: i64, high: i64) -> i64 {
        self.0.random_range(low..=high)
    }

    /// A number between two ends.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }

    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.0.random::<f64>() < probability
    }

    /// A throw of a normal law, by the polar form of Box and Muller.
    pub(crate) fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        // 1 - u lies in (0, 1], so that its logarithm is finite.
        let radius = (-2.0 * (1.0 - self.0.random::<f64>()).ln()).sqrt();
        mean + sd * radius * (std::f64::consts::TAU * self.0.random::<f64>()).cos()
    }

    /// A life by a Weibull law, by inversion.
    pub(crate) fn weibull(&mut self, shape: f64, scale: f64) -> f64 {
        scale * (-(1.0 - self.0.random::<f64>()).ln()).powf(1.0 / shape)
    }

    pub(crate) fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        let at = self.below(u32::try_from(of.len()).unwrap_or(u32::MAX)) as usize;
        of.get(at).expect("nothing is picked from an empty list")
    }
}

/// Rounds to so many places, as a person or an instrument writes a number.
pub(crate) fn rounded(value: f64, places: i32) -> f64 {
    let unit = 10_f64.powi(places);
    (value * unit).round() / unit
}
