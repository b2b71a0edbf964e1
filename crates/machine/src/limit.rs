//! Readings: what is measured, how, and how good is good.

use crate::care::Clock;
use crate::id::{QuantityId, SlotId, SourceTag};
use crate::vocabulary::vocabulary;
use serde::Serialize;

vocabulary! {
    /// The unit in which a quantity is read.
    ReadingUnit {
        /// Per cent.
        Percent = "%",
        /// Hertz.
        Hertz = "Hz",
        /// Decibels.
        Decibel = "dB",
        /// Sound level, A weighted.
        DecibelA = "dB(A)",
        /// Sound level, C weighted.
        DecibelC = "dB(C)",
        /// Seconds.
        Second = "s",
        /// Degrees of arc.
        Degree = "deg",
        /// Millimetres.
        Millimetre = "mm",
        /// Newtons.
        Newton = "N",
        /// Volts.
        Volt = "V",
        /// Millivolts.
        Millivolt = "mV",
        /// Amperes.
        Ampere = "A",
        /// Milliamperes.
        Milliampere = "mA",
        /// Ohms.
        Ohm = "ohm",
        /// Megohms.
        Megohm = "Mohm",
        /// Lux.
        Lux = "lx",
        /// Candelas per square metre.
        Luminance = "cd/m2",
        /// Kelvin, of a colour temperature.
        Kelvin = "K",
        /// Degrees Celsius.
        Celsius = "degC",
        /// Line pairs per millimetre, on the film.
        LinePairs = "lp/mm",
        /// Cubic metres per minute.
        Airflow = "m3/min",
        /// Metres per second squared.
        Acceleration = "m/s2",
        /// A count: lines, passes, pieces.
        Count = "count",
    }
}

vocabulary! {
    /// Which way is better.
    Better {
        /// The less the better.
        Lower = "lower",
        /// The more the better.
        Higher = "higher",
        /// Best between two bounds.
        Within = "within",
    }
}

vocabulary! {
    /// What the bounds are compared with.
    Basis {
        /// The reading itself.
        Reading = "reading",
        /// The reading in per cent of the reference taken after the last full service.
        ShareOfReference = "share-of-reference",
        /// The reading less that reference.
        DifferenceFromReference = "difference-from-reference",
    }
}

/// Bounds; a missing end is open.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Bounds {
    /// The least value inside.
    pub low: Option<f64>,
    /// The greatest value inside.
    pub high: Option<f64>,
}

impl Bounds {
    /// True for a value inside or on the edge.
    pub fn hold(&self, value: f64) -> bool {
        self.low.is_none_or(|low| value >= low) && self.high.is_none_or(|high| value <= high)
    }

    /// True if every value inside the other is inside this one.
    pub fn contain(&self, inner: &Self) -> bool {
        let low = self.low.is_none_or(|low| inner.low.is_some_and(|inner| inner >= low));
        let high = self.high.is_none_or(|high| inner.high.is_some_and(|inner| inner <= high));
        low && high
    }
}

vocabulary! {
    /// What a reading says.
    Judgement {
        /// Inside the bounds of a good machine.
        Good = "good",
        /// Neither good nor calling for anything: watch it.
        Watch = "watch",
        /// Do something soon.
        Act = "act",
        /// Do not run film.
        Stop = "stop",
    }
}

/// How well two readings of the same thing agree when one hand takes both.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Repeats {
    /// Within so many per cent of the reading.
    Percent(f64),
    /// Within so much, in the unit of the reading.
    Amount(f64),
}

/// One quantity that is read, with its limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingLimit {
    /// Its name in the logbook.
    pub quantity: QuantityId,
    /// Its name in plain words.
    pub name: String,
    /// The unit in which it is read and kept.
    pub unit: ReadingUnit,
    /// Which way is better.
    pub better: Better,
    /// What the bounds are compared with.
    pub basis: Basis,
    /// Inside: good.
    pub good: Bounds,
    /// Outside: act.
    pub act: Option<Bounds>,
    /// Outside: stop.
    pub stop: Option<Bounds>,
    /// The parts it tells of.
    pub parts: Vec<SlotId>,
    /// The instrument.
    pub instrument: String,
    /// How it is read.
    pub how: String,
    /// What must be written down with it, or it is worth nothing.
    pub conditions: Vec<String>,
    /// How often, in plain words.
    pub every: String,
    /// The clock along which its trend is drawn; none for the calendar.
    pub clock: Option<Clock>,
    /// How well readings repeat.
    pub repeats: Option<Repeats>,
    /// What a trend of it tells.
    pub tells: String,
    /// Where the figures come from.
    pub source: SourceTag,
}

impl ReadingLimit {
    /// Judges a reading in the unit of the quantity; `None` if a reference is needed and there is none,
    /// or if the reading is not a number.
    pub fn judge(&self, value_in_unit: f64, reference_in_unit: Option<f64>) -> Option<Judgement> {
        let value = self.on_basis(value_in_unit, reference_in_unit).filter(|value| value.is_finite())?;
        let outside = |bounds: Option<Bounds>| bounds.is_some_and(|bounds| !bounds.hold(value));
        Some(if outside(self.stop) {
            Judgement::Stop
        } else if outside(self.act) {
            Judgement::Act
        } else if self.good.hold(value) {
            Judgement::Good
        } else {
            Judgement::Watch
        })
    }

    /// The number that the bounds are compared with: the reading itself, its share, or its difference.
    pub fn on_basis(&self, value_in_unit: f64, reference_in_unit: Option<f64>) -> Option<f64> {
        match self.basis {
            Basis::Reading => Some(value_in_unit),
            Basis::ShareOfReference => {
                reference_in_unit.filter(|r| *r != 0.0).map(|reference| 100.0 * value_in_unit / reference)
            }
            Basis::DifferenceFromReference => reference_in_unit.map(|reference| value_in_unit - reference),
        }
    }
}

/// A unit as people read it; the logbook keeps the plain letters.
pub fn unit_as_read(unit: &str) -> &str {
    match unit {
        "degC" => "°C",
        "cd/m2" => "cd/m²",
        "m/s2" => "m/s²",
        "m3/min" => "m³/min",
        other => other,
    }
}
