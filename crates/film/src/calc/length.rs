//! How much film a running time takes.

use serde::Serialize;
use units::{Frames, FramesPerSecond, Metres, Seconds};

use super::{counting_caveats, counting_source, keys};
use crate::{FilmError, Gauge, frames_in_time};

/// How much film a running time takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LengthForTime {
    /// The gauge.
    pub gauge: Gauge,
    /// The speed.
    pub fps: FramesPerSecond,
    /// The time that was asked about.
    pub seconds: Seconds,
    /// The frames that it takes.
    pub frames: Frames,
    /// The length that it takes.
    #[serde(flatten, serialize_with = "keys::length")]
    pub length: Metres,
    /// The smallest spool that is sold to hold it, give or take a second; none when it needs more than one spool.
    pub spool: Option<&'static str>,
    /// The sum in words.
    pub formula: &'static str,
    /// Where the constants come from.
    pub source: &'static str,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// How much film runs for so long at a speed, to the nearest whole frame. Fails on a time below zero and on a speed
/// that is not above it.
pub fn length_for_time(
    gauge: Gauge,
    seconds: Seconds,
    fps: FramesPerSecond,
) -> Result<LengthForTime, FilmError> {
    let frames = frames_in_time(seconds, fps)?;
    let length = crate::error::checked_length(gauge.length_of(frames))?;
    let mut caveats = counting_caveats(gauge);
    // Times are written to the second or a tenth of it, and a spool holds more than its name says: what a second
    // takes sends nobody to the next larger spool.
    let second = frames_in_time(Seconds::new(1.0), fps)?;
    let spool = gauge.smallest_spool_for(gauge.length_of(frames - second));
    if spool.is_none() {
        caveats.push(format!("no single {gauge} spool in the list is sold to hold this much"));
    }
    Ok(LengthForTime {
        gauge,
        fps,
        seconds,
        frames,
        length,
        spool: spool.map(|spool| spool.name),
        formula: "feet = seconds x frames per second / frames per foot",
        source: counting_source(gauge),
        caveats,
    })
}
