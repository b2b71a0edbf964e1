//! A count of frames: the one length of film that is exact.

use serde::{Deserialize, Serialize};

/// A whole number of frames. Arithmetic stops at the ends of the range and never wraps round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Frames(i64);

impl Frames {
    /// No frame.
    pub const ZERO: Self = Self(0);

    /// Takes a bare count.
    pub const fn new(count: i64) -> Self {
        Self(count)
    }

    /// The bare count.
    pub const fn count(self) -> i64 {
        self.0
    }

    /// The count without the sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.saturating_abs())
    }
}

impl std::ops::Add for Frames {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl std::ops::Sub for Frames {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl std::ops::Neg for Frames {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl std::ops::AddAssign for Frames {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl std::ops::SubAssign for Frames {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl std::ops::Mul<i64> for Frames {
    type Output = Self;
    fn mul(self, factor: i64) -> Self {
        Self(self.0.saturating_mul(factor))
    }
}

impl std::iter::Sum for Frames {
    fn sum<I: Iterator<Item = Self>>(counts: I) -> Self {
        counts.fold(Self::ZERO, std::ops::Add::add)
    }
}

impl std::fmt::Display for Frames {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let word = if self.abs().0 == 1 { "frame" } else { "frames" };
        write!(f, "{} {word}", self.0)
    }
}
