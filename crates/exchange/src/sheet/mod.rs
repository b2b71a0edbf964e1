//! A projectionist's own spreadsheet → drafts and doubts.
//!
//! ```text
//! bytes ── Table::read ──► Table ── guess ──► Mapping ◄── Mapping::read (a file) · answer (a person)
//!                            │                   │
//!                            └───── read_sheet ──┴──► DryRun { drafts, doubts, additions, summary }
//! ```
//!
//! Nothing here writes anything: a dry run is looked at first, and its drafts come out only if no row has an error.

mod additions;
mod already;
mod check;
mod dates;
mod decode;
mod doubt;
mod dry_run;
mod evidence;
mod facts;
mod gate;
mod guess;
mod ids;
mod lengths;
mod mapping;
mod mapping_file;
mod names;
mod numbers;
mod questions;
mod sequence;
mod slip;
mod slip_cells;
mod table;
mod text;
mod words;

pub use decode::{Encoding, decode};
pub use doubt::{Doubt, Severity};
pub use dry_run::{Addition, Blocked, DryRun, Ground, RowDraft, Summary, read_sheet};
pub use evidence::{Evidence, date_order, decimal_mark, length_unit};
pub use guess::{ColumnGuess, Confidence, Guess, guess};
pub use mapping::{DateOrder, Decimal, Field, LengthUnit, Mapping, NewMachine, ReadingColumn, Sort, Task};
pub use mapping_file::mapping_as_toml;
pub use questions::{BadAnswer, Choice, Question, Subject, answer, questions};
pub use table::{LARGEST_FILE, LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Row, Table};
pub use text::{dry_run_as_json, dry_run_as_text};

/// Something that keeps a table or a mapping from being read.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{}{what}; {would_be_right}", place(*line, *column))]
pub struct TableError {
    /// The line of the file, from 1, if it has a place.
    pub line: Option<usize>,
    /// The character of the line, from 1.
    pub column: Option<usize>,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub would_be_right: String,
}

fn place(line: Option<usize>, column: Option<usize>) -> String {
    match (line, column) {
        (Some(line), Some(column)) => format!("line {line}, column {column}: "),
        (Some(line), None) => format!("line {line}: "),
        _ => String::new(),
    }
}

impl TableError {
    /// An error about the whole file.
    fn whole(what: String, right: &str) -> Self {
        Self { line: None, column: None, what, would_be_right: right.to_owned() }
    }

    /// An error in a line.
    fn at(line: usize, what: String, right: &str) -> Self {
        Self { line: Some(line), column: None, what, would_be_right: right.to_owned() }
    }
}

#[cfg(test)]
mod tests;
