//! Depth of focus: how exactly film and screen must lie.

use serde::{Serialize, Serializer};
use units::{Metres, Times};

use crate::answer::Working;
use crate::estimate::{Estimate, reach};

/// How far film and screen may lie from where they are sharpest.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FocusDepth {
    /// The blur on the film that is let pass.
    #[serde(rename = "blur_mm", serialize_with = "millimetres")]
    pub blur: Estimate<Metres>,
    /// To either side, at the gate.
    #[serde(rename = "at_gate_mm", serialize_with = "millimetres")]
    pub at_gate: Estimate<Metres>,
    /// To either side, at the screen, along the beam.
    #[serde(rename = "at_screen_m")]
    pub at_screen: Estimate<Metres>,
}

fn millimetres<S: Serializer>(length: &Estimate<Metres>, out: S) -> Result<S::Ok, S::Error> {
    length.map(|metres| Times::new(metres.as_millimetres())).serialize(out)
}

pub(crate) const WORKING: Working = Working {
    gives: "depth of focus",
    formula: "at the gate: f-number x blur to either side; at the screen: f-number x blur x enlargement x (enlargement + 1)",
    source: "geometrical optics; blur of half a line pair at 40 to 80 lp/mm: common practice, no source",
};

/// The blur on the film that is let pass: half a line pair at 40 to 80 line pairs a millimetre, which is what good
/// 16 mm prints resolve: common practice, no source.
pub(crate) fn blur() -> Estimate<Metres> {
    let half_of = |pairs_per_mm: f64| Metres::from_millimetres(0.5 / pairs_per_mm);
    Estimate::between(half_of(80.0), half_of(56.0), half_of(40.0))
}

/// The depth of focus of a lens at an f-number, for a blur on the film and an enlargement.
pub fn focus_depth(
    f_number: Estimate<Times>,
    blur: Estimate<Metres>,
    enlargement: Estimate<Times>,
) -> FocusDepth {
    let [at_gate, at_screen] =
        reach([f_number.bare(), blur.bare(), enlargement.bare()], |[f_number, blur, enlargement]| {
            [f_number * blur, f_number * blur * enlargement * (enlargement + 1.0)]
        });
    FocusDepth { blur, at_gate: at_gate.of(), at_screen: at_screen.of() }
}
