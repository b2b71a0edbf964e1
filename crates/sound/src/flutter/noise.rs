//! What the recording's own noise reads, so that it is never taken for flutter.

use super::plan::Plan;
use crate::dsp::spectrum::Density;
use crate::dsp::statistics::median;
use crate::weighting::Weighting;

/// Noise beside the tone turns its phase; as speed it grows with the rate. It is taken from this part of the band,
/// where a machine's flutter has died away.
const NOISE_BAND: (f64, f64) = (0.5, 0.92);

/// The noise of one recording.
pub(crate) struct Noise {
    /// Density of speed deviation over rate squared.
    factor: f64,
    weighting: Weighting,
    rate_hz: f64,
}

impl Noise {
    pub fn of(density: &Density, plan: &Plan) -> Self {
        let (first, last) =
            (density.bin(NOISE_BAND.0 * plan.band_hz).max(1), density.bin(NOISE_BAND.1 * plan.band_hz));
        let range = density.power.get(first..=last).unwrap_or_default().iter().enumerate();
        let mut factors: Vec<f64> =
            range.map(|(n, p)| p / ((n + first) as f64 * density.bin_hz).powi(2)).collect();
        let median_over_mean = if density.windows < 2 { std::f64::consts::LN_2 } else { 1.0 };
        let factor = median(&mut factors).unwrap_or_default() / median_over_mean;
        let rate_hz = plan.signal_hz / 2.0;
        Self { factor, weighting: Weighting::new(rate_hz), rate_hz }
    }

    /// Mean square of the noise between two rates.
    pub fn band(&self, low_hz: f64, high_hz: f64) -> f64 {
        self.factor * (high_hz.powi(3) - low_hz.powi(3)) / 3.0
    }

    /// Mean square of the weighted noise.
    pub fn weighted(&self) -> f64 {
        // One-hertz steps up to where the readings' band ends.
        let squares = (1..=220).map(|hz| {
            let hz = f64::from(hz);
            (self.weighting.gain(self.rate_hz, hz) * hz).powi(2)
        });
        self.factor * squares.sum::<f64>()
    }
}
