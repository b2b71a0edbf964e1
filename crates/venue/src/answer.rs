//! What every answer carries: how it was worked out, where from, and how a figure stands to its limits.

use serde::Serialize;

use crate::estimate::{Estimate, Quantity};

/// One sum of an answer, in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Working {
    /// What it gives.
    pub gives: &'static str,
    /// The sum in words and symbols.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

/// A question that cannot be answered yet, and what would make it answerable.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("{question} needs {needs}")]
pub struct Missing {
    /// What was asked.
    pub question: &'static str,
    /// What is needed, in words.
    pub needs: &'static str,
    /// The fields that would give it.
    pub fields: &'static [&'static str],
}

/// How an estimate stands to a band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judgement {
    /// Below the band, wherever in its limits it lies.
    Below,
    /// Inside the band, wherever in its limits it lies.
    Within,
    /// Above the band, wherever in its limits it lies.
    Above,
    /// The limits reach across an end of the band.
    CannotTell,
}

impl Judgement {
    /// Judges an estimate against a band whose ends belong to it.
    pub fn of<Q: Quantity>(estimate: Estimate<Q>, from: Q, to: Q) -> Self {
        if estimate.high() < from {
            Self::Below
        } else if estimate.low() > to {
            Self::Above
        } else if estimate.low() >= from && estimate.high() <= to {
            Self::Within
        } else {
            Self::CannotTell
        }
    }
}
