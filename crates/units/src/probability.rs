//! Chances: a checked number between nothing and certainty, and the words for it.

use serde::{Deserialize, Serialize};

/// A chance between 0 and 1, both included.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Probability(f64);

/// A number that cannot be a chance.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("a chance lies between 0 and 1, and {value} does not; write 1 in 12 as 0.083")]
pub struct NotAProbability {
    /// The number that was refused.
    pub value: f64,
}

impl Probability {
    /// It cannot happen.
    pub const NEVER: Self = Self(0.0);
    /// It must happen.
    pub const ALWAYS: Self = Self(1.0);

    /// Checks that the number can be a chance; fails outside 0 to 1 and for not-a-number.
    pub fn new(value: f64) -> Result<Self, NotAProbability> {
        if (0.0..=1.0).contains(&value) { Ok(Self(value)) } else { Err(NotAProbability { value }) }
    }

    /// Brings a computed number that may stray past an end by rounding back into range; not-a-number becomes 0.
    #[must_use]
    pub fn clamped(value: f64) -> Self {
        if value.is_nan() { Self::NEVER } else { Self(value.clamp(0.0, 1.0)) }
    }

    /// The bare number, 0 to 1.
    pub const fn value(self) -> f64 {
        self.0
    }

    /// The chance that it does not happen.
    #[must_use]
    pub fn complement(self) -> Self {
        Self(1.0 - self.0)
    }

    /// The chance of both, where neither bears on the other.
    #[must_use]
    pub fn and(self, independent: Self) -> Self {
        Self(self.0 * independent.0)
    }

    /// The chance of at least one, where neither bears on the other.
    #[must_use]
    pub fn or(self, independent: Self) -> Self {
        self.complement().and(independent.complement()).complement()
    }

    /// A total order, for sorting.
    pub fn total_cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }

    /// The chance as one would say it: "about 1 in 12", "very unlikely", "almost certain".
    ///
    /// A chance under 1 in 1000 is "very unlikely" and one over 99 in 100 "almost certain": finer shades than these
    /// would claim more than any booth's records can bear. Between them the nearest easy fraction is named, nearest
    /// in log-odds, so that a greater chance never reads as a smaller one.
    pub fn in_words(self) -> String {
        if self.0 < 0.001 {
            return "very unlikely".to_owned();
        }
        if self.0 > 0.99 {
            return "almost certain".to_owned();
        }
        let (part, whole) = self.nearest_easy_fraction();
        format!("about {part} in {whole}")
    }

    fn nearest_easy_fraction(self) -> (u32, u32) {
        let distance = |&(part, whole): &(u32, u32)| {
            (log_odds(self.0) - log_odds(f64::from(part) / f64::from(whole))).abs()
        };
        EASY_FRACTIONS
            .into_iter()
            .min_by(|a, b| distance(a).total_cmp(&distance(b)))
            .expect("the table of easy fractions is not empty")
    }
}

fn log_odds(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

/// Fractions that people say aloud, rising.
const EASY_FRACTIONS: [(u32, u32); 45] = [
    (1, 1000),
    (1, 500),
    (1, 300),
    (1, 200),
    (1, 150),
    (1, 100),
    (1, 80),
    (1, 60),
    (1, 50),
    (1, 40),
    (1, 30),
    (1, 25),
    (1, 20),
    (1, 17),
    (1, 15),
    (1, 13),
    (1, 12),
    (1, 11),
    (1, 10),
    (1, 9),
    (1, 8),
    (1, 7),
    (1, 6),
    (1, 5),
    (1, 4),
    (1, 3),
    (2, 5),
    (1, 2),
    (3, 5),
    (2, 3),
    (3, 4),
    (4, 5),
    (5, 6),
    (6, 7),
    (7, 8),
    (8, 9),
    (9, 10),
    (11, 12),
    (14, 15),
    (19, 20),
    (24, 25),
    (29, 30),
    (39, 40),
    (49, 50),
    (99, 100),
];

impl TryFrom<f64> for Probability {
    type Error = NotAProbability;
    fn try_from(value: f64) -> Result<Self, NotAProbability> {
        Self::new(value)
    }
}

impl From<Probability> for f64 {
    fn from(chance: Probability) -> f64 {
        chance.0
    }
}

/// Shown in words.
impl std::fmt::Display for Probability {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.in_words())
    }
}
