//! What is doubtful in a sheet, row by row.

use serde::Serialize;
use std::collections::HashSet;

/// How grave a doubt is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Nothing is imported until it is settled or its row is left out.
    Error,
    /// Somebody should look; it is imported as read.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// Returns the word that is shown.
    pub fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "look",
            Self::Note => "note",
        }
    }
}

/// Something doubtful.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Doubt {
    /// The row, as a spreadsheet program numbers it; absent: the sheet as a whole.
    pub row: Option<usize>,
    /// The heading of the column, if it is about one cell.
    pub column: Option<String>,
    /// What stands in the cell.
    pub text: String,
    /// What is doubtful about it.
    pub why: String,
    /// What would be right.
    pub would_be_right: String,
    /// How grave it is.
    pub severity: Severity,
}

/// Where doubts are gathered.
#[derive(Default, Debug)]
pub(super) struct Doubts {
    /// All so far.
    pub list: Vec<Doubt>,
}

/// A cell that something is doubtful about.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell<'t> {
    /// Its row.
    pub row: usize,
    /// The heading of its column.
    pub heading: &'t str,
    /// What stands in it.
    pub text: &'t str,
}

impl Doubts {
    /// Returns the rows that have a doubt at least so grave.
    pub fn rows(&self, at_least: Severity) -> HashSet<usize> {
        self.list.iter().filter(|doubt| doubt.severity <= at_least).filter_map(|doubt| doubt.row).collect()
    }

    /// Doubts a cell.
    pub fn cell(
        &mut self,
        severity: Severity,
        cell: Cell<'_>,
        why: impl Into<String>,
        right: impl Into<String>,
    ) {
        self.list.push(Doubt {
            row: Some(cell.row),
            column: Some(cell.heading.to_owned()),
            text: short(cell.text),
            why: why.into(),
            would_be_right: right.into(),
            severity,
        });
    }

    /// Doubts a row.
    pub fn row(&mut self, severity: Severity, row: usize, why: impl Into<String>, right: impl Into<String>) {
        self.push(severity, Some(row), why.into(), right.into());
    }

    /// Doubts the sheet.
    pub fn sheet(&mut self, severity: Severity, why: impl Into<String>, right: impl Into<String>) {
        self.push(severity, None, why.into(), right.into());
    }

    fn push(&mut self, severity: Severity, row: Option<usize>, why: String, would_be_right: String) {
        self.list.push(Doubt { row, column: None, text: String::new(), why, would_be_right, severity });
    }

    /// Returns all doubts, by row; those about the whole sheet first.
    pub fn sorted(mut self) -> Vec<Doubt> {
        self.list.sort_by_key(|doubt| (doubt.row, doubt.severity));
        self.list
    }
}

/// Returns a cell's text short enough to be repeated.
fn short(text: &str) -> String {
    const MOST: usize = 80;
    let one_line = super::words::one_line(text);
    if one_line.chars().count() <= MOST {
        one_line
    } else {
        one_line.chars().take(MOST).chain(['…']).collect()
    }
}
