//! How one recording is brought down to the tone alone: rates, band, filters.

use crate::SoundError;
use crate::dsp::fir::LowPass;
use crate::options::TONE_LIMITS;
use crate::tone::Tone;
use std::f64::consts::TAU;
use units::Hertz;

/// The oscillator's table: the tone is mixed down with a frequency that comes round after so many first-stage samples,
/// so that its phase is exact for ever and never accumulates an error.
pub(crate) const TURN: usize = 4096;
/// Rejection of everything outside the band.
const ATTENUATION_DB: f64 = 80.0;
/// Rate after the first stage, about.
const FIRST_RATE_HZ: f64 = 4000.0;
/// Widest band to each side of the tone: it holds scrape up to 600 Hz.
const WIDEST_BAND_HZ: f64 = 600.0;
/// The second stage takes every second sample.
pub(crate) const SECOND_STEP: usize = 2;
/// The unit in which a recording is judged usable or not.
const CELL_SECONDS: f64 = 0.02;

/// Everything fixed before the first sample is read.
pub(crate) struct Plan {
    pub rate_hz: f64,
    /// First-stage decimation.
    pub step: usize,
    /// Turns of the oscillator for each `TURN` first-stage samples.
    pub turns: usize,
    /// Frequency of the oscillator: within half a hertz of the tone.
    pub mix_hz: f64,
    /// The speed deviation is known up to this rate.
    pub band_hz: f64,
    /// First-stage filter, already turned up to the tone; real and imaginary parts.
    pub first: (Vec<f32>, Vec<f32>),
    pub second: Vec<f32>,
    /// Rate of the speed signal.
    pub signal_hz: f64,
    /// Samples of the speed signal in one cell.
    pub cell: usize,
    /// Amplitude of the tone, full scale 1.
    pub amplitude: f64,
}

impl Plan {
    pub fn new(rate_hz: u32, tone: &Tone) -> Result<Self, SoundError> {
        let rate_hz = f64::from(rate_hz);
        let high = TONE_LIMITS.1.min(rate_hz * 0.45);
        // A machine may run well off its speed, so the limits are not taken to the hertz.
        if tone.hz < TONE_LIMITS.0 * 0.9 || tone.hz > high * 1.05 {
            let (low, high) = (Hertz::new(TONE_LIMITS.0), Hertz::new(high));
            return Err(SoundError::ToneOutOfRange { named: Hertz::new(tone.hz), low, high });
        }
        let step = (rate_hz / FIRST_RATE_HZ).round().max(2.0) as usize;
        let first_hz = rate_hz / step as f64;
        let signal_hz = first_hz / SECOND_STEP as f64;
        let turns = (tone.hz / first_hz * TURN as f64).round();
        let mix_hz = turns / TURN as f64 * first_hz;
        let band_hz =
            WIDEST_BAND_HZ.min(0.4 * tone.hz).min(0.8 * (rate_hz / 2.0 - tone.hz)).min(0.3 * signal_hz);
        let stop_hz = (band_hz * 5.0 / 3.0).min(signal_hz - band_hz);
        let first = LowPass {
            rate_hz,
            pass_hz: band_hz,
            stop_hz: first_hz - stop_hz,
            attenuation_db: ATTENUATION_DB,
        };
        let second = LowPass { rate_hz: first_hz, pass_hz: band_hz, stop_hz, attenuation_db: ATTENUATION_DB };
        Ok(Self {
            rate_hz,
            step,
            turns: turns as usize,
            mix_hz,
            band_hz,
            first: turned_up(&first.taps(), mix_hz / rate_hz),
            second: padded(second.taps().into_iter().map(|t| t as f32).collect()),
            signal_hz,
            cell: (signal_hz * CELL_SECONDS).round() as usize,
            amplitude: tone.amplitude,
        })
    }

    /// Frames of the recording that make one cell.
    pub fn cell_frames(&self) -> usize {
        self.cell * self.step * SECOND_STEP
    }

    /// Seconds of one cell, exactly.
    pub fn cell_seconds(&self) -> f64 {
        self.cell as f64 / self.signal_hz
    }

    /// The step of phase from sample to sample, in radians, that stands for a deviation of 1 (the whole tone).
    pub fn radians(&self) -> f64 {
        TAU * self.mix_hz / self.signal_hz
    }
}

/// Low-pass taps times the complex oscillation that brings the tone to rest.
fn turned_up(taps: &[f64], cycles: f64) -> (Vec<f32>, Vec<f32>) {
    let turned = |part: fn(f64) -> f64, sign: f64| {
        taps.iter()
            .enumerate()
            .map(|(n, t)| (sign * t * part(TAU * (cycles * n as f64).fract())) as f32)
            .collect()
    };
    (padded(turned(f64::cos, 1.0)), padded(turned(f64::sin, -1.0)))
}

/// Fills up to whole vectors with taps of nought.
fn padded(mut taps: Vec<f32>) -> Vec<f32> {
    taps.resize(taps.len().next_multiple_of(super::down::LANES), 0.0);
    taps
}
