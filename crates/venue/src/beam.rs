//! The light path over heads, and the table height that clears them.

use serde::Serialize;
use units::Metres;

use crate::answer::Working;
use crate::estimate::{Estimate, reach};
use crate::sight::Row;

/// The lower edge of the beam over one row.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PathOverRow {
    /// The row, from 1.
    pub row: u32,
    /// The lower edge of the beam, above the first row's floor.
    #[serde(rename = "beam_m")]
    pub beam: Estimate<Metres>,
    /// From the seated heads up to it; below zero a head is in the picture.
    #[serde(rename = "over_seated_m")]
    pub over_seated: Estimate<Metres>,
    /// From the heads of people who stand or walk.
    #[serde(rename = "over_standing_m")]
    pub over_standing: Estimate<Metres>,
}

/// The beam over the rows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightPath {
    /// Every row that lies before the lens.
    pub rows: Vec<PathOverRow>,
    /// The lowest lens that clears every seated head.
    #[serde(rename = "lens_height_over_seated_m")]
    pub lens_over_seated: Estimate<Metres>,
    /// The lowest lens that clears people who stand and walk, too.
    #[serde(rename = "lens_height_over_standing_m")]
    pub lens_over_standing: Estimate<Metres>,
}

pub(crate) const WORKING: Working = Working {
    gives: "light path",
    formula: "beam's lower edge = picture's lower edge + (lens height - lower edge) x distance / throw",
    source: "geometry; a head reaches 0.12 m above its eyes, a standing one 1.85 m: common practice, no source",
};

/// From the eye to the top of the head: common practice, no source.
const HEAD_ABOVE_EYE: Metres = Metres::new(0.12);
/// A tall person who stands: common practice, no source.
const STANDING: Metres = Metres::new(1.85);

pub(crate) fn over_rows(
    lens_height: Estimate<Metres>,
    bottom: Estimate<Metres>,
    throw: Estimate<Metres>,
    rows: &[Row],
    eye: Estimate<Metres>,
) -> LightPath {
    let before_lens: Vec<&Row> = rows.iter().filter(|row| row.distance.likely() < throw.likely()).collect();
    let lowest = |head: f64, above_eye: bool| {
        before_lens
            .iter()
            .map(|row| lens_to_clear(row, bottom, throw, eye, head, above_eye))
            .reduce(higher)
            .map_or(bottom, |height| height.map(|height| height.max(Metres::ZERO)))
    };
    LightPath {
        rows: before_lens.iter().map(|row| over_row(row, lens_height, bottom, throw, eye)).collect(),
        lens_over_seated: lowest(HEAD_ABOVE_EYE.metres(), true),
        lens_over_standing: lowest(STANDING.metres(), false),
    }
}

fn over_row(
    row: &Row,
    lens: Estimate<Metres>,
    bottom: Estimate<Metres>,
    throw: Estimate<Metres>,
    eye: Estimate<Metres>,
) -> PathOverRow {
    let inputs =
        [lens.bare(), bottom.bare(), throw.bare(), row.distance.bare(), row.floor.bare(), eye.bare()];
    let [beam, over_seated, over_standing] = reach(inputs, |[lens, bottom, throw, distance, floor, eye]| {
        let beam = bottom + (lens - bottom) * distance / throw;
        [beam, beam - floor - eye - HEAD_ABOVE_EYE.metres(), beam - floor - STANDING.metres()]
    });
    PathOverRow {
        row: row.row,
        beam: beam.of(),
        over_seated: over_seated.of(),
        over_standing: over_standing.of(),
    }
}

/// The lens height at which the beam just clears a head of this row.
fn lens_to_clear(
    row: &Row,
    bottom: Estimate<Metres>,
    throw: Estimate<Metres>,
    eye: Estimate<Metres>,
    head: f64,
    above_eye: bool,
) -> Estimate<Metres> {
    let inputs = [bottom.bare(), throw.bare(), row.distance.bare(), row.floor.bare(), eye.bare()];
    let [height] = reach(inputs, |[bottom, throw, distance, floor, eye]| {
        let top = floor + if above_eye { eye + head } else { head };
        [bottom + (top - bottom) * throw / distance]
    });
    height.of()
}

fn higher(one: Estimate<Metres>, other: Estimate<Metres>) -> Estimate<Metres> {
    Estimate::between(
        one.low().max(other.low()),
        one.likely().max(other.likely()),
        one.high().max(other.high()),
    )
}

impl LightPath {
    /// The row over whose seated heads the beam passes lowest, with its likely clearance.
    pub fn tightest(&self) -> Option<&PathOverRow> {
        self.rows.iter().min_by(|one, other| one.over_seated.likely().total_cmp(&other.over_seated.likely()))
    }

    /// True when a lens at any likely height clears every seated head.
    pub fn clears_seated(&self) -> bool {
        self.rows.iter().all(|row| row.over_seated.low() >= Metres::ZERO)
    }
}
