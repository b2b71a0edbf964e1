//! What is asked of a measurement.

use crate::trace::Candidate;
use units::{FramesPerSecond, Hertz};

/// Tones that can be measured, lowest and highest, in Hz.
pub(crate) const TONE_LIMITS: (f64, f64) = (300.0, 12_000.0);

/// What is known about the film and the machine before the recording is measured.
#[derive(Debug, Clone, PartialEq)]
pub struct FlutterRequest {
    /// The tone that the film carries at its nominal speed, if it is known. Otherwise the tone is found, and taken to
    /// be the nearest of the customary ones.
    pub tone: Option<Hertz>,
    /// The speed at which the film carries that tone.
    pub nominal_speed: FramesPerSecond,
    /// Rotating parts that may have caused a line, with their rates at the nominal speed.
    pub candidates: Vec<Candidate>,
}

impl Default for FlutterRequest {
    /// Any tone, sound speed (24 frames per second), no parts.
    fn default() -> Self {
        Self { tone: None, nominal_speed: FramesPerSecond::new(24.0), candidates: Vec::new() }
    }
}
