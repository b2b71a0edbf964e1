//! How far the sound lies from its picture.

use serde::Serialize;
use units::{Frames, FramesPerSecond, Metres, Seconds};

use super::keys;
use crate::{FilmError, Gauge, Pitch, SoundKind, time_of};

/// How far the sound lies ahead of its picture; negative figures mean that it lies behind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SoundAdvance {
    /// The gauge.
    pub gauge: Gauge,
    /// How the print carries its sound.
    pub sound: SoundKind,
    /// The speed.
    pub fps: FramesPerSecond,
    /// Frames by which the sound is ahead.
    pub frames: Frames,
    /// The distance along unshrunken print film.
    #[serde(flatten, serialize_with = "keys::distance")]
    pub distance: Metres,
    /// The time by which the sound is ahead.
    #[serde(rename = "milliseconds", serialize_with = "keys::milliseconds")]
    pub time: Seconds,
    /// By how much sound and picture part when the loop is threaded one frame out.
    #[serde(rename = "milliseconds_per_frame", serialize_with = "keys::milliseconds")]
    pub per_frame: Seconds,
    /// The sum in words.
    pub formula: &'static str,
    /// Where the number of frames comes from.
    pub source: &'static str,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// How far the sound lies from its picture on this kind of print. Fails where no distance is laid down and on a speed
/// that is not above zero.
pub fn sound_advance(
    gauge: Gauge,
    sound: SoundKind,
    fps: FramesPerSecond,
) -> Result<SoundAdvance, FilmError> {
    let advance = sound.advance(gauge).ok_or(FilmError::NoAdvance { gauge, sound })?;
    Ok(SoundAdvance {
        gauge,
        sound,
        fps,
        frames: advance.frames,
        distance: gauge.frame_pitch(Pitch::Long) * advance.frames.count() as f64,
        time: time_of(advance.frames, fps)?,
        per_frame: time_of(Frames::new(1), fps)?,
        formula: "distance = frames x frame pitch; time = frames / frames per second",
        source: advance.source,
        caveats: caveats(gauge, sound),
    })
}

fn caveats(gauge: Gauge, sound: SoundKind) -> Vec<String> {
    let mut caveats = Vec::new();
    if (gauge, sound) == (Gauge::Mm35, SoundKind::Optical) {
        caveats.push(
            "some machines are set to 20 frames, for the time sound takes to reach the seats".to_owned(),
        );
    }
    if (gauge, sound) == (Gauge::Mm35, SoundKind::Magnetic) {
        caveats.push("the sound lies behind its picture".to_owned());
    }
    caveats
}
