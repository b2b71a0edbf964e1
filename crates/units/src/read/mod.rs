//! Reading quantities as people write them: metric or US customary, decimal point or decimal comma, with or without
//! a space before the unit.
//!
//! The way in is `"12 ft 6 in".parse::<Metres>()`; each type's `FromStr` says what it takes.

mod clock;
mod numbers;
mod tables;

use crate::civil::{Date, Evening};
use crate::{Frames, Probability};

/// Text that could not be read as a quantity: what it was meant to be, where it went wrong, and what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("\"{given}\" is not {wanted}: {problem} (column {column}); write for example {example}")]
pub struct ReadError {
    /// The text as it was given.
    pub given: String,
    /// What it was to be read as, with its article: `a length`.
    pub wanted: &'static str,
    /// The character at which reading stopped, counted from 1.
    pub column: usize,
    /// What was wrong there.
    pub problem: Problem,
    /// Text that would be read.
    pub example: &'static str,
}

/// What was wrong with the text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Problem {
    /// There is no text, or only spaces.
    #[error("nothing is written")]
    Empty,
    /// Something else stands where a number should.
    #[error("a number should stand where \"{found}\" stands")]
    NumberWanted {
        /// What stands there.
        found: String,
    },
    /// The text ends where a number should stand.
    #[error("a number should follow")]
    NumberMissing,
    /// The number cannot be read.
    #[error("\"{found}\" cannot be read as a number")]
    NumberMalformed {
        /// What stands there.
        found: String,
    },
    /// A comma that may part thousands as well as decimals.
    #[error(
        "\"{found}\" may mean {} or {}, and it does not say which; leave the comma out",
        found.replace(',', "."),
        found.replace(',', "")
    )]
    CommaUnclear {
        /// What stands there.
        found: String,
    },
    /// The number does not fit.
    #[error("the number is too large")]
    TooLarge,
    /// A number without a unit, where the unit cannot be guessed.
    #[error("the number has no unit")]
    UnitMissing,
    /// A unit that is not one of this quantity.
    #[error("\"{found}\" is not a unit for it")]
    UnitUnknown {
        /// What stands there.
        found: String,
    },
    /// A second part where only one can be, or a larger unit after a smaller one.
    #[error("\"{found}\" cannot follow what stands before it")]
    PartMisplaced {
        /// What stands there.
        found: String,
    },
    /// Minutes or seconds of a clock reading that are not two digits from 00 to 59.
    #[error("\"{found}\" should be two digits from 00 to 59")]
    ClockPart {
        /// What stands there.
        found: String,
    },
    /// A clock reading with more than three parts.
    #[error("a clock reading has two or three parts")]
    ClockParts,
    /// A count that is not whole.
    #[error("frames are counted whole")]
    NotWhole,
    /// Not a chance.
    #[error("a chance lies between 0 and 1, or 0 % and 100 %")]
    NotAChance,
    /// Not a date of the calendar.
    #[error("there is no such day written this way")]
    NotADate,
}

/// What a text is to be read as, for use in refusals.
#[derive(Debug, Clone, Copy)]
struct Wanted {
    name: &'static str,
    example: &'static str,
}

impl Wanted {
    fn refuse(self, given: &str, column: usize, problem: Problem) -> ReadError {
        ReadError { given: given.to_owned(), wanted: self.name, column, problem, example: self.example }
    }
}

const FRAMES: Wanted = Wanted { name: "a number of frames", example: "16000 or 16000 frames" };
const CHANCE: Wanted = Wanted { name: "a chance", example: "1 in 12, 8 % or 0.08" };
const DATE: Wanted = Wanted { name: "a date", example: "2026-03-07" };

/// Reads a whole count: `16000`, `16000 frames`, `26 fr`.
impl std::str::FromStr for Frames {
    type Err = ReadError;
    fn from_str(given: &str) -> Result<Self, ReadError> {
        let count = tables::FRAMES.read(given)?;
        // Beyond 2^53 a float no longer counts every frame.
        if count.abs() > 9.0e15 {
            return Err(FRAMES.refuse(given, 1, Problem::TooLarge));
        }
        if count.fract() == 0.0 {
            Ok(Self::new(count as i64))
        } else {
            Err(FRAMES.refuse(given, 1, Problem::NotWhole))
        }
    }
}

/// Reads a chance: `1 in 12`, `8 %`, `0.083`.
impl std::str::FromStr for Probability {
    type Err = ReadError;
    fn from_str(given: &str) -> Result<Self, ReadError> {
        let value = match given.split_once(" in ") {
            Some((part, whole)) => {
                let columns_before_whole = part.chars().count() + " in ".len();
                let side = |text, columns_before| {
                    tables::CHANCE.read(text).map_err(|refusal| ReadError {
                        given: given.to_owned(),
                        column: refusal.column + columns_before,
                        ..refusal
                    })
                };
                side(part, 0)? / side(whole, columns_before_whole)?
            }
            None => tables::CHANCE.read(given)?,
        };
        Self::new(value).map_err(|_| CHANCE.refuse(given, 1, Problem::NotAChance))
    }
}

/// Reads the date on which the evening began: `2026-03-07`.
impl std::str::FromStr for Evening {
    type Err = ReadError;
    fn from_str(given: &str) -> Result<Self, ReadError> {
        date(given).map(Self::on)
    }
}

/// Reads a date as ISO 8601 writes it: `2026-03-07`.
pub fn date(given: &str) -> Result<Date, ReadError> {
    given.trim().parse().map_err(|_| DATE.refuse(given, 1, Problem::NotADate))
}
