//! How a print carries its sound, and how far the sound lies from its picture.

use serde::{Deserialize, Serialize};
use units::Frames;

use crate::{FilmError, Gauge};

/// How a print carries its sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "&'static str")]
pub enum SoundKind {
    /// No sound on the film.
    Silent,
    /// A photographic track.
    Optical,
    /// A magnetic track or stripe.
    Magnetic,
}

/// The distance from a picture to the sound that belongs to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PictureToSound {
    /// Frames by which the sound lies ahead of its picture, nearer the start of the reel; negative when it lies behind.
    pub frames: Frames,
    /// Where the figure comes from.
    pub source: &'static str,
}

impl SoundKind {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Silent, Self::Optical, Self::Magnetic];

    /// The name that files and options use.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Silent => "silent",
            Self::Optical => "optical",
            Self::Magnetic => "magnetic",
        }
    }

    /// How far the sound lies ahead of its picture on this gauge. None where there is no sound, and for Standard 8
    /// optical prints, which are too rare for us to know a figure.
    pub const fn advance(self, gauge: Gauge) -> Option<PictureToSound> {
        let (frames, source) = match (gauge, self) {
            (Gauge::Mm16, Self::Optical) => (26, "SMPTE 41, clause 4"),
            (Gauge::Mm16, Self::Magnetic) => (28, "SMPTE 112, from memory"),
            (Gauge::Mm35, Self::Optical) => {
                (21, "SMPTE 40, from memory; 20 in older practice and by room depth")
            }
            (Gauge::Mm35, Self::Magnetic) => (-28, "from memory: four-track magnetic, sound behind picture"),
            (Gauge::Super8, Self::Optical) => (22, "SMPTE 187, from memory"),
            (Gauge::Super8, Self::Magnetic) => (18, "SMPTE 164, from memory"),
            (Gauge::Standard8, Self::Magnetic) => (56, "from memory"),
            (Gauge::Standard8, Self::Optical) | (_, Self::Silent) => return None,
        };
        Some(PictureToSound { frames: Frames::new(frames), source })
    }
}

impl std::fmt::Display for SoundKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.id())
    }
}

impl std::str::FromStr for SoundKind {
    type Err = FilmError;
    fn from_str(given: &str) -> Result<Self, FilmError> {
        match crate::squeezed(given).as_str() {
            "silent" | "none" | "mute" => Ok(Self::Silent),
            "optical" | "opt" => Ok(Self::Optical),
            "magnetic" | "mag" => Ok(Self::Magnetic),
            _ => Err(FilmError::UnknownSound { given: given.to_owned() }),
        }
    }
}

impl TryFrom<String> for SoundKind {
    type Error = FilmError;
    fn try_from(given: String) -> Result<Self, FilmError> {
        given.parse()
    }
}

impl From<SoundKind> for &'static str {
    fn from(kind: SoundKind) -> &'static str {
        kind.id()
    }
}
