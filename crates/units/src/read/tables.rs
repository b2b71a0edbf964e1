//! Which units each quantity is written in, and reading by such a table.

use super::numbers::{Kind, Piece, pieces};
use super::{Problem, ReadError, Wanted, clock};
use crate::quantity::{
    Amperes, CANDELAS_PER_SQUARE_METRE_PER_FOOT_LAMBERT, Celsius, Decibels, Degrees, FramesPerSecond, Grams,
    Hertz, Hours, Kilograms, Lumens, Luminance, Lux, METRES_PER_FOOT, MILLIMETRES_PER_INCH, Metres,
    MetresPerSecond, NEWTONS_PER_OUNCE, Newtons, Ohms, Percent, Seconds, SquareMetres, Times, Volts, Watts,
};

/// One unit: the ways to write it, in lower case, and its size in the quantity's own unit.
pub(super) struct Unit {
    names: &'static [&'static str],
    factor: f64,
    /// What is added after multiplying; only for degrees.
    offset: f64,
}

const fn unit(names: &'static [&'static str], factor: f64) -> Unit {
    Unit { names, factor, offset: 0.0 }
}

/// How one quantity is written.
pub(super) struct Table {
    wanted: Wanted,
    units: &'static [Unit],
    /// The size of a number without a unit, where one goes without saying.
    bare: Option<f64>,
    /// True when parts may be added up, largest first: feet and inches, hours and minutes.
    compound: bool,
}

/// The unit that a last number without one takes from the unit before it, as `1h30` is said: hours, then minutes.
const FOLLOWS: &[(f64, f64)] = &[(3600.0, 60.0), (60.0, 1.0)];

impl Table {
    /// Reads the text as one quantity, in the quantity's own unit.
    pub(super) fn read(&self, given: &str) -> Result<f64, ReadError> {
        let (sign, text) = signed(given);
        // A sign that was taken off the front still counts for columns.
        let shift = given.chars().count() - text.chars().count();
        self.unsigned(text)
            .map(|value| sign * value)
            .map_err(|(column, problem)| self.wanted.refuse(given, column + shift, problem))
    }

    fn unsigned(&self, text: &str) -> Result<f64, (usize, Problem)> {
        let pieces = pieces(text)?;
        if pieces.is_empty() {
            return Err((1, Problem::Empty));
        }
        let mut rest = pieces.as_slice();
        let (mut total, mut smallest) = (0.0, f64::INFINITY);
        while let Some(first) = rest.first() {
            let (value, after) = amount(rest)?;
            let followed =
                after.is_empty().then(|| self.follows(smallest)).flatten().filter(|_| value < 60.0);
            let (size, offset) = match followed {
                Some(size) => (size, 0.0),
                None => self.size(first, after.first())?,
            };
            if size >= smallest || (smallest.is_finite() && !self.compound) {
                return Err((first.column, Problem::PartMisplaced { found: first.text.clone() }));
            }
            total += value * size + offset;
            smallest = size;
            rest = after.get(1..).unwrap_or_default();
        }
        if total.is_finite() { Ok(total) } else { Err((1, Problem::TooLarge)) }
    }

    /// The size of a last number without a unit, after a part of this size: only times are said so.
    fn follows(&self, before: f64) -> Option<f64> {
        let is_time = self.units.iter().any(|unit| unit.names.contains(&"min"));
        FOLLOWS.iter().find(|(part, _)| is_time && *part == before).map(|(_, next)| *next)
    }

    /// The size and offset of the unit after a number.
    fn size(&self, number: &Piece, unit: Option<&Piece>) -> Result<(f64, f64), (usize, Problem)> {
        match unit {
            None => {
                let bare = self.bare.map(|factor| (factor, 0.0));
                bare.ok_or((number.column + number.text.chars().count(), Problem::UnitMissing))
            }
            Some(piece) if piece.kind != Kind::Word => Err((piece.column, Problem::UnitMissing)),
            Some(piece) => {
                let name = piece.text.to_lowercase();
                let known = self.units.iter().find(|unit| unit.names.contains(&name.as_str()));
                let unknown = || (piece.column, Problem::UnitUnknown { found: piece.text.clone() });
                known.map(|unit| (unit.factor, unit.offset)).ok_or_else(unknown)
            }
        }
    }
}

/// Takes a sign off the front.
fn signed(given: &str) -> (f64, &str) {
    let text = given.trim_start();
    match text.strip_prefix(['-', '−', '\u{2013}']) {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    }
}

/// The number at the front, a whole number and a fraction taken together, and what follows it.
fn amount(pieces: &[Piece]) -> Result<(f64, &[Piece]), (usize, Problem)> {
    match pieces {
        [Piece { kind: Kind::Number(whole), .. }, Piece { kind: Kind::Fraction(part), .. }, rest @ ..] => {
            Ok((whole + part, rest))
        }
        [Piece { kind: Kind::Number(value) | Kind::Fraction(value), .. }, rest @ ..] => Ok((*value, rest)),
        [word, ..] => Err((word.column, Problem::NumberWanted { found: word.text.clone() })),
        [] => Err((1, Problem::NumberMissing)),
    }
}

/// Newtons in one gram of force, exact by definition.
const NEWTONS_PER_GRAM: f64 = 0.009_806_65;
/// Grams in one pound, exact by definition (1959 agreement).
const GRAMS_PER_POUND: f64 = 453.592_37;
/// Lux in one foot-candle: one lumen on a square foot.
const LUX_PER_FOOT_CANDLE: f64 = 1.0 / (METRES_PER_FOOT * METRES_PER_FOOT);
const METRES_PER_INCH: f64 = MILLIMETRES_PER_INCH / 1000.0;

const FOOT: &[&str] = &["ft", "ft.", "foot", "feet", "'", "′", "’"];
const INCH: &[&str] = &["in", "in.", "inch", "inches", "\"", "″", "”", "''", "′′", "’’"];

const LENGTH: Table = Table {
    wanted: Wanted { name: "a length", example: "3.8 m, 12 ft 6 in or 7.62 mm" },
    units: &[
        unit(&["m", "metre", "metres", "meter", "meters"], 1.0),
        unit(&["cm"], 0.01),
        unit(&["mm"], 0.001),
        unit(FOOT, METRES_PER_FOOT),
        unit(INCH, METRES_PER_INCH),
    ],
    bare: None,
    compound: true,
};

const TIME_UNITS: &[Unit] = &[
    unit(&["h", "hr", "hrs", "hour", "hours"], 3600.0),
    unit(&["m", "min", "mins", "minute", "minutes"], 60.0),
    unit(&["s", "sec", "secs", "second", "seconds"], 1.0),
    unit(&["ms"], 0.001),
];

const TIME: Table = Table {
    wanted: Wanted { name: "a time", example: "11:06.7, 1:02:03, 1 h 30 min or 90 min" },
    units: TIME_UNITS,
    bare: None,
    compound: true,
};

/// Hours are what an hour counter shows, so a bare number is hours.
const HOURS: Table = Table {
    wanted: Wanted { name: "a number of hours", example: "412.5 h, 412.5 or 1 h 30 min" },
    units: TIME_UNITS,
    bare: Some(3600.0),
    compound: true,
};

const SPEED: Table = Table {
    wanted: Wanted { name: "a speed in frames per second", example: "24 or 24 fps" },
    units: &[unit(&["fps", "f/s", "frames/s"], 1.0)],
    bare: Some(1.0),
    compound: false,
};

const FILM_SPEED: Table = Table {
    wanted: Wanted { name: "a speed of film", example: "182.9 mm/s, 7.2 in/s or 36 ft/min" },
    units: &[
        unit(&["m/s"], 1.0),
        unit(&["mm/s"], 0.001),
        unit(&["cm/s"], 0.01),
        unit(&["m/min"], 1.0 / 60.0),
        unit(&["in/s", "ips"], METRES_PER_INCH),
        unit(&["ft/s"], METRES_PER_FOOT),
        unit(&["ft/min"], METRES_PER_FOOT / 60.0),
    ],
    bare: None,
    compound: false,
};

const FREQUENCY: Table = Table {
    wanted: Wanted { name: "a frequency", example: "50 Hz, 3.15 kHz or 1440 rpm" },
    units: &[unit(&["hz"], 1.0), unit(&["khz"], 1000.0), unit(&["rpm"], 1.0 / 60.0)],
    bare: None,
    compound: false,
};

const FORCE: Table = Table {
    wanted: Wanted { name: "a tension", example: "2.5 N, 250 g or 9 oz" },
    units: &[
        unit(&["n"], 1.0),
        unit(&["mn"], 0.001),
        unit(&["oz", "ozf"], NEWTONS_PER_OUNCE),
        unit(&["g", "gf"], NEWTONS_PER_GRAM),
        unit(&["lb", "lbf"], NEWTONS_PER_OUNCE * 16.0),
    ],
    bare: None,
    compound: false,
};

const LEVEL: Table = Table {
    wanted: Wanted { name: "a level", example: "-3 dB" },
    units: &[unit(&["db"], 1.0)],
    bare: None,
    compound: false,
};

const VOLTAGE: Table = Table {
    wanted: Wanted { name: "a voltage", example: "230 V or 5 mV" },
    units: &[unit(&["v"], 1.0), unit(&["mv"], 0.001), unit(&["kv"], 1000.0)],
    bare: None,
    compound: false,
};

const TEMPERATURE: Table = Table {
    wanted: Wanted { name: "a temperature", example: "20 °C or 68 °F" },
    units: &[
        unit(&["°c", "c"], 1.0),
        Unit { names: &["°f", "f"], factor: 5.0 / 9.0, offset: -32.0 * 5.0 / 9.0 },
    ],
    bare: None,
    compound: false,
};

const HUNDREDTHS: Table = Table {
    wanted: Wanted { name: "a percentage", example: "0.5 %" },
    units: &[unit(&["%", "percent"], 1.0)],
    bare: None,
    compound: false,
};

const MASS_UNITS: &[Unit] = &[
    unit(&["kg"], 1000.0),
    unit(&["g"], 1.0),
    unit(&["lb", "lbs"], GRAMS_PER_POUND),
    unit(&["oz"], GRAMS_PER_POUND / 16.0),
];

const MASS: Table = Table {
    wanted: Wanted { name: "a weight", example: "250 g, 1.2 kg or 2 lb 3 oz" },
    units: MASS_UNITS,
    bare: None,
    compound: true,
};

const ILLUMINANCE: Table = Table {
    wanted: Wanted { name: "a reading of light", example: "120 lx or 11 fc" },
    units: &[unit(&["lx", "lux"], 1.0), unit(&["fc"], LUX_PER_FOOT_CANDLE)],
    bare: None,
    compound: false,
};

const LUMINANCE: Table = Table {
    wanted: Wanted { name: "a luminance", example: "55 cd/m² or 16 fL" },
    units: &[
        unit(&["cd/m²", "cd/m2", "nit", "nits"], 1.0),
        unit(&["fl"], CANDELAS_PER_SQUARE_METRE_PER_FOOT_LAMBERT),
    ],
    bare: None,
    compound: false,
};

const CURRENT: Table = Table {
    wanted: Wanted { name: "a current", example: "16 A" },
    units: &[unit(&["a", "amp", "amps", "ampere", "amperes"], 1.0), unit(&["ma"], 0.001)],
    bare: None,
    compound: false,
};

const POWER: Table = Table {
    wanted: Wanted { name: "a power", example: "450 W or 1.2 kW" },
    units: &[unit(&["w", "watt", "watts", "va"], 1.0), unit(&["kw", "kva"], 1000.0)],
    bare: None,
    compound: false,
};

const RESISTANCE: Table = Table {
    wanted: Wanted { name: "a resistance", example: "0.4 ohm" },
    // Lower case would make a megohm of a milliohm, so neither is read.
    units: &[unit(&["ω", "ohm", "ohms"], 1.0)],
    bare: None,
    compound: false,
};

const LIGHT: Table = Table {
    wanted: Wanted { name: "an amount of light", example: "400 lm" },
    units: &[unit(&["lm", "lumen", "lumens"], 1.0), unit(&["klm"], 1000.0)],
    bare: None,
    compound: false,
};

const ANGLE: Table = Table {
    wanted: Wanted { name: "an angle", example: "9° or 9 deg" },
    units: &[unit(&["°", "deg", "degree", "degrees"], 1.0)],
    bare: None,
    compound: false,
};

const AREA: Table = Table {
    wanted: Wanted { name: "an area", example: "40 m² or 430 sqft" },
    units: &[unit(&["m²", "sqm"], 1.0), unit(&["ft²", "sqft"], METRES_PER_FOOT * METRES_PER_FOOT)],
    bare: None,
    compound: false,
};

const TIMES: Table = Table {
    wanted: Wanted { name: "a number", example: "1.5" },
    units: &[unit(&["×", "x", "times"], 1.0)],
    bare: Some(1.0),
    compound: false,
};

pub(super) const FRAMES: Table = Table {
    wanted: super::FRAMES,
    units: &[unit(&["fr", "frame", "frames"], 1.0)],
    bare: Some(1.0),
    compound: false,
};

pub(super) const CHANCE: Table =
    Table { wanted: super::CHANCE, units: &[unit(&["%"], 0.01)], bare: Some(1.0), compound: false };

/// Gives a quantity its `FromStr`: by its table, then in its own unit.
macro_rules! read_by_table {
    ($($(#[$doc:meta])* $name:ident: $table:expr, $make:expr;)*) => {$(
        $(#[$doc])*
        impl std::str::FromStr for $name {
            type Err = ReadError;
            fn from_str(given: &str) -> Result<Self, ReadError> {
                $table.read(given).map($make)
            }
        }
    )*};
}

read_by_table! {
    /// Reads `3.8 m`, `3,8 m`, `380 cm`, `7.62 mm`, `400 ft`, `12 ft 6 in`, `12' 6"`, `3 3/4 in`. The unit is needed.
    Metres: LENGTH, Metres::new;
    /// Reads `24`, `24 fps`, `23.976`.
    FramesPerSecond: SPEED, FramesPerSecond::new;
    /// Reads `182.9 mm/s`, `7.2 in/s`, `36 ft/min`.
    MetresPerSecond: FILM_SPEED, MetresPerSecond::new;
    /// Reads `50 Hz`, `3.15 kHz`, `1440 rpm`.
    Hertz: FREQUENCY, Hertz::new;
    /// Reads `2.5 N`, `250 g` and `9 oz` (of force).
    Newtons: FORCE, Newtons::new;
    /// Reads `-3 dB`.
    Decibels: LEVEL, Decibels::new;
    /// Reads `230 V`, `5 mV`.
    Volts: VOLTAGE, Volts::new;
    /// Reads `0.5 %`.
    Percent: HUNDREDTHS, Percent::new;
    /// Reads `250 g`, `1.2 kg`, `2 lb 3 oz`.
    Grams: MASS, Grams::new;
    /// Reads `250 g`, `1.2 kg`, `2 lb 3 oz`.
    Kilograms: MASS, |grams| Grams::new(grams).as_kilograms();
    /// Reads `120 lx`, `11 fc`.
    Lux: ILLUMINANCE, Lux::new;
    /// Reads `55 cd/m²`, `55 cd/m2`, `16 fL`.
    Luminance: LUMINANCE, Luminance::new;
    /// Reads `16 A`, `300 mA`.
    Amperes: CURRENT, Amperes::new;
    /// Reads `450 W`, `1.2 kW`, `350 VA`.
    Watts: POWER, Watts::new;
    /// Reads `0.4 ohm`, `0.4 Ω`.
    Ohms: RESISTANCE, Ohms::new;
    /// Reads `400 lm`.
    Lumens: LIGHT, Lumens::new;
    /// Reads `9°`, `9 deg`.
    Degrees: ANGLE, Degrees::new;
    /// Reads `40 m²`, `430 sqft`.
    SquareMetres: AREA, SquareMetres::new;
    /// Reads a plain number: `1.5`, `1,5`, `2 ×`.
    Times: TIMES, Times::new;
    /// Reads `20 °C`, `20 C`, `68 °F`.
    Celsius: TEMPERATURE, Celsius::new;
}

/// Reads `11:06.7` (minutes and seconds), `1:02:03`, `1 h 30 min`, `1h30m`, `1h30`, `90 min`, `45 s`. Without a colon
/// the unit is needed; only the last number may go without, and is then minutes after hours, seconds after minutes.
impl std::str::FromStr for Seconds {
    type Err = ReadError;
    fn from_str(given: &str) -> Result<Self, ReadError> {
        if given.contains(':') {
            return clock::read(given, TIME.wanted, clock::TwoParts::MinutesSeconds).map(Self::new);
        }
        TIME.read(given).map(Self::new)
    }
}

/// Reads `412.5`, `412.5 h`, `90 min`, `1 h 30 min`, `1h30m`, `1h30` and `1:30` (hours and minutes).
impl std::str::FromStr for Hours {
    type Err = ReadError;
    fn from_str(given: &str) -> Result<Self, ReadError> {
        if given.contains(':') {
            let seconds = clock::read(given, HOURS.wanted, clock::TwoParts::HoursMinutes)?;
            return Ok(Self::from_seconds(Seconds::new(seconds)));
        }
        HOURS.read(given).map(|seconds| Self::from_seconds(Seconds::new(seconds)))
    }
}
