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
    Sound,
    SoundIds,
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

#[cfg(test)]
mod tests {
    use super::*;

    const THROWS: u32 = 40_000;

    fn mean_and_sd(mut throw: impl FnMut() -> f64) -> (f64, f64) {
        let throws: Vec<f64> = (0..THROWS).map(|_| throw()).collect();
        let mean = throws.iter().sum::<f64>() / f64::from(THROWS);
        let square = throws.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / f64::from(THROWS);
        (mean, square.sqrt())
    }

    #[test]
    fn weibull_lives_have_the_mean_of_the_closed_form() {
        // Mean = scale x Gamma(1 + 1/shape); Gamma(1.25) = 0.9064024771 (Abramowitz and Stegun, table 6.1).
        let mut dice = Dice::new(7, Stream::Lamps);
        let (mean, _) = mean_and_sd(|| dice.weibull(4.0, 55.0));
        let expected = 55.0 * 0.906_402_477_1;
        // Standard error of the mean: about 14 h / sqrt(40,000) = 0.07 h; four of them.
        assert!((mean - expected).abs() < 0.28, "{mean} h against {expected} h");
    }

    #[test]
    fn a_normal_throw_has_its_mean_and_spread() {
        let mut dice = Dice::new(7, Stream::Readings);
        let (mean, sd) = mean_and_sd(|| dice.normal(33.0, 1.5));
        assert!((mean - 33.0).abs() < 0.03 && (sd - 1.5).abs() < 0.03, "{mean} and {sd}");
    }

    #[test]
    fn streams_of_one_seed_differ_and_each_repeats() {
        let bytes = |stream| Dice::new(3, stream).bytes::<16>();
        assert_eq!(bytes(Stream::Ids), bytes(Stream::Ids));
        assert_ne!(bytes(Stream::Ids), bytes(Stream::Diary));
    }
}
