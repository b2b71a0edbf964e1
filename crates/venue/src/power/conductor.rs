//! Copper: what a metre of cable resists.

use units::{Amperes, Metres, Ohms, SquareMillimetres, Volts};

use crate::estimate::{Estimate, reach};

/// One size of copper conductor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductor {
    /// The name that options use: `1.5mm2`, `14awg`.
    pub id: &'static str,
    /// The name as people say it.
    pub name: &'static str,
    /// The copper's cross-section.
    pub area: SquareMillimetres,
    /// Resistance of one metre of one conductor at 20 °C.
    pub per_metre_at_20: Ohms,
    /// Where the figure comes from.
    pub source: &'static str,
}

const fn metric(id: &'static str, name: &'static str, area: f64, ohm_per_km: f64) -> Conductor {
    Conductor {
        id,
        name,
        area: SquareMillimetres::new(area),
        per_metre_at_20: Ohms::new(ohm_per_km / 1000.0),
        source: "IEC 60228, flexible copper at 20 °C, from memory",
    }
}

const fn gauge(
    id: &'static str,
    name: &'static str,
    area: f64,
    ohm_per_kft: f64,
    source: &'static str,
) -> Conductor {
    Conductor {
        id,
        name,
        area: SquareMillimetres::new(area),
        per_metre_at_20: Ohms::new(ohm_per_kft / 304.8),
        source,
    }
}

const AWG: &str = "table of American wire gauge resistances at 20 °C";

const CONDUCTORS: &[Conductor] = &[
    metric("0.75mm2", "0.75 mm²", 0.75, 26.0),
    metric("1mm2", "1 mm²", 1.0, 19.5),
    metric("1.5mm2", "1.5 mm²", 1.5, 13.3),
    metric("2.5mm2", "2.5 mm²", 2.5, 7.98),
    metric("4mm2", "4 mm²", 4.0, 4.95),
    metric("6mm2", "6 mm²", 6.0, 3.30),
    gauge("18awg", "18 AWG", 0.823, 6.385, AWG),
    gauge("16awg", "16 AWG", 1.309, 4.016, AWG),
    gauge("14awg", "14 AWG", 2.081, 2.525, AWG),
    gauge("12awg", "12 AWG", 3.309, 1.588, AWG),
    gauge("10awg", "10 AWG", 5.261, 0.9989, "American wire gauge resistance at 20 °C, from memory"),
];

/// Every size that is known, thinnest first in each system.
pub const fn conductors() -> &'static [Conductor] {
    CONDUCTORS
}

/// How much more copper resists at 75 °C than at 20 °C: `1 + 0.00393 x 55`, coefficient from memory. NEC chapter 9,
/// table 8, has 3.07 ohm/kft for 14 AWG at 75 °C beside 2.525 at 20 °C.
const AT_75: f64 = 1.0 + 0.003_93 * 55.0;
/// The same at 40 °C, a cable in use on a floor: common practice, no source.
const AT_40: f64 = 1.0 + 0.003_93 * 20.0;

impl Conductor {
    /// The conductor of this id.
    pub fn by_id(id: &str) -> Option<&'static Self> {
        CONDUCTORS.iter().find(|conductor| conductor.id == id)
    }

    /// Resistance of one metre, from a cool cable to a hot one.
    pub fn per_metre(&self) -> Estimate<Ohms> {
        Estimate::between(self.per_metre_at_20, self.per_metre_at_20 * AT_40, self.per_metre_at_20 * AT_75)
    }
}

/// The resistance of a cable, out and back.
pub fn loop_resistance(conductor: &Conductor, length: Estimate<Metres>) -> Estimate<Ohms> {
    let [ohms] = reach([conductor.per_metre().bare(), length.bare()], |[per_metre, length]| {
        [2.0 * per_metre * length]
    });
    ohms.of()
}

/// The voltage that a cable of this length takes, out and back: `2 L I r`.
pub fn voltage_drop(length: Metres, current: Amperes, per_metre: Ohms) -> Volts {
    current * (per_metre * (2.0 * length.metres()))
}
