//! Formats: the gauge, its aperture plate, and how far the lens spreads the picture.

use film::{ApertureUse, Gauge};
use serde::{Serialize, Serializer};
use units::Metres;

/// What is projected: a gauge with its aperture plate and the spread of the lens.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Format {
    /// The gauge.
    pub gauge: Gauge,
    /// The format as the trade says it: `1.33`, `1.85`, `anamorphic`.
    pub format: &'static str,
    /// The opening of the aperture plate, across the film.
    #[serde(rename = "plate_width_mm", serialize_with = "millimetres")]
    pub plate_width: Metres,
    /// The opening of the aperture plate, along the film.
    #[serde(rename = "plate_height_mm", serialize_with = "millimetres")]
    pub plate_height: Metres,
    /// By how much the lens spreads the picture sideways: 1, or 2 for anamorphic prints.
    pub spread: f64,
    /// Where the plate's figures come from.
    pub source: &'static str,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands every field over by reference")]
fn millimetres<S: Serializer>(length: &Metres, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_f64(crate::estimate::tidy(length.as_millimetres()))
}

impl Format {
    /// Width to height of the picture on the screen.
    pub fn screen_ratio(&self) -> f64 {
        self.plate_width / self.plate_height * self.spread
    }

    /// The width that the lens has to throw: the plate's, times the spread.
    pub fn thrown_width(&self) -> Metres {
        self.plate_width * self.spread
    }
}

/// Formats that have no plate of their own in the film tables.
fn further(gauge: Gauge) -> Vec<Format> {
    let plate = |format, width_in, height_in, spread, source| Format {
        gauge,
        format,
        plate_width: Metres::from_inches(width_in),
        plate_height: Metres::from_inches(height_in),
        spread,
        source,
    };
    match gauge {
        Gauge::Mm16 => vec![plate(
            "anamorphic",
            0.380,
            0.284,
            2.0,
            "the plate of SMPTE 233 (from memory) with a lens that spreads twofold: common practice, no source",
        )],
        Gauge::Mm35 => vec![
            plate("anamorphic 1971", 0.838, 0.700, 2.0, "from memory"),
            plate("silent", 0.906, 0.6795, 1.0, "from memory"),
        ],
        Gauge::Super8 | Gauge::Standard8 => Vec::new(),
    }
}

/// Every format of a gauge that can be projected, the usual one first.
pub fn formats(gauge: Gauge) -> Vec<Format> {
    let plates = gauge.apertures().iter().filter(|aperture| aperture.belongs_to == ApertureUse::Projector);
    let mut all: Vec<Format> = plates
        .map(|plate| Format {
            gauge,
            format: plate.format,
            plate_width: plate.width,
            plate_height: plate.height,
            spread: plate.spread,
            source: plate.source,
        })
        .collect();
    all.extend(further(gauge));
    all
}
