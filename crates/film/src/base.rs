//! What the film is made of, and how thick it winds.

use serde::{Deserialize, Serialize};
use units::Metres;

use crate::FilmError;

/// The plastic that carries the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "&'static str")]
pub enum Base {
    /// Cellulose acetate ("safety"): tears before the machine does, takes cement splices.
    Acetate,
    /// Polyester: thin and strong, tape or ultrasonic splices only; the machine breaks before the film.
    Polyester,
    /// Cellulose nitrate: burns fiercely and cannot be put out. Only in a licensed booth, by licensed hands.
    Nitrate,
}

/// A thickness and where the figure comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thickness {
    /// Thickness of one layer, picture and base together.
    pub thickness: Metres,
    /// Where the figure comes from.
    pub source: &'static str,
}

impl Base {
    /// Every base.
    pub const ALL: [Self; 3] = [Self::Acetate, Self::Polyester, Self::Nitrate];

    /// The name that files and options use.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Acetate => "acetate",
            Self::Polyester => "polyester",
            Self::Nitrate => "nitrate",
        }
    }

    /// The thickness of one strip off the roll.
    pub const fn thickness(self) -> Thickness {
        match self {
            Self::Acetate => {
                Thickness { thickness: Metres::from_inches(0.006), source: "acetate print, from memory" }
            }
            Self::Polyester => POLYESTER,
            Self::Nitrate => {
                Thickness { thickness: Metres::from_inches(0.006), source: "taken as acetate, from memory" }
            }
        }
    }

    /// The thickness that one turn adds on a wound roll: the strip and the air that is wound in.
    ///
    /// A default only. Film varies by several hundredths and winding tension by as much again; calibrate with
    /// [`crate::winding::wound_thickness`] from one roll of known length.
    pub const fn wound_thickness(self) -> Thickness {
        match self {
            Self::Acetate => {
                Thickness { thickness: Metres::from_millimetres(0.155), source: "wound acetate, from memory" }
            }
            Self::Polyester => POLYESTER,
            Self::Nitrate => Thickness {
                thickness: Metres::from_millimetres(0.155),
                source: "taken as acetate, from memory",
            },
        }
    }
}

/// Computed back from the three worked reel capacities of a film-handling handbook, which all give 0.00530 in; being
/// computed from wound rolls, the figure holds for the wound roll as well.
const POLYESTER: Thickness = Thickness {
    thickness: Metres::from_inches(0.0053),
    source: "computed from three worked reel capacities, film-handling community handbook, page on reels",
};

impl std::fmt::Display for Base {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.id())
    }
}

impl std::str::FromStr for Base {
    type Err = FilmError;
    fn from_str(given: &str) -> Result<Self, FilmError> {
        match crate::squeezed(given).as_str() {
            "acetate" | "triacetate" | "safety" => Ok(Self::Acetate),
            "polyester" | "pet" => Ok(Self::Polyester),
            "nitrate" => Ok(Self::Nitrate),
            _ => Err(FilmError::UnknownBase { given: given.to_owned() }),
        }
    }
}

impl TryFrom<String> for Base {
    type Error = FilmError;
    fn try_from(given: String) -> Result<Self, FilmError> {
        given.parse()
    }
}

impl From<Base> for &'static str {
    fn from(base: Base) -> &'static str {
        base.id()
    }
}
