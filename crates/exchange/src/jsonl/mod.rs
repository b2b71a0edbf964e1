//! JSON Lines: one entry per line, lossless both ways.
//!
//! A line is one JSON object (RFC 8259) in UTF-8, ended by a line feed. Its keys, in the order in which they are
//! written: `id`, `device`, `number`, `happened`, `happened_precision`, `recorded`, `recorded_precision`, `by`,
//! `kind`, `version`, `body`, `hash`. Moments are RFC 3339 with the offset that was in force; the body is the fact's
//! JSON byte for byte, so that the hash holds. What those forms cannot carry (a body with a line break, an offset
//! with seconds) goes into a second form of the same key, so that nothing is ever lost.

mod chain;
mod fields;
mod moment;
mod read;
mod write;

pub use chain::{BrokenChain, check_chains};
pub use read::read;
pub use write::{write_chained, write_line};

use logbook::wire::ChainedRecord;

/// The longest line that is read, in bytes.
///
/// An entry is at most a few pages of words; 16 MiB leaves room for anything that was ever accepted and bounds a
/// hostile file.
pub const LONGEST_LINE: usize = 16 << 20;

/// How many errors are told of one file; a file that is no logbook at all would give millions.
pub const MOST_ERRORS: usize = 1000;

/// One line of a file: an entry as written down, with its place in its device's chain.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// The entry as written down, with its number and hash.
    pub chained: ChainedRecord<'static>,
    /// The line of the file, from 1.
    pub line: usize,
}

/// Something in a line that is not as it should be.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("line {line}{}: {what}; {would_be_right}", column.map(|c| format!(", column {c}")).unwrap_or_default())]
pub struct LineError {
    /// The line of the file, from 1.
    pub line: usize,
    /// The character of the line, from 1, if the trouble sits at one place.
    pub column: Option<usize>,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub would_be_right: String,
}

#[cfg(test)]
mod tests;
