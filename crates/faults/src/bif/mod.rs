//! BIF, the interchange format for Bayesian networks: reading, with errors at line and column, and writing.
//!
//! # Reference
//! "The Interchange Format for Bayesian Networks", version 0.15, 1998 (from memory), and the dialect in which the
//! published networks are passed on: blocks `network`, `variable` and `probability`; `property` lines and comments
//! (`//`, `/* */`) are passed over; names may be quoted; a table is given as a whole (`table`, the first variable
//! changing slowest), by rows (`(state, …) chance, …;`), with a `default` row for what is not named.

mod lexer;
mod parser;
mod write;

pub use parser::read;
pub use write::write;

use crate::network::NetworkError;

/// What is wrong with a BIF text, and where.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("line {line}, column {column}: {what}")]
pub struct BifError {
    /// The line, from 1.
    pub line: usize,
    /// The character in the line, from 1.
    pub column: usize,
    /// What is wrong.
    pub what: BifFault,
}

/// What can be wrong with a BIF text.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BifFault {
    /// Something else should stand here.
    #[error("expected {expected}, found {found}")]
    Expected {
        /// What should stand here.
        expected: &'static str,
        /// What stands here.
        found: String,
    },
    /// A comment or a quoted name that never ends.
    #[error("this {what} is never closed")]
    Open {
        /// What was opened.
        what: &'static str,
    },
    /// A number that cannot be read.
    #[error("`{text}` is not a number")]
    NotANumber {
        /// What stands there.
        text: String,
    },
    /// The number of states differs from the list of them.
    #[error("`{variable}` is said to have {said} states and lists {listed}")]
    StateCount {
        /// The variable.
        variable: String,
        /// The number in brackets.
        said: usize,
        /// How many names follow.
        listed: usize,
    },
    /// A second block of chances for one variable.
    #[error("the chances of `{variable}` were given before")]
    TwiceGiven {
        /// The variable.
        variable: String,
    },
    /// A row that was given before.
    #[error("this row of `{variable}` was given before")]
    TwiceRow {
        /// The variable.
        variable: String,
    },
    /// A row with too few or too many numbers or states.
    #[error("a row of `{variable}` needs {needed} {of}, and this one has {found}")]
    RowLength {
        /// The variable.
        variable: String,
        /// States of parents, or numbers.
        of: &'static str,
        /// How many it needs.
        needed: usize,
        /// How many it has.
        found: usize,
    },
    /// Rows that are neither given nor covered by a `default`.
    #[error("{missing} of the {rows} rows of `{variable}` are missing, and there is no `default`")]
    RowsMissing {
        /// The variable.
        variable: String,
        /// How many are missing.
        missing: usize,
        /// How many there should be.
        rows: usize,
    },
    /// A kind of variable that has no states to list.
    #[error("`{kind}` variables are not read; only `discrete` ones are")]
    Kind {
        /// The word that stands there.
        kind: String,
    },
    /// A table too large to be held.
    #[error("the table of `{variable}` would have more than {most} numbers")]
    TooLarge {
        /// The variable.
        variable: String,
        /// How many at most.
        most: usize,
    },
    /// The network itself is not sound.
    #[error(transparent)]
    Network(#[from] NetworkError),
}
