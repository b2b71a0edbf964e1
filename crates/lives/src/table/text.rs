//! Reading tables of lives from text and from pairs of numbers.

use super::LifeTable;
use crate::record::{Ending, LifeRecord, RowFaultKind};

/// Faults told in full; the rest are counted.
const MOST_TOLD: usize = 8;

/// Why a table cannot be read.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum TableError {
    /// There is nothing in it.
    #[error("the table is empty; its first line must name the columns `entered`, `left` and `ending`")]
    Empty,
    /// A column is missing.
    #[error("line 1: there is no column `{column}`; the first line must name `entered`, `left` and `ending`")]
    NoColumn {
        /// Which.
        column: &'static str,
    },
    /// Lines that cannot be used.
    #[error("{}", told(faults, *more))]
    Lines {
        /// The first of them.
        faults: Vec<LineFault>,
        /// How many more there are.
        more: usize,
    },
    /// Half a pair at the end.
    #[error(
        "the file has {bytes} bytes; a life is a pair of numbers of 8 bytes each, so the size must be a multiple of 16"
    )]
    HalfAPair {
        /// Its size.
        bytes: usize,
    },
}

/// A line that cannot be used.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct LineFault {
    /// Which line, from 1; of pairs, which pair.
    pub line: usize,
    /// What is wrong there.
    pub what: CellFault,
}

/// What is wrong on a line.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum CellFault {
    /// No number where one should be.
    #[error("column `{column}`: `{text}` is no number")]
    Number {
        /// Which column.
        column: &'static str,
        /// What stands there.
        text: String,
    },
    /// An ending that is not known.
    #[error("column `ending`: `{text}`; write `failed`, `censored`, `failed-before` or `between`")]
    Ending {
        /// What stands there.
        text: String,
    },
    /// The row contradicts itself.
    #[error("{0}")]
    Row(#[from] RowFaultKind),
}

fn told(faults: &[LineFault], more: usize) -> String {
    let mut lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
    if more > 0 {
        lines.push(format!("and {more} more lines"));
    }
    lines.join("\n")
}

/// Where each column stands.
#[derive(Clone, Copy)]
struct Columns {
    separator: u8,
    entered: usize,
    left: usize,
    ending: usize,
    found: usize,
    count: usize,
}

/// A place past every column.
const NOWHERE: usize = usize::MAX;

impl Columns {
    fn of(head: &[u8]) -> Result<Self, TableError> {
        let separator = [b'\t', b';'].into_iter().find(|separator| head.contains(separator)).unwrap_or(b',');
        let names: Vec<String> = head
            .split(|byte| *byte == separator)
            .map(|name| String::from_utf8_lossy(trimmed(name)).to_lowercase())
            .collect();
        let place = |column: &str| names.iter().position(|name| name == column);
        let needed = |column| place(column).ok_or(TableError::NoColumn { column });
        Ok(Self {
            separator,
            entered: place("entered").unwrap_or(NOWHERE),
            left: needed("left")?,
            ending: needed("ending")?,
            found: place("found").unwrap_or(NOWHERE),
            count: place("count").unwrap_or(NOWHERE),
        })
    }

    fn record(&self, line: &[u8]) -> Result<LifeRecord, CellFault> {
        let nothing: &[u8] = b"";
        let [mut entered, mut left, mut ending, mut found, mut count] = [nothing; 5];
        for (at, cell) in line.split(|byte| *byte == self.separator).enumerate() {
            match at {
                at if at == self.left => left = cell,
                at if at == self.ending => ending = cell,
                at if at == self.entered => entered = cell,
                at if at == self.found => found = cell,
                at if at == self.count => count = cell,
                _ => {}
            }
        }
        let entered = if trimmed(entered).is_empty() { 0.0 } else { number("entered", entered)? };
        let left = number("left", left)?;
        let ending = match trimmed(ending) {
            b"failed" => Ending::Failed(left),
            b"censored" => Ending::Censored(left),
            b"failed-before" => Ending::FailedBefore(left),
            b"between" => Ending::Between(left, number("found", found)?),
            other => return Err(CellFault::Ending { text: String::from_utf8_lossy(other).into_owned() }),
        };
        let count = if trimmed(count).is_empty() { 1 } else { whole(count)? };
        let record = LifeRecord { entered, ending, count };
        record.fault().map_or(Ok(record), |fault| Err(fault.into()))
    }
}

fn trimmed(cell: &[u8]) -> &[u8] {
    let cell = cell.trim_ascii();
    let bare = cell.strip_prefix(b"\"").and_then(|cell| cell.strip_suffix(b"\""));
    bare.map_or(cell, <[u8]>::trim_ascii)
}

fn whole(cell: &[u8]) -> Result<u64, CellFault> {
    let text = String::from_utf8_lossy(trimmed(cell)).into_owned();
    text.parse().map_err(|_| CellFault::Number { column: "count", text })
}

/// Reads a number; plain ones of up to fifteen figures without a detour, which is exact: their digits and the power of
/// ten both are whole numbers that a double holds (Clinger 1990).
fn number(column: &'static str, cell: &[u8]) -> Result<f64, CellFault> {
    let cell = trimmed(cell);
    plain(cell).map_or_else(|| number_of_any_form(column, cell), Ok)
}

fn plain(cell: &[u8]) -> Option<f64> {
    const TENS: [f64; 16] =
        [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    if cell.is_empty() || cell.len() > 16 {
        return None;
    }
    let (mut digits, mut figures, mut point) = (0_u64, 0_usize, None);
    for &byte in cell {
        match byte {
            b'0'..=b'9' => {
                digits = digits * 10 + u64::from(byte - b'0');
                figures += 1;
            }
            b'.' if point.is_none() => point = Some(figures),
            _ => return None,
        }
    }
    let behind = point.map_or(0, |point| figures - point);
    (figures > 0 && figures <= 15).then(|| digits as f64 / TENS[behind])
}

fn number_of_any_form(column: &'static str, cell: &[u8]) -> Result<f64, CellFault> {
    let text = String::from_utf8_lossy(cell);
    text.parse().map_err(|_| CellFault::Number { column, text: text.into_owned() })
}

/// A stretch of lines, read.
#[derive(Default)]
struct Part {
    table: LifeTable,
    faults: Vec<(usize, CellFault)>,
    faulty: usize,
    lines: usize,
}

pub(super) fn read(text: &[u8], threads: usize) -> Result<LifeTable, TableError> {
    let text = text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(text);
    if text.trim_ascii().is_empty() {
        return Err(TableError::Empty);
    }
    let head_end = text.iter().position(|byte| *byte == b'\n').map_or(text.len(), |at| at + 1);
    let columns = Columns::of(text[..head_end].trim_ascii())?;
    let stretches = stretches(&text[head_end..], threads);
    let parts: Vec<Part> = std::thread::scope(|scope| {
        let mut stretches = stretches.into_iter();
        let first = stretches.next();
        let others: Vec<_> = stretches.map(|stretch| scope.spawn(move || part(columns, stretch))).collect();
        let first = first.map(|stretch| part(columns, stretch)).unwrap_or_default();
        let others = others.into_iter().map(|other| other.join().expect("reading does not panic"));
        std::iter::once(first).chain(others).collect()
    });
    joined(parts)
}

/// Cuts text at line ends into as many stretches as there are threads.
fn stretches(text: &[u8], threads: usize) -> Vec<&[u8]> {
    let mut rest = text;
    let mut out = Vec::new();
    for left in (2..=threads.max(1)).rev() {
        let middle = rest.len() / left;
        let cut =
            rest[middle..].iter().position(|byte| *byte == b'\n').map_or(rest.len(), |at| middle + at + 1);
        let (stretch, after) = rest.split_at(cut);
        out.push(stretch);
        rest = after;
    }
    out.push(rest);
    out
}

fn part(columns: Columns, text: &[u8]) -> Part {
    let mut part = Part::default();
    // A guess at the lines keeps the columns from being moved as they grow.
    part.table.left.reserve(text.len() / 12);
    for line in text.split(|byte| *byte == b'\n') {
        part.lines += 1;
        let line = line.trim_ascii_end();
        if line.is_empty() {
            continue;
        }
        match columns.record(line) {
            Ok(record) => part.table.push(record),
            Err(fault) => {
                part.faulty += 1;
                if part.faults.len() < MOST_TOLD {
                    part.faults.push((part.lines, fault));
                }
            }
        }
    }
    part
}

fn joined(parts: Vec<Part>) -> Result<LifeTable, TableError> {
    let mut table: Option<LifeTable> = None;
    let (mut faults, mut faulty, mut before) = (Vec::new(), 0, 1);
    for part in parts {
        let line = |(line, what)| LineFault { line: before + line, what };
        faults.extend(part.faults.into_iter().map(line));
        faulty += part.faulty;
        // A stretch that ends with a line end has an empty line after it that belongs to the next.
        before += part.lines - 1;
        match &mut table {
            Some(table) => table.append(part.table),
            None => table = Some(part.table),
        }
    }
    faults.truncate(MOST_TOLD);
    let more = faulty - faults.len();
    if faulty > 0 { Err(TableError::Lines { faults, more }) } else { Ok(table.unwrap_or_default()) }
}

pub(super) fn read_pairs(bytes: &[u8]) -> Result<LifeTable, TableError> {
    let (pairs, rest) = bytes.as_chunks::<16>();
    if !rest.is_empty() {
        return Err(TableError::HalfAPair { bytes: bytes.len() });
    }
    let mut table = LifeTable::default();
    table.left.reserve(pairs.len());
    let (mut faults, mut faulty) = (Vec::new(), 0);
    for (at, pair) in pairs.iter().enumerate() {
        let (numbers, _) = pair.as_chunks::<8>();
        let [entered, left] = [numbers[0], numbers[1]].map(f64::from_le_bytes);
        let ending = if left.is_sign_negative() { Ending::Censored(-left) } else { Ending::Failed(left) };
        let record = LifeRecord::new(ending).entered_at(entered);
        match record.fault() {
            None => table.push(record),
            Some(fault) => {
                faulty += 1;
                if faults.len() < MOST_TOLD {
                    faults.push(LineFault { line: at + 1, what: fault.into() });
                }
            }
        }
    }
    let more = faulty - faults.len();
    if faulty > 0 { Err(TableError::Lines { faults, more }) } else { Ok(table) }
}
