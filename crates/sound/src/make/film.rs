//! What test films carry besides one steady tone.

use units::{Decibels, Hertz, Seconds};

/// A tone in a stretch of film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadeTone {
    /// Frequency at the film's own speed.
    pub hz: Hertz,
    /// Level relative to that of the whole signal.
    pub level: Decibels,
}

impl MadeTone {
    /// Peak, relative to that of the whole signal.
    pub(super) fn amplitude(&self) -> f64 {
        amplitude(self.level)
    }
}

/// A stretch of film: tones that sound together, or none.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeStep {
    /// How long it plays; the last one plays to the end.
    pub lasts: Seconds,
    /// What sounds.
    pub tones: Vec<MadeTone>,
}

impl MadeStep {
    pub(super) fn is_sound(&self) -> bool {
        let tone = |tone: &MadeTone| tone.level.decibels().is_finite() && tone.level.decibels() <= 60.0;
        self.lasts.seconds() > 0.0 && self.lasts.seconds().is_finite() && self.tones.iter().all(tone)
    }
}

/// The tones of a 16 mm multi-frequency film in their order, Hz.
///
/// # Reference
/// Z22.44-1946: 12 ft of 400 Hz, 6 ft of each other tone, 12 ft of 400 Hz.
pub const MULTI_FREQUENCY: [f64; 14] =
    [400.0, 50.0, 100.0, 200.0, 300.0, 500.0, 1000.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0, 7000.0, 400.0];

/// A multi-frequency film played by a chain whose response is level up to 1 kHz and changes by so much for each octave
/// above. The 400 Hz at either end play twice as long as each tone between them, as on the published film.
pub fn multi_frequency(length: Seconds, slope_per_octave: Decibels) -> Vec<MadeStep> {
    let parts = (MULTI_FREQUENCY.len() + 2) as f64;
    let level = |hz: f64| Decibels::new(slope_per_octave.decibels() * (hz / 1000.0).log2().max(0.0));
    let step = |(at, &hz): (usize, &f64)| {
        let share = if at == 0 || at + 1 == MULTI_FREQUENCY.len() { 2.0 } else { 1.0 };
        MadeStep {
            lasts: Seconds::new(length.seconds() * share / parts),
            tones: vec![MadeTone { hz: Hertz::new(hz), level: level(hz) }],
        }
    };
    MULTI_FREQUENCY.iter().enumerate().map(step).collect()
}

/// A quarter of 400 Hz, then a high tone, the last part of it so much quieter, as after a knock on the optics.
pub fn focus(length: Seconds, high: Hertz, knocked: Decibels) -> Vec<MadeStep> {
    let step = |share: f64, hz: Hertz, level: Decibels| MadeStep {
        lasts: Seconds::new(length.seconds() * share),
        tones: vec![MadeTone { hz, level }],
    };
    let level = Decibels::new(0.0);
    vec![
        step(0.25, Hertz::new(400.0), level),
        step(0.5, high, level),
        step(0.25, high, Decibels::new(-knocked.abs().decibels())),
    ]
}

pub(super) fn amplitude(level: Decibels) -> f64 {
    10_f64.powf(level.decibels() / 20.0)
}
