//! The four gauges and the geometry of their perforations.

use serde::{Deserialize, Serialize};
use units::{Metres, Percent};

use crate::FilmError;

/// A gauge of film.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "&'static str")]
pub enum Gauge {
    /// 16 mm, one perforation to the frame.
    Mm16,
    /// 35 mm, four perforations to the frame.
    Mm35,
    /// Super 8.
    Super8,
    /// Standard 8, also called Regular 8 or Double 8.
    Standard8,
}

/// The distance from one perforation to the next, as the stock was perforated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Pitch {
    /// Long pitch: prints for projection.
    #[default]
    Long,
    /// Short pitch: camera and duplicating stock, shorter so that it lies inside the print on a round printer.
    Short,
}

/// Frames in a length as an exact fraction, since a foot holds a whole number of frames and a metre does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FramesPerMetre {
    /// Frames.
    pub frames: i64,
    /// In so many metres.
    pub metres: i64,
}

impl FramesPerMetre {
    /// The fraction as a plain number.
    pub fn value(self) -> f64 {
        self.frames as f64 / self.metres as f64
    }
}

impl Gauge {
    /// Every gauge, widest use first.
    pub const ALL: [Self; 4] = [Self::Mm16, Self::Mm35, Self::Super8, Self::Standard8];

    /// The name that files and options use: `16mm`, `35mm`, `super8`, `standard8`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Mm16 => "16mm",
            Self::Mm35 => "35mm",
            Self::Super8 => "super8",
            Self::Standard8 => "standard8",
        }
    }

    /// The name as people say it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mm16 => "16 mm",
            Self::Mm35 => "35 mm",
            Self::Super8 => "Super 8",
            Self::Standard8 => "Standard 8",
        }
    }

    /// Perforations on one edge to each frame.
    pub const fn perforations_per_frame(self) -> u32 {
        match self {
            Self::Mm35 => 4,
            Self::Mm16 | Self::Super8 | Self::Standard8 => 1,
        }
    }

    /// Frames in one foot as the trade counts them: a whole number for each gauge.
    ///
    /// # Reference
    ///
    /// 16 mm: SMPTE 41, clause 3 (36 ft/min at 24 fps). 35 mm: 90 ft/min at 24 fps, encyclopaedia article on 35 mm film,
    /// technical specifications. Super 8 and Standard 8: a printed table of 8 mm and Super 8 lengths and times.
    pub const fn frames_per_foot(self) -> i64 {
        match self {
            Self::Mm16 => 40,
            Self::Mm35 => 16,
            Self::Super8 => 72,
            Self::Standard8 => 80,
        }
    }

    /// Frames in one metre, exactly: frames per foot divided by 0.3048.
    pub const fn frames_per_metre(self) -> FramesPerMetre {
        // One foot is 381/1250 m.
        FramesPerMetre { frames: self.frames_per_foot() * 1250, metres: 381 }
    }

    /// The distance between neighbouring perforations of unshrunken film.
    ///
    /// # Reference
    ///
    /// 16 mm: SMPTE standard for 35 mm stock perforated 16 mm, scope (0.3000 and 0.2994 in). Super 8: SMPTE 149-2004,
    /// table 1, dimension B (0.1667 and 0.1664 in). Standard 8: SMPTE 239-2004, scope (0.1500 and 0.1497 in).
    /// 35 mm: SMPTE 139, KS perforation (0.1870 and 0.1866 in), from memory.
    pub const fn perforation_pitch(self, pitch: Pitch) -> Metres {
        let inches = match (self, pitch) {
            (Self::Mm16, Pitch::Long) => 0.3000,
            (Self::Mm16, Pitch::Short) => 0.2994,
            (Self::Mm35, Pitch::Long) => 0.1870,
            (Self::Mm35, Pitch::Short) => 0.1866,
            (Self::Super8, Pitch::Long) => 0.1667,
            (Self::Super8, Pitch::Short) => 0.1664,
            (Self::Standard8, Pitch::Long) => 0.1500,
            (Self::Standard8, Pitch::Short) => 0.1497,
        };
        Metres::from_inches(inches)
    }

    /// The length of film that one frame takes, by the perforations: what the intermittent pulls down.
    pub fn frame_pitch(self, pitch: Pitch) -> Metres {
        self.perforation_pitch(pitch) * f64::from(self.perforations_per_frame())
    }

    /// How far the counted foot and the foot by perforation pitch lie apart: by how much a "foot" of frames, measured
    /// along the perforations, falls short of (negative) or exceeds a real foot.
    ///
    /// The trap: 35 mm is counted as 16 frames to the foot everywhere, yet 64 perforations of 0.187 in are 11.968 in,
    /// 0.27 % short of a foot. So film speed by pitch at 24 fps is 456.0 mm/s and not the nominal 457.2 mm/s. 16 mm and
    /// Standard 8 agree exactly; Super 8 differs by 0.02 %.
    pub fn counted_foot_error(self) -> Percent {
        let counted = self.frame_pitch(Pitch::Long) * self.frames_per_foot() as f64;
        Percent::from_fraction(counted / Metres::from_feet(1.0) - 1.0)
    }

    /// The width of the strip.
    ///
    /// # Reference
    ///
    /// 16 mm: SMPTE 101-2003, table 1 (0.628 in; ASA Z22.5-1947 had 0.629 in). Super 8: SMPTE 149-2004, table 1,
    /// dimension A. 35 mm: encyclopaedia article citing SMPTE 139. Standard 8, slit: 0.314 in, from memory.
    pub const fn width(self) -> Metres {
        Metres::from_inches(match self {
            Self::Mm16 => 0.628,
            Self::Mm35 => 1.377,
            Self::Super8 | Self::Standard8 => 0.314,
        })
    }
}

impl std::fmt::Display for Gauge {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.name())
    }
}

/// Reads a gauge, with or without spaces, in any case: `16mm`, `16 mm`, `16`, `Super 8`, `S8`, `8 mm`, `Regular 8`.
impl std::str::FromStr for Gauge {
    type Err = FilmError;
    fn from_str(given: &str) -> Result<Self, FilmError> {
        match crate::squeezed(given).as_str() {
            "16mm" | "16" => Ok(Self::Mm16),
            "35mm" | "35" => Ok(Self::Mm35),
            "super8" | "super8mm" | "s8" | "s8mm" => Ok(Self::Super8),
            "standard8" | "standard8mm" | "regular8" | "regular8mm" | "double8" | "double8mm" | "normal8"
            | "normal8mm" | "r8" | "n8" | "8mm" | "8" => Ok(Self::Standard8),
            _ => Err(FilmError::UnknownGauge { given: given.to_owned() }),
        }
    }
}

impl TryFrom<String> for Gauge {
    type Error = FilmError;
    fn try_from(given: String) -> Result<Self, FilmError> {
        given.parse()
    }
}

impl From<Gauge> for &'static str {
    fn from(gauge: Gauge) -> &'static str {
        gauge.id()
    }
}
