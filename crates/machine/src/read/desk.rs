//! Where a file is read: its text, the places in it, and the faults found so far.

use crate::report::{Finding, MOST_SHOWN, Report};
use std::cell::{Cell, RefCell};
use std::ops::Range;

/// The longest snippet, in characters.
const LONGEST_SNIPPET: usize = 120;

/// A fault with the byte at which it stands, before lines are counted.
struct Noted {
    at: usize,
    what: String,
    would_be_right: String,
}

/// How many faults are kept; beyond that they are only counted, so that a hostile file does not fill the memory.
const MOST_KEPT: usize = 10_000;

/// Gathers faults so that all of them can be reported together.
pub(super) struct Desk<'t> {
    text: &'t str,
    noted: RefCell<Vec<Noted>>,
    beyond: Cell<usize>,
}

impl<'t> Desk<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        Self { text, noted: RefCell::default(), beyond: Cell::new(0) }
    }

    /// Notes a fault at the start of a span.
    pub(super) fn note(&self, at: &Range<usize>, what: impl Into<String>, would_be_right: impl Into<String>) {
        let mut noted = self.noted.borrow_mut();
        if noted.len() >= MOST_KEPT {
            self.beyond.set(self.beyond.get() + 1);
            return;
        }
        noted.push(Noted {
            at: at.start.min(self.text.len()),
            what: what.into(),
            would_be_right: would_be_right.into(),
        });
    }

    pub(super) fn count(&self) -> usize {
        self.noted.borrow().len() + self.beyond.get()
    }

    /// The whole report, sorted by place; `None` if nothing is wrong.
    pub(super) fn report(self, file: &str) -> Option<Report> {
        let mut noted = self.noted.take();
        if noted.is_empty() {
            return None;
        }
        noted.sort_by(|a, b| (a.at, &a.what).cmp(&(b.at, &b.what)));
        noted.dedup_by(|a, b| a.at == b.at && a.what == b.what);
        let lines = line_starts(self.text);
        let left_out = noted.len().saturating_sub(MOST_SHOWN) + self.beyond.get();
        let findings = noted.into_iter().take(MOST_SHOWN).map(|n| finding(self.text, &lines, n)).collect();
        Some(Report { file: file.to_owned(), findings, left_out })
    }
}

/// The byte at which each line starts.
fn line_starts(text: &str) -> Vec<usize> {
    std::iter::once(0)
        .chain(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(at, _)| at + 1))
        .collect()
}

fn finding(text: &str, lines: &[usize], noted: Noted) -> Finding {
    let line = lines.partition_point(|start| *start <= noted.at).max(1);
    let start = lines.get(line - 1).copied().unwrap_or(0);
    let rest = text.get(start..).unwrap_or_default();
    let before = text.as_bytes().get(start..noted.at).unwrap_or_default();
    // A column counts characters: every byte that does not continue one.
    let column = before.iter().filter(|byte| (**byte & 0xC0) != 0x80).count() + 1;
    Finding {
        line,
        column,
        what: noted.what,
        would_be_right: noted.would_be_right,
        snippet: snippet(rest.lines().next().unwrap_or_default(), column),
    }
}

/// The line, or the piece of a long line around the column, without control characters.
fn snippet(line: &str, column: usize) -> String {
    let from = if column > LONGEST_SNIPPET { column - LONGEST_SNIPPET / 2 } else { 0 };
    let piece = line.chars().skip(from).take(LONGEST_SNIPPET);
    piece.map(|c| if c.is_control() { ' ' } else { c }).collect::<String>().trim_end().to_owned()
}
