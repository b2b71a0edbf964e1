//! The noise floor of a spectrum, and how far a bin must stand above it to be called a line.

use crate::dsp::spectrum::Density;
use crate::dsp::statistics::median;

/// Chance that a recording without any flutter line shows one all the same.
pub(crate) const FALSE_ALARM: f64 = 0.001;
/// Bins to each side that a floor is taken from, at most.
const WIDEST: usize = 60;
/// Neighbouring bins of a Hann window are not independent: so many count as one.
const BINS_PER_FREE_BIN: f64 = 1.5;

/// The floor round one bin.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Floor {
    /// Mean density of the noise.
    pub density: f64,
    /// A bin above this many times the floor is a line.
    pub threshold: f64,
}

/// The floor of the bins of a range, known at some of them and taken between them.
pub(crate) struct Floors {
    knots: Vec<(usize, Floor)>,
}

impl Floors {
    /// # Method
    /// The floor is the median of the bins on both sides, fewer towards low rates where the floor is steep. For noise
    /// the density of a bin is the mean of `windows` exponential variables; the median of few bins is itself
    /// uncertain. With `m` bins' worth of evidence about the floor, a bin of one window exceeds `t` times the floor with
    /// probability `(1 + t/m)^-m`; `t` is set so that over all bins the chance is [`FALSE_ALARM`].
    pub fn new(density: &Density, first: usize, last: usize) -> Self {
        let mut knots = Vec::new();
        let mut bin = first;
        let mut values = Vec::new();
        let tests = (last.saturating_sub(first).max(1)) as f64 / BINS_PER_FREE_BIN;
        while bin <= last {
            let reach = (bin / 2).clamp(4, WIDEST);
            let low = bin.saturating_sub(reach).max(first.clamp(1, 2));
            let high = (bin + reach).min(last);
            values.clear();
            values.extend_from_slice(density.power.get(low..=high).unwrap_or_default());
            let free = values.len() as f64 / BINS_PER_FREE_BIN;
            let middle = median(&mut values).unwrap_or_default();
            let windows = (density.windows as f64 * 0.75).max(1.0);
            knots.push((
                bin,
                Floor {
                    density: middle / median_over_mean(windows),
                    threshold: threshold(free, windows, FALSE_ALARM / tests),
                },
            ));
            bin += (reach / 4).max(1);
        }
        Self { knots }
    }

    /// The floor at a bin.
    pub fn at(&self, bin: usize) -> Floor {
        let after = self.knots.partition_point(|(b, _)| *b < bin);
        let nearest = self.knots.get(after).or(self.knots.last());
        nearest.map_or(Floor { density: 0.0, threshold: f64::INFINITY }, |(_, floor)| *floor)
    }
}

/// Median over mean of a gamma variable with `windows` degrees: ln 2 for one window, near 1 for many.
fn median_over_mean(windows: f64) -> f64 {
    if windows < 1.5 { std::f64::consts::LN_2 } else { (1.0 - 1.0 / (9.0 * windows)).powi(3) }
}

/// How many times its floor a bin of noise exceeds with this probability.
fn threshold(free_bins: f64, windows: f64, chance: f64) -> f64 {
    // The median of n exponential variables scatters like the mean of 0.48 n of them.
    let evidence = (0.48 * free_bins).max(1.0);
    if windows < 1.5 {
        return evidence * (chance.powf(-1.0 / evidence) - 1.0);
    }
    // Wilson and Hilferty's approximation to the gamma quantile, widened by the floor's own scatter.
    let z = normal_quantile(chance);
    let spread = 1.0 / (9.0 * windows) + 1.0 / (9.0 * evidence * windows);
    (1.0 - spread + z * spread.sqrt()).powi(3)
}

/// How many standard deviations a normal variable exceeds with a small probability.
///
/// # Reference
/// Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.23 (error under 4.5e-4; from memory).
fn normal_quantile(chance: f64) -> f64 {
    let t = (-2.0 * chance.ln()).sqrt();
    t - (2.515_517 + t * (0.802_853 + t * 0.010_328))
        / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_quantile_agrees_with_printed_tables() {
        // Handbook values: 5 % at 1.6449, 0.1 % at 3.0902.
        assert!((normal_quantile(0.05) - 1.6449).abs() < 5e-4);
        assert!((normal_quantile(0.001) - 3.0902).abs() < 5e-4);
    }
}
