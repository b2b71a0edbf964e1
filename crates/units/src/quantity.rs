//! Physical quantities: one type per unit, all made by one macro so that they behave alike.

use serde::{Deserialize, Serialize};

/// Makes one quantity: a transparent `f64` in one fixed unit, with the arithmetic that keeps the unit right.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $accessor:ident, $symbol:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);
            /// The symbol that is printed after the number.
            pub const SYMBOL: &'static str = $symbol;

            #[doc = concat!("Takes a bare number that is known to be in ", $symbol, ".")]
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("The bare number, in ", $symbol, ".")]
            pub const fn $accessor(self) -> f64 {
                self.0
            }

            /// The size without the sign.
            #[must_use]
            pub const fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// False for infinities and for not-a-number.
            pub const fn is_finite(self) -> bool {
                self.0.is_finite()
            }

            /// The smaller of the two; a number wins over not-a-number.
            #[must_use]
            pub const fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// The larger of the two; a number wins over not-a-number.
            #[must_use]
            pub const fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            /// A total order, for sorting (IEEE 754 totalOrder).
            pub fn total_cmp(&self, other: &Self) -> std::cmp::Ordering {
                self.0.total_cmp(&other.0)
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl std::ops::AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }

        impl std::ops::SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                self.0 -= other.0;
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
                values.fold(Self::ZERO, std::ops::Add::add)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }

        impl std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        /// Number, space, symbol. `{:.1}` sets the decimals; without it the shortest exact form is printed.
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                match f.precision() {
                    Some(decimals) => write!(f, "{:.*} {}", decimals, self.0, $symbol),
                    None => write!(f, "{} {}", self.0, $symbol),
                }
            }
        }
    };
}

quantity! {
    /// Hours, of running or of the clock.
    Hours, hours, "h"
}
quantity! {
    /// Seconds.
    Seconds, seconds, "s"
}
quantity! {
    /// Metres, for film as for rooms and parts.
    Metres, metres, "m"
}
quantity! {
    /// Cycles per second.
    Hertz, hertz, "Hz"
}
quantity! {
    /// Frames per second: the speed of a machine as the trade says it.
    FramesPerSecond, fps, "fps"
}
quantity! {
    /// Newtons: tension and gate friction.
    Newtons, newtons, "N"
}
quantity! {
    /// Decibels, relative to whatever the reading says.
    Decibels, decibels, "dB"
}
quantity! {
    /// Volts.
    Volts, volts, "V"
}
quantity! {
    /// Degrees Celsius.
    Celsius, celsius, "°C"
}
quantity! {
    /// Hundredths.
    Percent, percent, "%"
}
quantity! {
    /// Grams.
    Grams, grams, "g"
}
quantity! {
    /// Kilograms.
    Kilograms, kilograms, "kg"
}
quantity! {
    /// Lux: light that falls on a surface.
    Lux, lux, "lx"
}
quantity! {
    /// Luminance in candelas per square metre: light that comes back from the screen.
    Luminance, candelas_per_square_metre, "cd/m²"
}
quantity! {
    /// Metres per second: the speed of film.
    MetresPerSecond, metres_per_second, "m/s"
}
quantity! {
    /// Amperes.
    Amperes, amperes, "A"
}
quantity! {
    /// Watts, and volt-amperes where a load is not purely resistive.
    Watts, watts, "W"
}
quantity! {
    /// Ohms.
    Ohms, ohms, "Ω"
}
quantity! {
    /// Lumens: the light that leaves a lamp or a lens.
    Lumens, lumens, "lm"
}
quantity! {
    /// Degrees of angle.
    Degrees, degrees, "°"
}
quantity! {
    /// Square metres.
    SquareMetres, square_metres, "m²"
}
quantity! {
    /// Cubic metres.
    CubicMetres, cubic_metres, "m³"
}
quantity! {
    /// Square millimetres: the copper of a cable.
    SquareMillimetres, square_millimetres, "mm²"
}
quantity! {
    /// A plain number of times: gain, f-number, exponents.
    Times, times, "×"
}

/// Metres in one foot: exactly 0.3048, by the international yard and pound agreement of 1959.
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Millimetres in one inch: exactly 25.4, by the same agreement.
pub const MILLIMETRES_PER_INCH: f64 = 25.4;
/// Newtons in one ounce of force: 0.45359237 kg x 9.80665 m/s2 / 16, exact by definition.
pub const NEWTONS_PER_OUNCE: f64 = 0.453_592_37 * 9.806_65 / 16.0;
/// Candelas per square metre in one foot-lambert: `1 / (pi * 0.3048^2)`, which is 3.4263.
pub const CANDELAS_PER_SQUARE_METRE_PER_FOOT_LAMBERT: f64 =
    1.0 / (std::f64::consts::PI * METRES_PER_FOOT * METRES_PER_FOOT);

impl Hours {
    /// The same span in seconds.
    pub const fn as_seconds(self) -> Seconds {
        Seconds::new(self.0 * 3600.0)
    }

    /// From seconds.
    pub const fn from_seconds(span: Seconds) -> Self {
        Self(span.0 / 3600.0)
    }

    /// From a number of minutes.
    pub const fn from_minutes(minutes: f64) -> Self {
        Self(minutes / 60.0)
    }

    /// The same span as a number of minutes.
    pub const fn as_minutes(self) -> f64 {
        self.0 * 60.0
    }
}

impl Seconds {
    /// The same span in hours.
    pub const fn as_hours(self) -> Hours {
        Hours::from_seconds(self)
    }

    /// From a number of minutes.
    pub const fn from_minutes(minutes: f64) -> Self {
        Self(minutes * 60.0)
    }

    /// The same span as a number of milliseconds.
    pub const fn as_milliseconds(self) -> f64 {
        self.0 * 1000.0
    }
}

impl Metres {
    /// From a number of feet.
    pub const fn from_feet(feet: f64) -> Self {
        Self(feet * METRES_PER_FOOT)
    }

    /// The same length as a number of feet.
    pub const fn as_feet(self) -> f64 {
        self.0 / METRES_PER_FOOT
    }

    /// From a number of inches.
    pub const fn from_inches(inches: f64) -> Self {
        Self(inches * MILLIMETRES_PER_INCH / 1000.0)
    }

    /// The same length as a number of inches.
    pub const fn as_inches(self) -> f64 {
        self.0 * 1000.0 / MILLIMETRES_PER_INCH
    }

    /// From a number of millimetres.
    pub const fn from_millimetres(millimetres: f64) -> Self {
        Self(millimetres / 1000.0)
    }

    /// The same length as a number of millimetres.
    pub const fn as_millimetres(self) -> f64 {
        self.0 * 1000.0
    }
}

impl Percent {
    /// From a part of one: `0.25` is 25 %.
    pub const fn from_fraction(fraction: f64) -> Self {
        Self(fraction * 100.0)
    }

    /// As a part of one: 25 % is `0.25`.
    pub const fn as_fraction(self) -> f64 {
        self.0 / 100.0
    }
}

impl Kilograms {
    /// The same mass in grams.
    pub const fn as_grams(self) -> Grams {
        Grams::new(self.0 * 1000.0)
    }
}

impl Grams {
    /// The same mass in kilograms.
    pub const fn as_kilograms(self) -> Kilograms {
        Kilograms::new(self.0 / 1000.0)
    }
}

impl Newtons {
    /// From a number of ounces of force.
    pub const fn from_ounces(ounces: f64) -> Self {
        Self(ounces * NEWTONS_PER_OUNCE)
    }

    /// The same force as a number of ounces.
    pub const fn as_ounces(self) -> f64 {
        self.0 / NEWTONS_PER_OUNCE
    }
}

impl Luminance {
    /// From a number of foot-lamberts.
    pub const fn from_foot_lamberts(foot_lamberts: f64) -> Self {
        Self(foot_lamberts * CANDELAS_PER_SQUARE_METRE_PER_FOOT_LAMBERT)
    }

    /// The same luminance as a number of foot-lamberts.
    pub const fn as_foot_lamberts(self) -> f64 {
        self.0 / CANDELAS_PER_SQUARE_METRE_PER_FOOT_LAMBERT
    }
}

impl MetresPerSecond {
    /// The same speed as a number of millimetres per second.
    pub const fn as_millimetres_per_second(self) -> f64 {
        self.0 * 1000.0
    }

    /// The same speed as a number of feet per minute.
    pub const fn as_feet_per_minute(self) -> f64 {
        self.0 * 60.0 / METRES_PER_FOOT
    }

    /// The same speed as a number of inches per second.
    pub const fn as_inches_per_second(self) -> f64 {
        self.0 * 1000.0 / MILLIMETRES_PER_INCH
    }
}

impl Degrees {
    /// From radians.
    pub const fn from_radians(radians: f64) -> Self {
        Self(radians.to_degrees())
    }

    /// The same angle in radians.
    pub const fn as_radians(self) -> f64 {
        self.0.to_radians()
    }
}

impl std::ops::Mul<Metres> for Metres {
    type Output = SquareMetres;
    fn mul(self, other: Metres) -> SquareMetres {
        SquareMetres(self.0 * other.0)
    }
}

impl std::ops::Mul<Ohms> for Amperes {
    type Output = Volts;
    fn mul(self, resistance: Ohms) -> Volts {
        Volts(self.0 * resistance.0)
    }
}

impl std::ops::Div<Volts> for Watts {
    type Output = Amperes;
    fn div(self, voltage: Volts) -> Amperes {
        Amperes(self.0 / voltage.0)
    }
}

impl std::ops::Mul<Seconds> for MetresPerSecond {
    type Output = Metres;
    fn mul(self, span: Seconds) -> Metres {
        Metres::new(self.0 * span.0)
    }
}

impl std::ops::Div<MetresPerSecond> for Metres {
    type Output = Seconds;
    fn div(self, speed: MetresPerSecond) -> Seconds {
        Seconds::new(self.0 / speed.0)
    }
}
