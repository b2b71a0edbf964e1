//! What was used of an item, by the record.

use crate::day::Now;
use logbook::booth::{StockDeed, StockItem};

/// The last year is what "used a month" speaks of.
const YEAR_DAYS: f64 = 365.0;
/// A rate is never taken over less than a month: the first parcel says little of the year to come.
const LEAST_DAYS: f64 = 30.0;
/// Days in a month, on average.
const MONTH_DAYS: f64 = 30.4375;

/// What was used of an item.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Used {
    /// Used in all: written down as used, or missing at a count.
    pub in_all: u64,
    /// Of these, missing at a count.
    pub missing: u64,
    /// Used in the last year.
    pub last_year: u64,
    /// Days since the item was first written of.
    pub watched_days: f64,
}

impl Used {
    pub(super) fn of(stock: &StockItem, now: &Now) -> Self {
        let Some(first) = stock.changes.first() else { return Self::default() };
        let days_ago = |ms: i64| (now.unix_ms - ms) as f64 / 86_400_000.0;
        let mut used = Self { watched_days: days_ago(first.at.unix_ms).max(0.0), ..Self::default() };
        let mut left = None;
        for change in &stock.changes {
            let missing = match (change.deed, left) {
                (StockDeed::Counted, Some(left)) => u64::try_from(left - change.left).unwrap_or(0),
                _ => 0,
            };
            let written = if change.deed == StockDeed::Used { u64::from(change.count) } else { 0 };
            used.in_all += written + missing;
            used.missing += missing;
            if days_ago(change.at.unix_ms) < YEAR_DAYS {
                used.last_year += written + missing;
            }
            left = Some(change.left);
        }
        used
    }

    /// Used a month, over the last year or since the item was first written of.
    pub fn per_month(&self) -> f64 {
        self.last_year as f64 * MONTH_DAYS / self.watched_days.clamp(LEAST_DAYS, YEAR_DAYS)
    }
}
