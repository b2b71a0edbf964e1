//! How long a length of film runs.

use serde::Serialize;
use units::{Frames, FramesPerSecond, Metres, Seconds};

use super::{counting_caveats, counting_source, keys};
use crate::{FilmError, Gauge, time_of};

/// How long a length of film runs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunningTime {
    /// The gauge.
    pub gauge: Gauge,
    /// The speed.
    pub fps: FramesPerSecond,
    /// The running time.
    pub seconds: Seconds,
    /// The frames that run.
    pub frames: Frames,
    /// The length that was asked about.
    #[serde(flatten, serialize_with = "keys::length")]
    pub length: Metres,
    /// The sum in words.
    pub formula: &'static str,
    /// Where the constants come from.
    pub source: &'static str,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// How long a length of film runs at a speed. The time is that of the nearest whole frame. Fails on a length below
/// zero and on a speed that is not above it.
pub fn running_time(gauge: Gauge, length: Metres, fps: FramesPerSecond) -> Result<RunningTime, FilmError> {
    answer(gauge, gauge.frames_in(length)?, length, fps)
}

/// How long a count of frames runs at a speed. Fails on a count below zero and on a speed that is not above it.
pub fn running_time_of_frames(
    gauge: Gauge,
    frames: Frames,
    fps: FramesPerSecond,
) -> Result<RunningTime, FilmError> {
    let length = crate::error::checked_length(gauge.length_of(frames))?;
    answer(gauge, frames, length, fps)
}

fn answer(
    gauge: Gauge,
    frames: Frames,
    length: Metres,
    fps: FramesPerSecond,
) -> Result<RunningTime, FilmError> {
    Ok(RunningTime {
        gauge,
        fps,
        seconds: time_of(frames, fps)?,
        frames,
        length,
        formula: "seconds = feet x frames per foot / frames per second",
        source: counting_source(gauge),
        caveats: counting_caveats(gauge),
    })
}
