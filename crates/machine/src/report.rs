//! What is wrong with a type file: every fault at once, each with its place and what would be right.

use serde::Serialize;
use std::fmt;

/// How many faults a report prints; the rest are counted.
pub const MOST_SHOWN: usize = 200;

/// One fault in a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub would_be_right: String,
    /// The line itself, cut to a readable length.
    pub snippet: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: {}", self.line, self.column, self.what)?;
        if !self.would_be_right.is_empty() {
            write!(f, "; {}", self.would_be_right)?;
        }
        Ok(())
    }
}

/// Everything that is wrong with one file, in the order of the file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
pub struct Report {
    /// The file, as it was named to the reader.
    pub file: String,
    /// The faults, sorted by place.
    pub findings: Vec<Finding>,
    /// How many more there are than `findings` holds.
    pub left_out: usize,
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let many = self.findings.len() + self.left_out;
        let faults = if many == 1 { "fault" } else { "faults" };
        write!(f, "{}: {many} {faults} in this machine type", self.file)?;
        for finding in &self.findings {
            write!(f, "\n\n{}:{}:{}: {}", self.file, finding.line, finding.column, finding.what)?;
            if !finding.snippet.is_empty() {
                write!(f, "\n  {:>4} | {}", finding.line, finding.snippet)?;
            }
            if !finding.would_be_right.is_empty() {
                write!(f, "\n       = {}", finding.would_be_right)?;
            }
        }
        if self.left_out > 0 {
            write!(f, "\n\nand {} more", self.left_out)?;
        }
        Ok(())
    }
}
