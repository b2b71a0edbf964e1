//! Apertures: what the camera exposes and what the projector shows.

use units::Metres;

use crate::Gauge;

/// Which machine the aperture belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ApertureUse {
    /// The camera's gate: what is on the film.
    Camera,
    /// The projector's plate: what reaches the screen.
    Projector,
}

/// One aperture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aperture {
    /// Whose aperture it is.
    pub belongs_to: ApertureUse,
    /// The format as the trade says it: `1.33`, `1.85`, `anamorphic`.
    pub format: &'static str,
    /// Across the film.
    pub width: Metres,
    /// Along the film.
    pub height: Metres,
    /// By how much the lens spreads the picture sideways: 1, or 2 for anamorphic prints.
    pub spread: f64,
    /// Where the figures come from.
    pub source: &'static str,
}

impl Aperture {
    /// Width to height of the picture on the screen.
    pub fn screen_ratio(&self) -> f64 {
        self.width / self.height * self.spread
    }
}

/// One row of the tables below, in inches as the standards give them.
const fn row(
    belongs_to: ApertureUse,
    format: &'static str,
    width_in: f64,
    height_in: f64,
    source: &'static str,
) -> Aperture {
    let (width, height) = (Metres::from_inches(width_in), Metres::from_inches(height_in));
    Aperture { belongs_to, format, width, height, spread: 1.0, source }
}

const fn anamorphic(width_in: f64, height_in: f64, format: &'static str, source: &'static str) -> Aperture {
    Aperture { spread: 2.0, ..row(ApertureUse::Projector, format, width_in, height_in, source) }
}

use ApertureUse::{Camera, Projector};

const SPECS_35: &str = "encyclopaedia article on 35 mm film, technical specifications";

const MM16: [Aperture; 2] = [
    row(Projector, "1.33", 0.380, 0.284, "SMPTE 233, from memory"),
    row(Camera, "1.37", 0.404, 0.295, "SMPTE 7, from memory"),
];
const MM35: [Aperture; 6] = [
    row(Projector, "1.37", 0.825, 0.602, SPECS_35),
    row(Projector, "1.66", 0.825, 0.497, SPECS_35),
    row(Projector, "1.85", 0.825, 0.446, SPECS_35),
    anamorphic(0.825, 0.690, "anamorphic", SPECS_35),
    anamorphic(0.839, 0.715, "anamorphic 1957", "encyclopaedia article on projector apertures"),
    row(Camera, "1.37", 0.866, 0.630, SPECS_35),
];
const SUPER8: [Aperture; 2] = [
    row(Projector, "1.33", 0.209, 0.158, "SMPTE 154, from memory"),
    row(Camera, "1.44", 0.228, 0.158, "SMPTE 157, from memory"),
];
const STANDARD8: [Aperture; 2] =
    [row(Projector, "1.33", 0.172, 0.129, "from memory"), row(Camera, "1.33", 0.192, 0.145, "from memory")];

impl Gauge {
    /// Every aperture that is known for this gauge, the projector's usual one first.
    pub const fn apertures(self) -> &'static [Aperture] {
        match self {
            Self::Mm16 => &MM16,
            Self::Mm35 => &MM35,
            Self::Super8 => &SUPER8,
            Self::Standard8 => &STANDARD8,
        }
    }

    /// The projector's aperture for a format such as `1.85`; none when no plate of that name is known.
    pub fn projector_aperture(self, format: &str) -> Option<&'static Aperture> {
        self.apertures().iter().find(|a| a.belongs_to == Projector && a.format == format)
    }
}
