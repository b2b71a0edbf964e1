//! Spools: flange, hub and what they are sold to hold.

use units::Metres;

use crate::winding::Roll;
use crate::{FilmError, Gauge};

/// One size of spool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spool {
    /// The size by which it is asked for, as printed on the box.
    pub name: &'static str,
    /// The length that it is sold to hold.
    pub nominal: Metres,
    /// Diameter of the flange.
    pub flange: Metres,
    /// Diameter of the hub, where it is known.
    pub hub: Option<Metres>,
    /// Where the figures come from.
    pub source: &'static str,
}

const fn in_inches(
    name: &'static str,
    feet: f64,
    flange_in: f64,
    hub_in: f64,
    source: &'static str,
) -> Spool {
    Spool {
        name,
        nominal: Metres::from_feet(feet),
        flange: Metres::from_inches(flange_in),
        hub: Some(Metres::from_inches(hub_in)),
        source,
    }
}

const fn in_millimetres(name: &'static str, metres: f64, flange_mm: f64, source: &'static str) -> Spool {
    Spool {
        name,
        nominal: Metres::new(metres),
        flange: Metres::from_millimetres(flange_mm),
        hub: None,
        source,
    }
}

const SMPTE_235: &str = "PH22.11 / SMPTE 235, from memory";
const HANDBOOK: &str = "film-handling community handbook, page on reels";
const LENGTH_TABLE: &str = "printed table of 8 mm and Super 8 lengths and times";

const MM16: [Spool; 5] = [
    in_inches("400 ft", 400.0, 7.0, 2.5, SMPTE_235),
    in_inches("800 ft", 800.0, 10.5, 4.875, SMPTE_235),
    in_inches("1200 ft", 1200.0, 12.25, 4.875, SMPTE_235),
    in_inches("1600 ft", 1600.0, 13.75, 4.875, SMPTE_235),
    in_inches("2000 ft", 2000.0, 15.0, 4.625, SMPTE_235),
];
const MM35: [Spool; 3] = [
    in_inches("2000 ft, 14 in flange, 4 in hub", 2000.0, 14.0, 4.0, HANDBOOK),
    in_inches("2000 ft, 15 in flange, 5 in hub", 2000.0, 15.0, 5.0, HANDBOOK),
    in_inches("2000 ft, 15 in flange, 2 in hub", 2000.0, 15.0, 2.0, HANDBOOK),
];
const SUPER8: [Spool; 5] = [
    in_millimetres("15 m", 15.0, 75.0, "ANSI/SMPTE 212M-1995, scope"),
    in_millimetres("60 m", 60.0, 130.0, LENGTH_TABLE),
    in_millimetres("90 m", 90.0, 150.0, LENGTH_TABLE),
    in_millimetres("120 m", 120.0, 180.0, LENGTH_TABLE),
    in_millimetres("360 m", 360.0, 312.0, "ANSI/SMPTE 160M-1995, scope"),
];
const STANDARD8: [Spool; 4] = [
    in_millimetres("15 m", 15.0, 75.0, LENGTH_TABLE),
    in_millimetres("60 m", 60.0, 130.0, LENGTH_TABLE),
    in_millimetres("90 m", 90.0, 150.0, LENGTH_TABLE),
    in_millimetres("120 m", 120.0, 180.0, LENGTH_TABLE),
];

/// How full a spool may be wound, so that the outer turns do not slip over the flange: common practice, no source.
pub const SAFE_FILL: f64 = 0.95;

impl Gauge {
    /// The sizes of spool for this gauge, smallest first.
    pub const fn spools(self) -> &'static [Spool] {
        match self {
            Self::Mm16 => &MM16,
            Self::Mm35 => &MM35,
            Self::Super8 => &SUPER8,
            Self::Standard8 => &STANDARD8,
        }
    }

    /// The smallest spool that is sold to hold this much film; none when no listed spool is large enough.
    pub fn smallest_spool_for(self, length: Metres) -> Option<&'static Spool> {
        // A tenth of a millimetre forgives the rounding between feet and metres.
        self.spools().iter().find(|spool| length <= spool.nominal + Metres::from_millimetres(0.1))
    }
}

impl Spool {
    /// How much film of this wound thickness fills the spool to the brim. None where the hub is not known.
    pub fn brim_capacity(&self, wound_thickness: Metres) -> Result<Option<Metres>, FilmError> {
        self.hub.map(|hub| Roll::new(self.flange, hub, wound_thickness).map(|roll| roll.length())).transpose()
    }
    /// How much film may be wound on safely: [`SAFE_FILL`] of the brim. None where the hub is not known.
    pub fn safe_capacity(&self, wound_thickness: Metres) -> Result<Option<Metres>, FilmError> {
        Ok(self.brim_capacity(wound_thickness)?.map(|brim| brim * SAFE_FILL))
    }
}
