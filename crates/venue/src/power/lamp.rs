//! What voltage does to a tungsten lamp.

use serde::Serialize;
use units::{Percent, Times};

use crate::answer::Working;
use crate::estimate::{Estimate, reach};

/// A tungsten lamp off its rated voltage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LampEffect {
    /// Voltage beside the rated one.
    #[serde(rename = "voltage_percent")]
    pub voltage: Estimate<Percent>,
    /// Light beside the rated light.
    #[serde(rename = "light_percent")]
    pub light: Estimate<Percent>,
    /// Life beside the rated life.
    #[serde(rename = "life_percent")]
    pub life: Estimate<Percent>,
    /// Power beside the rated power.
    #[serde(rename = "watts_percent")]
    pub watts: Estimate<Percent>,
}

pub(crate) const WORKING: Working = Working {
    gives: "lamp's light and life",
    formula: "light ~ (V / rated)^3.38 (3.3 to 3.5), life ~ (V / rated)^-13.1 (-12 to -16), watts ~ (V / rated)^1.54 (to 1.6)",
    source: "lighting handbook, from memory; ranges: a published table of lamp re-rating exponents",
};

fn exponent(low: f64, likely: f64, high: f64) -> Estimate<Times> {
    Estimate::between(Times::new(low), Times::new(likely), Times::new(high))
}

/// The light, life and power of a tungsten lamp at a part of its rated voltage.
pub fn lamp_effect(voltage: Estimate<Percent>) -> LampEffect {
    let power = |[percent, exponent]: [f64; 2]| [(percent / 100.0).max(0.0).powf(exponent) * 100.0];
    let [light] = reach([voltage.bare(), exponent(3.3, 3.38, 3.5)], power);
    let [life] = reach([voltage.bare(), exponent(12.0, 13.1, 16.0)], |[percent, exponent]| {
        power([percent.max(1.0), -exponent])
    });
    let [watts] = reach([voltage.bare(), exponent(1.5, 1.54, 1.6)], power);
    LampEffect { voltage, light: light.of(), life: life.of(), watts: watts.of() }
}
