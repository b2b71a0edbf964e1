//! Will the take-up spool hold the reel, and how hard does it pull?

use super::tension::{Tension, tension};
use crate::{FilmError, Gauge, SAFE_FILL, winding::Roll};
use units::Metres;

/// A reel on its take-up spool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TakeUp {
    /// Diameter of the wound film at the end.
    pub outer: Metres,
    /// How much of what the flange holds is used; over 1: the film spills.
    pub fill: f64,
    /// It stays within [`SAFE_FILL`].
    pub fits: bool,
    /// How the pull changes from the hub to the last turn.
    pub tension: Tension,
}

/// Works out the take-up of so much film on a spool. Fails where the measures do not make a roll.
pub fn take_up(
    gauge: Gauge,
    length: Metres,
    flange: Metres,
    hub: Metres,
    thickness: Metres,
) -> Result<TakeUp, FilmError> {
    let wound = Roll::of_length(length, hub, thickness)?;
    let brim = Roll::new(flange, hub, thickness)?.length();
    if hub <= Metres::ZERO || brim <= Metres::ZERO {
        return Err(FilmError::RollInsideHub {
            outer_mm: flange.as_millimetres(),
            hub_mm: hub.as_millimetres(),
        });
    }
    let fill = length / brim;
    Ok(TakeUp { outer: wound.outer, fill, fits: fill <= SAFE_FILL, tension: tension(gauge, &wound)? })
}
