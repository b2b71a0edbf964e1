//! Quantities that are known only within limits.

use serde::ser::{Serialize, SerializeStruct, Serializer};
use units::{
    Amperes, Celsius, CubicMetres, Decibels, Degrees, Lumens, Luminance, Lux, Metres, Ohms, Percent, Seconds,
    SquareMetres, Times, Volts, Watts,
};

/// A quantity in one fixed unit, for sums that take estimates.
pub trait Quantity: Copy + PartialOrd {
    /// Takes a bare number in the quantity's own unit.
    fn of(bare: f64) -> Self;
    /// The bare number in the quantity's own unit.
    fn bare(self) -> f64;
}

macro_rules! quantities {
    ($($name:ident.$accessor:ident),* $(,)?) => {$(
        impl Quantity for $name {
            fn of(bare: f64) -> Self {
                Self::new(bare)
            }
            fn bare(self) -> f64 {
                self.$accessor()
            }
        }
    )*};
}

quantities! {
    Amperes.amperes, Celsius.celsius, CubicMetres.cubic_metres, Decibels.decibels, Degrees.degrees,
    Lumens.lumens, Luminance.candelas_per_square_metre, Lux.lux, Metres.metres, Ohms.ohms, Percent.percent,
    Seconds.seconds, SquareMetres.square_metres, Times.times, Volts.volts, Watts.watts,
}

/// A quantity that lies between two limits and is likely somewhere in between. Low, likely and high are in order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate<Q> {
    low: Q,
    likely: Q,
    high: Q,
}

impl<Q: Quantity> Estimate<Q> {
    /// A quantity that is known.
    pub const fn exactly(value: Q) -> Self {
        Self { low: value, likely: value, high: value }
    }

    /// A quantity between two limits, given in any order, and most likely at `likely`, which widens the limits if it
    /// lies outside.
    pub fn between(one: Q, likely: Q, other: Q) -> Self {
        let low = if one < other { one } else { other };
        let high = if one < other { other } else { one };
        Self {
            low: if likely < low { likely } else { low },
            likely,
            high: if likely > high { likely } else { high },
        }
    }

    /// The least it may be.
    pub const fn low(self) -> Q {
        self.low
    }

    /// What it most likely is.
    pub const fn likely(self) -> Q {
        self.likely
    }

    /// The most it may be.
    pub const fn high(self) -> Q {
        self.high
    }

    /// True when there is nothing between the limits.
    pub fn is_exact(self) -> bool {
        self.low.bare() == self.high.bare()
    }

    /// True when the value may be the one given.
    pub fn may_be(self, value: Q) -> bool {
        self.low <= value && value <= self.high
    }

    /// The same limits of another quantity, by a sum that rises or falls throughout.
    #[must_use]
    pub fn map<R: Quantity>(self, sum: impl Fn(Q) -> R) -> Estimate<R> {
        Estimate::between(sum(self.low), sum(self.likely), sum(self.high))
    }

    /// The limits as bare numbers, for [`reach`].
    pub(crate) fn bare(self) -> Estimate<Times> {
        self.map(|value| Times::new(value.bare()))
    }
}

impl Estimate<Times> {
    /// The limits of a quantity, from bare numbers in its own unit.
    pub(crate) fn of<Q: Quantity>(self) -> Estimate<Q> {
        self.map(|value| Q::of(value.times()))
    }
}

impl<Q: Quantity> From<Q> for Estimate<Q> {
    fn from(value: Q) -> Self {
        Self::exactly(value)
    }
}

/// Rounds away the noise of binary fractions: a millionth of the unit is finer than anything measured here.
pub(crate) fn tidy(value: f64) -> f64 {
    (value * 1.0e6).round() / 1.0e6
}

/// `{"low": …, "likely": …, "high": …}` in the quantity's own unit; the key that holds it names the unit.
impl<Q: Quantity> Serialize for Estimate<Q> {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        let mut map = out.serialize_struct("Estimate", 3)?;
        map.serialize_field("low", &tidy(self.low.bare()))?;
        map.serialize_field("likely", &tidy(self.likely.bare()))?;
        map.serialize_field("high", &tidy(self.high.bare()))?;
        map.end()
    }
}

/// What a sum reaches when its inputs may lie anywhere between their limits.
///
/// # Method
///
/// The sum is done with the likely values, with each input alone at its limits, and at every corner where each input is
/// at one of its limits. That is exact for a sum that rises or falls throughout with each input while the others stand
/// still, as the sums of this crate do; it does not widen the answer as interval arithmetic does when an input occurs
/// twice.
pub(crate) fn reach<const I: usize, const O: usize>(
    inputs: [Estimate<Times>; I],
    sum: impl Fn([f64; I]) -> [f64; O],
) -> [Estimate<Times>; O] {
    let likely = inputs.map(|input| input.likely.times());
    let unsure: Vec<usize> =
        inputs.iter().enumerate().filter(|(_, input)| !input.is_exact()).map(|(at, _)| at).collect();
    let mut reached = sum(likely).map(|value| Estimate::exactly(Times::new(value)));
    let mut widen = |point: [f64; I]| {
        for (estimate, value) in reached.iter_mut().zip(sum(point)) {
            estimate.low = estimate.low.min(Times::new(value));
            estimate.high = estimate.high.max(Times::new(value));
        }
    };
    for corner in 0..1_usize << unsure.len() {
        let mut point = likely;
        for (bit, &at) in unsure.iter().enumerate() {
            let input = inputs[at];
            point[at] = if corner >> bit & 1 == 1 { input.high.times() } else { input.low.times() };
        }
        widen(point);
    }
    for &at in &unsure {
        for limit in [inputs[at].low, inputs[at].high] {
            let mut point = likely;
            point[at] = limit.times();
            widen(point);
        }
    }
    reached
}
