//! A wound roll: how much film it holds, how wide it grows, how thick its film winds.
//!
//! # Method
//!
//! Seen from the side, a roll is a ring of area `pi (D^2 - d^2) / 4`; unwound, the same area is a strip `L` long and
//! `t` thick. So `L = pi (D^2 - d^2) / (4 t)`, and every function here solves that one equation for another letter.

use std::f64::consts::PI;

use units::{FramesPerSecond, Metres, Seconds};

use crate::error::{checked_length, checked_speed};
use crate::{FilmError, Gauge};

/// The formula in words, for answers that show their working.
pub const FORMULA: &str = "length = pi x (outer² - hub²) / (4 x wound thickness)";

/// What a roll is wound on and of. All diameters, not radii.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Roll {
    /// Diameter across the outside of the film.
    pub outer: Metres,
    /// Diameter of the hub or core on which the first turn lies.
    pub hub: Metres,
    /// What one turn adds: the wound thickness of the film.
    pub thickness: Metres,
}

impl Roll {
    /// Checks the three measures against each other and takes them as a roll.
    pub fn new(outer: Metres, hub: Metres, thickness: Metres) -> Result<Self, FilmError> {
        checked_ring(outer, hub)?;
        Ok(Self { outer, hub, thickness: checked_thickness(thickness)? })
    }

    /// The roll that so much film makes on this hub.
    pub fn of_length(length: Metres, hub: Metres, thickness: Metres) -> Result<Self, FilmError> {
        let (length, hub) = (checked_length(length)?, checked_hub(hub)?);
        let thickness = checked_thickness(thickness)?;
        let outer_squared = hub.metres().powi(2) + 4.0 * thickness.metres() * length.metres() / PI;
        // The root of `hub²` may fall a hair short of `hub` when there is no film on it.
        Ok(Self { outer: Metres::new(outer_squared.sqrt()).max(hub), hub, thickness })
    }

    /// How much film the roll holds.
    pub fn length(&self) -> Metres {
        Metres::new(PI * self.ring() / (4.0 * self.thickness.metres()))
    }

    /// How many turns lie on the hub.
    pub fn turns(&self) -> f64 {
        (self.outer - self.hub).metres() / (2.0 * self.thickness.metres())
    }

    /// How long the film on the roll still runs. Fails unless the speed is above zero.
    pub fn time_left(&self, gauge: Gauge, speed: FramesPerSecond) -> Result<Seconds, FilmError> {
        Ok(self.length() / gauge.film_speed(checked_speed(speed)?))
    }

    /// By how much the answer changes for each millimetre by which the outer diameter is misread.
    pub fn time_per_millimetre(&self, gauge: Gauge, speed: FramesPerSecond) -> Result<Seconds, FilmError> {
        let length_per_diameter = PI * self.outer.metres() / (2.0 * self.thickness.metres());
        let length = Metres::from_millimetres(1.0) * length_per_diameter;
        Ok(length / gauge.film_speed(checked_speed(speed)?))
    }

    fn ring(&self) -> f64 {
        // (D - d)(D + d) keeps its figures when the two are close, where D² - d² would lose them.
        (self.outer - self.hub).metres() * (self.outer + self.hub).metres()
    }
}

/// The wound thickness of a film whose length on the roll is known: the calibration that makes the time left good to
/// some seconds. Fails when the roll holds no film or the length is not above zero.
pub fn wound_thickness(outer: Metres, hub: Metres, length: Metres) -> Result<Metres, FilmError> {
    checked_ring(outer, hub)?;
    let length = checked_length(length)?;
    let ring = (outer - hub).metres() * (outer + hub).metres();
    checked_thickness(Metres::new(PI * ring / (4.0 * length.metres())))
}

fn checked_ring(outer: Metres, hub: Metres) -> Result<(), FilmError> {
    checked_hub(hub)?;
    if outer.is_finite() && outer >= hub {
        Ok(())
    } else {
        Err(FilmError::RollInsideHub { outer_mm: outer.as_millimetres(), hub_mm: hub.as_millimetres() })
    }
}

fn checked_hub(hub: Metres) -> Result<Metres, FilmError> {
    if hub.is_finite() && hub >= Metres::ZERO {
        Ok(hub)
    } else {
        Err(FilmError::HubNegative { given_mm: hub.as_millimetres() })
    }
}

/// Film between a hundredth of a millimetre and one millimetre: wide enough for anything that was ever wound, narrow
/// enough to catch inches taken for millimetres.
fn checked_thickness(thickness: Metres) -> Result<Metres, FilmError> {
    let mm = thickness.as_millimetres();
    if (0.01..=1.0).contains(&mm) { Ok(thickness) } else { Err(FilmError::ThicknessAbsurd { given_mm: mm }) }
}
