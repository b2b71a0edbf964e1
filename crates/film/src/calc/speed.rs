//! How fast film moves.

use serde::Serialize;
use units::{FramesPerSecond, Hertz, MetresPerSecond};

use super::{counting_source, keys};
use crate::error::checked_speed;
use crate::{FilmError, Gauge, Pitch};

/// How fast film moves at a number of frames per second.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpeedOfFilm {
    /// The gauge.
    pub gauge: Gauge,
    /// The speed in frames.
    pub fps: FramesPerSecond,
    /// The nominal speed of the film, as the trade counts feet.
    #[serde(flatten, serialize_with = "keys::film_speed")]
    pub speed: MetresPerSecond,
    /// The speed of unshrunken print film by its perforations.
    #[serde(rename = "by_long_pitch_mm_per_s", serialize_with = "keys::mm_per_second")]
    pub by_long_pitch: MetresPerSecond,
    /// The speed of unshrunken short-pitch film by its perforations.
    #[serde(rename = "by_short_pitch_mm_per_s", serialize_with = "keys::mm_per_second")]
    pub by_short_pitch: MetresPerSecond,
    /// How often a perforation passes: the tone of a worn or dirty perforation.
    #[serde(rename = "perforations_hz")]
    pub perforations: Hertz,
    /// The sum in words.
    pub formula: &'static str,
    /// Where the constants come from.
    pub source: &'static str,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// How fast film moves at a number of frames per second. Fails unless the speed is above zero.
pub fn speed_of_film(gauge: Gauge, fps: FramesPerSecond) -> Result<SpeedOfFilm, FilmError> {
    let fps = checked_speed(fps)?;
    Ok(SpeedOfFilm {
        gauge,
        fps,
        speed: gauge.film_speed(fps),
        by_long_pitch: gauge.film_speed_by_pitch(fps, Pitch::Long),
        by_short_pitch: gauge.film_speed_by_pitch(fps, Pitch::Short),
        perforations: Hertz::new(fps.fps() * f64::from(gauge.perforations_per_frame())),
        formula: "speed = frames per second / frames per foot; by pitch: frames per second x perforations per frame x pitch",
        source: counting_source(gauge),
        caveats: caveats(gauge),
    })
}

fn caveats(gauge: Gauge) -> Vec<String> {
    match gauge {
        Gauge::Mm35 => vec![
            "on 35 mm the nominal speed and the speed by pitch differ by 0.27 %, since 16 frames measure 11.968 in; sprockets give the speed by pitch".to_owned(),
        ],
        Gauge::Mm16 | Gauge::Super8 | Gauge::Standard8 => Vec::new(),
    }
}
