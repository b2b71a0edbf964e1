//! The speeds at which film is meant to run.

use units::{FramesPerSecond, Percent};

use crate::{FilmError, Gauge, error::checked_speed};

/// A speed that a standard or the trade names for a gauge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandardSpeed {
    /// Frames per second.
    pub speed: FramesPerSecond,
    /// How far a machine may stray, where the source says so.
    pub tolerance: Option<FramesPerSecond>,
    /// For which films.
    pub for_films: &'static str,
    /// Where the figure comes from.
    pub source: &'static str,
}

const ISO_26: &str = "ISO 26:1993, clause 4";
const COMMON: &str = "common practice, no source";
const LENGTH_TABLE: &str = "printed table of 8 mm and Super 8 lengths and times";

const fn named(fps: f64, for_films: &'static str, source: &'static str) -> StandardSpeed {
    StandardSpeed { speed: FramesPerSecond::new(fps), tolerance: None, for_films, source }
}

const fn within_one_frame(fps: f64, for_films: &'static str) -> StandardSpeed {
    let tolerance = Some(FramesPerSecond::new(1.0));
    StandardSpeed { speed: FramesPerSecond::new(fps), tolerance, for_films, source: ISO_26 }
}

const MM16: [StandardSpeed; 4] = [
    within_one_frame(24.0, "sound"),
    within_one_frame(18.0, "silent, preferred"),
    named(16.0, "silent, older", ISO_26),
    named(25.0, "made for television at 50 Hz", "from memory"),
];
const MM35: [StandardSpeed; 3] = [
    named(24.0, "sound", "SMPTE RP 127-2004, clause 3.1"),
    named(25.0, "made for television at 50 Hz", "from memory"),
    named(16.0, "silent; the true speed varies from film to film", COMMON),
];
const SUPER8: [StandardSpeed; 2] =
    [named(18.0, "silent, and most sound", LENGTH_TABLE), named(24.0, "sound", COMMON)];
const STANDARD8: [StandardSpeed; 2] =
    [named(16.0, "silent", LENGTH_TABLE), named(18.0, "sound, and some silent", COMMON)];

impl Gauge {
    /// The speeds that are named for this gauge, the usual one first.
    pub const fn standard_speeds(self) -> &'static [StandardSpeed] {
        match self {
            Self::Mm16 => &MM16,
            Self::Mm35 => &MM35,
            Self::Super8 => &SUPER8,
            Self::Standard8 => &STANDARD8,
        }
    }
}

/// What happens to a film that was shot at one speed and is shown at another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedChange {
    /// By how much it runs fast; negative when it runs slow.
    pub faster: Percent,
    /// By how many cents its sound rises, a hundredth of a semitone each; negative when it falls.
    pub pitch_cents: f64,
}

/// Compares the speed at which a film is shown with the one at which it was shot. Fails unless both are above zero.
pub fn speed_change(shot: FramesPerSecond, shown: FramesPerSecond) -> Result<SpeedChange, FilmError> {
    let ratio = checked_speed(shown)? / checked_speed(shot)?;
    Ok(SpeedChange { faster: Percent::from_fraction(ratio - 1.0), pitch_cents: 1200.0 * ratio.log2() })
}
