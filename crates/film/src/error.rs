//! What can be wrong with a question about film.

use units::{FramesPerSecond, Metres, Seconds};

/// A question about film that has no answer, and what would give it one.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FilmError {
    /// The name of a gauge is not known.
    #[error("\"{given}\" is not a gauge; write 16mm, 35mm, super8 or standard8")]
    UnknownGauge {
        /// What was written.
        given: String,
    },
    /// The name of a kind of sound is not known.
    #[error("\"{given}\" is not a kind of sound; write silent, optical or magnetic")]
    UnknownSound {
        /// What was written.
        given: String,
    },
    /// The name of a film base is not known.
    #[error("\"{given}\" is not a film base; write acetate, polyester or nitrate")]
    UnknownBase {
        /// What was written.
        given: String,
    },
    /// A speed of nothing, backwards, or not a number.
    #[error("film cannot be timed at {given}; give a speed above zero, such as 24 fps")]
    SpeedNotPositive {
        /// The speed that was given.
        given: FramesPerSecond,
    },
    /// A length below nothing, or not a number.
    #[error("a length of film cannot be {given}; give zero or more")]
    LengthNegative {
        /// The length that was given.
        given: Metres,
    },
    /// A length so great that its frames cannot be counted exactly.
    #[error("{given} is longer than any film; check the number and its unit")]
    LengthAbsurd {
        /// The length that was given.
        given: Metres,
    },
    /// A time below nothing, or not a number.
    #[error("a running time cannot be {given}; give zero or more")]
    TimeNegative {
        /// The time that was given.
        given: Seconds,
    },
    /// The wound roll is not wider than what it is wound on.
    #[error(
        "the roll measures {outer_mm:.1} mm across and its hub {hub_mm:.1} mm; measure the outside of the film and the hub it is wound on, both as diameters, and give the larger as the roll"
    )]
    RollInsideHub {
        /// Outer diameter that was given, in millimetres.
        outer_mm: f64,
        /// Hub diameter that was given, in millimetres.
        hub_mm: f64,
    },
    /// A hub diameter below nothing, or not a number.
    #[error("a hub cannot measure {given_mm} mm across; give its diameter, zero or more")]
    HubNegative {
        /// The hub diameter that was given, in millimetres.
        given_mm: f64,
    },
    /// A thickness of film that cannot be.
    #[error("film cannot be {given_mm} mm thick; wound film is usually 0.11 to 0.17 mm")]
    ThicknessAbsurd {
        /// The thickness that was given, in millimetres.
        given_mm: f64,
    },
    /// There is no agreed distance between picture and sound for this gauge and kind of sound.
    #[error("no picture-to-sound distance is laid down for {gauge} film with {sound} sound")]
    NoAdvance {
        /// The gauge.
        gauge: crate::Gauge,
        /// The kind of sound.
        sound: crate::SoundKind,
    },
    /// A shrinkage measurement over no perforations.
    #[error("shrinkage needs a length over at least one perforation; measure over 100 for a good reading")]
    NoPerforations,
}

/// Refuses a speed at which nothing can be timed.
pub(crate) fn checked_speed(given: FramesPerSecond) -> Result<FramesPerSecond, FilmError> {
    if given.is_finite() && given > FramesPerSecond::ZERO {
        Ok(given)
    } else {
        Err(FilmError::SpeedNotPositive { given })
    }
}

/// The greatest length that is taken for film: a thousand kilometres, far beyond any programme and well inside the
/// range in which frames are counted exactly.
const LONGEST_FILM: Metres = Metres::new(1.0e6);

/// Refuses a length that no film has.
pub(crate) fn checked_length(given: Metres) -> Result<Metres, FilmError> {
    match given {
        length if length.is_finite() && length > LONGEST_FILM => Err(FilmError::LengthAbsurd { given }),
        length if length.is_finite() && length >= Metres::ZERO => Ok(given),
        _ => Err(FilmError::LengthNegative { given }),
    }
}

/// Refuses a time that no film runs.
pub(crate) fn checked_time(given: Seconds) -> Result<Seconds, FilmError> {
    if given.is_finite() && given >= Seconds::ZERO {
        Ok(given)
    } else {
        Err(FilmError::TimeNegative { given })
    }
}
