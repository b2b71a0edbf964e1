//! Tables of lives: text with columns, and pairs of binary numbers.
//!
//! Rows that say the usual thing (one life, failed or censored) are kept in three slim columns, so that a million of
//! them take some 17 MB and are fitted in the time it takes to read them.

mod bulk;
mod text;

use crate::record::{DataError, LifeRecord, Lives};
pub use text::TableError;

/// Lives as they stand in a table.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct LifeTable {
    /// Ages at entry; empty where all were new.
    entered: Vec<f64>,
    /// Ages at the end; the sign bit is set where the life was censored.
    left: Vec<f64>,
    /// Rows of other kinds.
    others: Vec<LifeRecord>,
}

impl LifeTable {
    /// Reads a text table: a head line that names the columns, then a line for each life. Commas, semicolons or tabs.
    ///
    /// Columns, in any order: `entered` (age when the watch began; empty: new), `left` (age at the end), `ending`
    /// (`failed`, `censored`, `failed-before`, `between`), and where they are needed `found` (for `between`: the age at
    /// which it was found failed, `left` being the last at which it was good) and `count`. Other columns are passed
    /// over. Fails with every faulty line up to a few.
    pub fn from_text(text: &[u8], threads: usize) -> Result<Self, TableError> {
        text::read(text, threads)
    }

    /// Reads pairs of IEEE 754 double-precision numbers, little-endian: age at entry (0 for new), age at the end; the
    /// end is negative where the life was censored.
    pub fn from_pairs(bytes: &[u8]) -> Result<Self, TableError> {
        text::read_pairs(bytes)
    }

    /// How many rows.
    pub fn rows(&self) -> usize {
        self.left.len() + self.others.len()
    }

    /// The lives, checked; rows of other kinds come last.
    pub fn lives(&self) -> Result<Lives, DataError> {
        let entered = |at: usize| self.entered.get(at).copied().unwrap_or(0.0);
        let plain = self.left.iter().enumerate().map(|(at, left)| {
            let record =
                if left.is_sign_negative() { LifeRecord::censored(-left) } else { LifeRecord::failed(*left) };
            record.entered_at(entered(at))
        });
        Lives::new(plain.chain(self.others.iter().copied()).collect())
    }

    fn push(&mut self, record: LifeRecord) {
        let left = match record.ending {
            crate::Ending::Failed(age) if record.count == 1 => age,
            crate::Ending::Censored(age) if record.count == 1 => -age,
            _ => return self.others.push(record),
        };
        if record.entered > 0.0 && self.entered.is_empty() {
            self.entered.resize(self.left.len(), 0.0);
        }
        if record.entered > 0.0 || !self.entered.is_empty() {
            self.entered.push(record.entered);
        }
        self.left.push(left);
    }

    fn append(&mut self, mut other: Self) {
        if self.entered.is_empty() && !other.entered.is_empty() {
            self.entered.resize(self.left.len(), 0.0);
        }
        if !self.entered.is_empty() && other.entered.is_empty() {
            other.entered.resize(other.left.len(), 0.0);
        }
        self.entered.append(&mut other.entered);
        self.left.append(&mut other.left);
        self.others.append(&mut other.others);
    }
}

pub use bulk::fit_table;

#[cfg(test)]
mod tests;
