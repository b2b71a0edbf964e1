//! What is known of lives: when each began to be watched, how it ended, and how many were alike.

use serde::{Deserialize, Serialize};

/// How the watch over a life ended. Ages are on one clock of the caller's choice (hours run, lamp hours, strikes,
/// days), the same for all records, and count from new.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// It failed at this age.
    Failed(f64),
    /// It was still good at this age, and is watched no longer: taken out as planned, lent away, or still running.
    Censored(f64),
    /// It was good at the first age and found failed at the second.
    Between(f64, f64),
    /// It was found failed at this age, and nobody knows since when.
    FailedBefore(f64),
}

/// A life, or several that were exactly alike.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct LifeRecord {
    /// Its age when the watch began; 0 for a new part. A part that was already old has proved that it lived so long.
    pub entered: f64,
    /// How the watch ended.
    pub ending: Ending,
    /// How many lives this stands for.
    pub count: u64,
}

impl LifeRecord {
    /// A new part whose watch ended so.
    pub const fn new(ending: Ending) -> Self {
        Self { entered: 0.0, ending, count: 1 }
    }

    /// A new part that failed at this age.
    pub const fn failed(age: f64) -> Self {
        Self::new(Ending::Failed(age))
    }

    /// A new part that was still good at this age.
    pub const fn censored(age: f64) -> Self {
        Self::new(Ending::Censored(age))
    }

    /// A new part that was good at one age and found failed at another.
    pub const fn between(good: f64, failed: f64) -> Self {
        Self::new(Ending::Between(good, failed))
    }

    /// A new part that was found failed at this age.
    pub const fn failed_before(age: f64) -> Self {
        Self::new(Ending::FailedBefore(age))
    }

    /// The same, watched only from this age on.
    #[must_use]
    pub const fn entered_at(self, age: f64) -> Self {
        Self { entered: age, ..self }
    }

    /// So many of them.
    #[must_use]
    pub const fn times(self, count: u64) -> Self {
        Self { count, ..self }
    }

    /// True where the life is known to have ended by failure.
    pub const fn is_failure(&self) -> bool {
        !matches!(self.ending, Ending::Censored(_))
    }

    /// The latest age that the record speaks of.
    pub const fn last_age(&self) -> f64 {
        match self.ending {
            Ending::Failed(age)
            | Ending::Censored(age)
            | Ending::FailedBefore(age)
            | Ending::Between(_, age) => age,
        }
    }

    /// For a failure that was not seen happening: between which ages it happened.
    pub const fn window(&self) -> Option<(f64, f64)> {
        match self.ending {
            Ending::Between(good, failed) => Some((good, failed)),
            Ending::FailedBefore(age) => Some((self.entered, age)),
            Ending::Failed(_) | Ending::Censored(_) => None,
        }
    }

    pub(crate) fn fault(&self) -> Option<RowFaultKind> {
        if !(self.entered.is_finite() && self.entered >= 0.0) {
            return Some(RowFaultKind::Entered(self.entered));
        }
        if self.count == 0 {
            return Some(RowFaultKind::NoCount);
        }
        let last = self.last_age();
        if !(last.is_finite() && last >= 0.0) {
            return Some(RowFaultKind::Age(last));
        }
        match self.ending {
            Ending::Censored(left) if left < self.entered => {
                Some(RowFaultKind::LeftFirst(self.entered, left))
            }
            Ending::Failed(0.0) | Ending::FailedBefore(0.0) => Some(RowFaultKind::DeadOnArrival),
            Ending::Failed(left) | Ending::FailedBefore(left) if left <= self.entered => {
                Some(RowFaultKind::LeftFirst(self.entered, left))
            }
            Ending::Between(good, _) if !(good.is_finite() && good >= self.entered) => {
                Some(RowFaultKind::GoodBeforeEntry(self.entered, good))
            }
            Ending::Between(good, failed) if failed <= good => Some(RowFaultKind::EmptyWindow(good, failed)),
            _ => None,
        }
    }
}

/// What is wrong with a record.
#[derive(Clone, Copy, PartialEq, Debug, thiserror::Error)]
pub enum RowFaultKind {
    /// The age at entry is no age.
    #[error("`entered` is {0}; write the age at which the watch began, 0 or nothing for a new part")]
    Entered(f64),
    /// The age at the end is no age.
    #[error("`left` is {0}; write an age of 0 or more")]
    Age(f64),
    /// It ended before it began.
    #[error("`left` ({1}) must come after `entered` ({0})")]
    LeftFirst(f64, f64),
    /// It failed at age nothing.
    #[error(
        "a failure at age 0 has no life; write `failed-before` with the age at the first look, or leave the row out"
    )]
    DeadOnArrival,
    /// The last good age lies before the watch.
    #[error("the last age at which it was good ({1}) must not lie before `entered` ({0})")]
    GoodBeforeEntry(f64, f64),
    /// The window is empty.
    #[error("it was good at {0} and found failed at {1}; the second age must be the greater")]
    EmptyWindow(f64, f64),
    /// It stands for nobody.
    #[error("`count` is 0; write how many lives the row stands for, or leave the row out")]
    NoCount,
}

/// A record that cannot be used, by its place in the data.
#[derive(Clone, Copy, PartialEq, Debug, thiserror::Error)]
#[error("row {row}: {what}")]
pub struct RowFault {
    /// Which record, from 1.
    pub row: usize,
    /// What is wrong with it.
    pub what: RowFaultKind,
}

/// Records that cannot be used.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
#[error("{}", self.said())]
pub struct DataError {
    /// Every one, in order of rows.
    pub faults: Vec<RowFault>,
}

impl DataError {
    fn said(&self) -> String {
        const MOST_TOLD: usize = 8;
        let mut lines: Vec<String> = self.faults.iter().take(MOST_TOLD).map(ToString::to_string).collect();
        if self.faults.len() > MOST_TOLD {
            lines.push(format!("and {} more rows", self.faults.len() - MOST_TOLD));
        }
        lines.join("\n")
    }
}

/// Lives whose every record has been checked.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Lives {
    records: Vec<LifeRecord>,
}

impl Lives {
    /// Checks the records; fails with every faulty row. No record at all is no fault: there is just nothing known.
    pub fn new(records: Vec<LifeRecord>) -> Result<Self, DataError> {
        let faults: Vec<RowFault> = records
            .iter()
            .enumerate()
            .filter_map(|(at, record)| record.fault().map(|what| RowFault { row: at + 1, what }))
            .collect();
        if faults.is_empty() { Ok(Self { records }) } else { Err(DataError { faults }) }
    }

    /// The records.
    pub fn records(&self) -> &[LifeRecord] {
        &self.records
    }

    /// How many lives.
    pub fn n(&self) -> u64 {
        self.records.iter().map(|record| record.count).sum()
    }

    /// How many of them failed.
    pub fn failures(&self) -> u64 {
        self.records.iter().filter(|record| record.is_failure()).map(|record| record.count).sum()
    }

    /// Time under watch, all lives together; a failure that was not seen counts to the middle of its window.
    pub fn exposure(&self) -> f64 {
        self.records.iter().map(|record| record.count as f64 * watched(record)).sum()
    }
}

fn watched(record: &LifeRecord) -> f64 {
    let end = record.window().map_or(record.last_age(), |(good, failed)| 0.5 * (good + failed));
    end - record.entered
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_faulty_row_is_named() {
        let rows = vec![
            LifeRecord::failed(10.0),
            LifeRecord::failed(5.0).entered_at(6.0),
            LifeRecord::between(4.0, 4.0),
            LifeRecord::failed(f64::NAN),
            LifeRecord::censored(0.0),
            LifeRecord::failed(0.0),
            LifeRecord::failed(1.0).entered_at(-1.0),
            LifeRecord::between(2.0, 4.0).entered_at(3.0),
            LifeRecord::failed(1.0).times(0),
        ];
        let error = Lives::new(rows).unwrap_err();
        assert_eq!(error.faults.iter().map(|fault| fault.row).collect::<Vec<_>>(), [2, 3, 4, 6, 7, 8, 9]);
        assert!(error.to_string().starts_with("row 2: `left` (5) must come after `entered` (6)"), "{error}");
    }

    #[test]
    fn lives_are_counted() {
        let lives = Lives::new(vec![
            LifeRecord::failed(10.0).times(3),
            LifeRecord::censored(20.0).entered_at(5.0).times(2),
            LifeRecord::failed_before(8.0),
        ])
        .unwrap();
        assert_eq!((lives.n(), lives.failures()), (6, 4));
        assert!((lives.exposure() - (30.0 + 30.0 + 4.0)).abs() < 1e-12);
    }
}
