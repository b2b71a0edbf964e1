//! How hard a slipping clutch pulls the film on to its spool, and how hard a brake holds it back, beside the standard.
//!
//! # Method
//!
//! A clutch or a brake that slips gives the same torque `M` all through a reel, so the pull at radius `r` is `M / r`:
//! hardest on the bare hub, weakest on the full spool, and hub to full as outer diameter to hub diameter (PH22.91,
//! JSMPTE 59 (1952) p. 158, for the limits; a handbook on constant-torque take-ups for the inverse).

use crate::{FilmError, Gauge, winding::Roll};
use serde::Serialize;
use units::{Metres, Newtons};

/// The least pull of a 16 mm take-up, on any reel of 400 to 3600 ft: PH22.91, clause 11.2.
pub const TAKE_UP_LEAST: Newtons = Newtons::from_ounces(3.0);
/// The greatest pull of a 16 mm take-up on the same: PH22.91, clause 11.2.
pub const TAKE_UP_MOST: Newtons = Newtons::from_ounces(10.0);
/// The greatest pull against the feed brake of a 16 mm machine: PH22.91, clause 11.3.
pub const HOLD_BACK_MOST: Newtons = Newtons::from_ounces(3.0);
/// Hubs under this are left out of those limits: PH22.91, clause 11.
pub const SMALLEST_HUB: Metres = Metres::from_inches(4.5);
/// The longest reel of which the limits speak, which begin at 400 ft: PH22.91, clause 11.1.
pub const LONGEST_REEL: Metres = Metres::from_feet(3600.0);
/// Where the limits stand.
pub const TENSION_SOURCE: &str =
    "PH22.91, clause 11 (JSMPTE 59, 1952, p. 158): take-up 3 to 10 oz, feed brake at most 3 oz";
/// The sum in words.
pub const TENSION_FORMULA: &str =
    "pull = torque / radius, so pull on the hub = pull at the outside x outer / hub";

/// What the standard says of a roll.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "verdict", rename_all = "kebab-case")]
pub enum TensionVerdict {
    /// A clutch can hold to the limits all through, if it is set between these.
    CanHold {
        /// The least pull on the bare hub that still winds the last turn hard enough.
        #[serde(rename = "at_hub_least_newtons")]
        at_hub_least: Newtons,
        /// The greatest pull on the bare hub.
        #[serde(rename = "at_hub_most_newtons")]
        at_hub_most: Newtons,
    },
    /// No setting holds to the limits: gentle enough on the hub, it is too weak at the end.
    TooUneven {
        /// What is left of the greatest pull when the last turn is wound.
        #[serde(rename = "at_end_newtons")]
        at_end: Newtons,
    },
    /// The hub is smaller than those of which the limits speak.
    SmallHub,
    /// The reel is longer than those of which the limits speak.
    LongerReel,
    /// No limits for this gauge were seen.
    NoLimits,
}

/// How the pull changes through a roll, and what the standard says of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tension {
    /// How many times as hard the film is pulled with the first turn on the hub as with the last.
    pub ratio: f64,
    /// What the limits say.
    #[serde(flatten)]
    pub verdict: TensionVerdict,
    /// The most that the feed brake may pull at the outside of this roll, to stay within its limit down to the hub;
    /// none where no limit speaks of it.
    #[serde(rename = "brake_outside_most_newtons")]
    pub brake_outside_most: Option<Newtons>,
}

impl Tension {
    /// What a pull on the bare hub has become when the last turn is wound.
    pub fn at_end(&self, at_hub: Newtons) -> Newtons {
        at_hub / self.ratio
    }
}

/// Works out the pull through a roll of this gauge. Fails on a roll without a hub: there the pull has no bound.
pub fn tension(gauge: Gauge, roll: &Roll) -> Result<Tension, FilmError> {
    if roll.hub <= Metres::ZERO {
        return Err(FilmError::HubNegative { given_mm: roll.hub.as_millimetres() });
    }
    let ratio = roll.outer / roll.hub;
    let verdict = verdict(gauge, roll, ratio);
    let has_limits = matches!(verdict, TensionVerdict::CanHold { .. } | TensionVerdict::TooUneven { .. });
    Ok(Tension { ratio, verdict, brake_outside_most: has_limits.then(|| HOLD_BACK_MOST / ratio) })
}

fn verdict(gauge: Gauge, roll: &Roll, ratio: f64) -> TensionVerdict {
    if gauge != Gauge::Mm16 {
        return TensionVerdict::NoLimits;
    }
    if roll.hub < SMALLEST_HUB {
        return TensionVerdict::SmallHub;
    }
    // A reel that is not full pulls more evenly than a full one: only a longer one is beyond what the limits speak of.
    if roll.length() > LONGEST_REEL {
        return TensionVerdict::LongerReel;
    }
    let at_hub_least = TAKE_UP_LEAST * ratio;
    if at_hub_least <= TAKE_UP_MOST {
        TensionVerdict::CanHold { at_hub_least, at_hub_most: TAKE_UP_MOST }
    } else {
        TensionVerdict::TooUneven { at_end: TAKE_UP_MOST / ratio }
    }
}
