//! How much film a roll holds, by its diameter, and how wide a length will wind.

use serde::Serialize;
use units::{Frames, FramesPerSecond, Metres, Seconds};

use super::{counting_caveats, keys};
use crate::programme::{Tension, tension};
use crate::winding::{FORMULA, Roll, wound_thickness};
use crate::{Base, FilmError, Gauge};

/// How the thickness of the wound film is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WoundOn {
    /// Only the base is known: its usual thickness is taken.
    Base(Base),
    /// One turn was measured or calibrated.
    Thickness(Metres),
}

impl WoundOn {
    fn thickness(self) -> (Metres, &'static str) {
        match self {
            Self::Base(base) => (base.wound_thickness().thickness, base.wound_thickness().source),
            Self::Thickness(thickness) => (thickness, "wound thickness as given"),
        }
    }

    fn caveats(self) -> Vec<String> {
        match self {
            Self::Base(base) => vec![format!(
                "the wound thickness is the usual one for {base}; calibrate it from one roll of known length for a time good to some 20 seconds"
            )],
            Self::Thickness(_) => Vec::new(),
        }
    }
}

/// What a wound roll holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReelContents {
    /// The gauge.
    pub gauge: Gauge,
    /// The speed.
    pub fps: FramesPerSecond,
    /// Diameter across the outside of the film.
    #[serde(rename = "outer_mm", serialize_with = "keys::millimetres")]
    pub outer: Metres,
    /// Diameter of the hub.
    #[serde(rename = "hub_mm", serialize_with = "keys::millimetres")]
    pub hub: Metres,
    /// What one turn adds.
    #[serde(rename = "wound_thickness_mm", serialize_with = "keys::millimetres")]
    pub thickness: Metres,
    /// How much film is on the roll.
    #[serde(flatten, serialize_with = "keys::length")]
    pub length: Metres,
    /// The frames on the roll.
    pub frames: Frames,
    /// How long it runs.
    pub seconds: Seconds,
    /// By how many seconds the answer changes for each millimetre of outer diameter.
    #[serde(rename = "seconds_per_mm")]
    pub per_millimetre: Seconds,
    /// How hard a slipping clutch pulls on it, from the hub to the last turn; none without a hub.
    pub tension: Option<Tension>,
    /// The sum in words.
    pub formula: &'static str,
    /// Where the constants come from.
    pub source: &'static str,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// What a roll holds, from the diameters of the film's outside and of its hub. Fails when they do not make a roll.
pub fn reel_contents(
    gauge: Gauge,
    outer: Metres,
    hub: Metres,
    wound: WoundOn,
    fps: FramesPerSecond,
) -> Result<ReelContents, FilmError> {
    answer(gauge, Roll::new(outer, hub, wound.thickness().0)?, wound, fps)
}

/// How wide a length of film winds on a hub: the other way round, for finding whether it fits. Fails when the length,
/// hub or thickness cannot be.
pub fn reel_diameter(
    gauge: Gauge,
    length: Metres,
    hub: Metres,
    wound: WoundOn,
    fps: FramesPerSecond,
) -> Result<ReelContents, FilmError> {
    answer(gauge, Roll::of_length(length, hub, wound.thickness().0)?, wound, fps)
}

/// The wound thickness of a film whose running time is known, for [`WoundOn::Thickness`] from then on.
pub fn calibrated_thickness(
    gauge: Gauge,
    outer: Metres,
    hub: Metres,
    frames: Frames,
) -> Result<Metres, FilmError> {
    wound_thickness(outer, hub, gauge.length_of(frames))
}

fn answer(gauge: Gauge, roll: Roll, wound: WoundOn, fps: FramesPerSecond) -> Result<ReelContents, FilmError> {
    let mut caveats = wound.caveats();
    caveats.extend(counting_caveats(gauge));
    Ok(ReelContents {
        gauge,
        fps,
        outer: roll.outer,
        hub: roll.hub,
        thickness: roll.thickness,
        length: roll.length(),
        frames: gauge.frames_in(roll.length())?,
        seconds: roll.time_left(gauge, fps)?,
        per_millimetre: roll.time_per_millimetre(gauge, fps)?,
        tension: tension(gauge, &roll).ok(),
        formula: FORMULA,
        source: wound.thickness().1,
        caveats,
    })
}
