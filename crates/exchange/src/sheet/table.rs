//! Text → a table: which character parts the cells, where the headings are, and the rows by number.

use super::{
    Encoding, TableError,
    decode::decode,
    words::{field_named, one_line, plain},
};

/// The largest file that is read, in bytes: a lifetime of rows is a hundredth of it.
pub const LARGEST_FILE: usize = 64 << 20;
/// The longest cell that is read, in bytes: many pages of notes.
pub const LONGEST_CELL: usize = 64 << 10;
/// The most columns a table may have.
pub const MOST_COLUMNS: usize = 500;
/// The most rows that are read: as many as spreadsheet programs have.
pub const MOST_ROWS: usize = 1 << 20;
/// How many rows from the top are searched for the headings.
const HEADINGS_WITHIN: usize = 20;

/// A table as it was found, nothing of it understood yet.
#[derive(Clone, PartialEq, Debug)]
pub struct Table {
    /// The headings, in order; never two alike: a second `Hours` is `Hours (2)`, an empty one `column 4`.
    pub headings: Vec<String>,
    /// The row in which the headings stand, from 1.
    pub heading_row: usize,
    /// The rows below the headings that have anything in them.
    pub rows: Vec<Row>,
    /// The numbers of rows below the headings that are empty.
    pub empty_rows: Vec<usize>,
    /// The character that parts the cells.
    pub delimiter: char,
    /// The encoding of the file.
    pub encoding: Encoding,
}

/// One row of a table.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// Its number as a spreadsheet program shows it, from 1.
    pub number: usize,
    /// Its cells, without spaces around them; as many as there are headings.
    pub cells: Vec<String>,
    /// Cells to the right of the last heading that have something in them.
    pub beyond: Vec<String>,
}

impl Table {
    /// Reads a table from a file's bytes.
    ///
    /// # Errors
    /// If it is no text, too large, has no rows, or a quotation mark never closes; each with its place.
    pub fn read(bytes: &[u8]) -> Result<Self, TableError> {
        if bytes.len() > LARGEST_FILE {
            let what = format!("the file is {} MB large", bytes.len() >> 20);
            let right = format!("a table of at most {} MB; split it by years", LARGEST_FILE >> 20);
            return Err(TableError::whole(what, &right));
        }
        let (text, encoding) = decode(bytes)?;
        if text.trim().is_empty() {
            return Err(TableError::whole("the file is empty".to_owned(), "a table with a row of headings"));
        }
        let (text, told) = told_delimiter(&text);
        let delimiter = told.unwrap_or_else(|| sniff(text));
        let rows = cut(text, delimiter, if told.is_some() { 2 } else { 1 })?;
        from_rows(rows, delimiter, encoding)
    }

    /// Returns the index of the column with this heading.
    pub fn column(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|own| own == heading).or_else(|| {
            let wanted = plain(heading);
            self.headings.iter().position(|own| plain(own) == wanted)
        })
    }

    /// Returns the cells of a column that are not empty, from the top.
    pub fn cells(&self, column: usize) -> impl Iterator<Item = &str> {
        self.rows
            .iter()
            .filter_map(move |row| row.cells.get(column))
            .map(String::as_str)
            .filter(|c| !c.is_empty())
    }
}

/// Reads the line `sep=;` that some spreadsheet programs write before a table.
fn told_delimiter(text: &str) -> (&str, Option<char>) {
    let Some((first, rest)) = text.split_once('\n') else { return (text, None) };
    let mut told = first.trim_end().strip_prefix("sep=").unwrap_or_default().chars();
    match (told.next(), told.next()) {
        (Some(delimiter), None) if delimiter.is_ascii() => (rest, Some(delimiter)),
        _ => (text, None),
    }
}

/// Finds the character that parts the cells: the one that parts the most lines into the same number of cells.
fn sniff(text: &str) -> char {
    [',', ';', '\t', '|']
        .into_iter()
        .map(|delimiter| (evenness(text, delimiter), delimiter))
        // Of equals the first one wins: the comma is the commonest.
        .fold((0, ','), |best, next| if next.0 > best.0 { next } else { best })
        .1
}

/// Returns how well a delimiter parts the first lines: lines that share the commonest number of cells, times cells.
fn evenness(text: &str, delimiter: char) -> usize {
    let rows = reader(head(text), delimiter)
        .byte_records()
        .take(200)
        .filter_map(Result::ok)
        .map(|record| record.len())
        .collect::<Vec<_>>();
    let mut counts = std::collections::BTreeMap::<usize, usize>::new();
    for &cells in rows.iter().filter(|&&cells| cells > 1) {
        *counts.entry(cells).or_default() += 1;
    }
    counts.into_iter().map(|(cells, lines)| lines * lines * cells.min(6)).max().unwrap_or(0)
}

/// Returns the first part of a text that is long enough to tell what it is like.
fn head(text: &str) -> &str {
    const ENOUGH: usize = 64 << 10;
    let end = (0..=text.len().min(ENOUGH)).rev().find(|&end| text.is_char_boundary(end)).unwrap_or(0);
    text.get(..end).unwrap_or(text)
}

fn reader(text: &str, delimiter: char) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .from_reader(text.as_bytes())
}

/// Cuts a text into rows, empty ones included; the first has the number given.
fn cut(text: &str, delimiter: char, first: usize) -> Result<Vec<(usize, Vec<String>)>, TableError> {
    let mut reader = reader(text, delimiter);
    let mut record = csv::StringRecord::new();
    let mut rows = Vec::new();
    let mut number = first;
    let mut line = first;
    loop {
        // The library passes over empty lines; a spreadsheet program counts them as rows.
        let byte = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
        let rest = text.get(byte..).unwrap_or_default();
        let skipped = rest.len() - rest.trim_start_matches('\n').len();
        if rows.len() + skipped >= MOST_ROWS {
            let what = format!("there are more than {MOST_ROWS} rows");
            return Err(TableError::at(line, what, "fewer rows; split the sheet by years"));
        }
        rows.extend((number..number + skipped).map(|number| (number, Vec::new())));
        number += skipped;
        line += skipped;
        if !reader.read_record(&mut record).map_err(|error| TableError::at(line, error.to_string(), CSV))? {
            break;
        }
        let cells: Vec<String> = record.iter().map(|cell| cell.trim().to_owned()).collect();
        check_size(&record, line)?;
        let breaks: usize = record.iter().map(|cell| cell.matches('\n').count()).sum();
        if breaks > 0 && never_closed(text, &reader) {
            let what = "a quotation mark that opens in this row never closes".to_owned();
            return Err(TableError::at(
                line,
                what,
                "close it, or write \"\" for a mark within a quoted cell",
            ));
        }
        rows.push((number, cells));
        number += 1;
        line += 1 + breaks;
    }
    Ok(rows)
}

const CSV: &str = "a table in CSV: cells parted by one character, line breaks only within quotation marks";

/// Refuses rows of sizes that no table has.
fn check_size(record: &csv::StringRecord, line: usize) -> Result<(), TableError> {
    if record.len() > MOST_COLUMNS {
        let what = format!("this row has {} cells", record.len());
        return Err(TableError::at(line, what, &format!("at most {MOST_COLUMNS} columns")));
    }
    match record.iter().position(|cell| cell.len() > LONGEST_CELL) {
        None => Ok(()),
        Some(cell) => {
            let what = format!("cell {} of this row is longer than {} kB", cell + 1, LONGEST_CELL >> 10);
            Err(TableError::at(line, what, "shorter cells; look for a quotation mark that never closes"))
        }
    }
}

/// Tells whether the quoted cell that was just read ran to the end of the file without a closing mark.
fn never_closed(text: &str, reader: &csv::Reader<&[u8]>) -> bool {
    let read = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
    read >= text.len() && text.matches('"').count() % 2 == 1
}

/// Makes a table of rows: finds the headings and evens out the rows.
fn from_rows(
    rows: Vec<(usize, Vec<String>)>,
    delimiter: char,
    encoding: Encoding,
) -> Result<Table, TableError> {
    let index = find_headings(&rows);
    let mut rows = rows.into_iter().skip(index);
    let Some((heading_row, headings)) = rows.next() else {
        return Err(TableError::whole("the file has no rows".to_owned(), "a table with a row of headings"));
    };
    let headings = named(headings);
    let mut table =
        Table { headings, heading_row, rows: Vec::new(), empty_rows: Vec::new(), delimiter, encoding };
    for (number, mut cells) in rows {
        if cells.iter().all(String::is_empty) {
            table.empty_rows.push(number);
            continue;
        }
        let mut beyond = cells.split_off(cells.len().min(table.headings.len()));
        beyond.retain(|cell| !cell.is_empty());
        cells.resize(table.headings.len(), String::new());
        table.rows.push(Row { number, cells, beyond });
    }
    let last = table.rows.last().map_or(0, |row| row.number);
    table.empty_rows.retain(|&number| number < last);
    if table.rows.is_empty() {
        let what = format!("below the headings in row {heading_row} there are no rows");
        return Err(TableError::whole(what, "at least one row below the headings"));
    }
    Ok(table)
}

/// Finds the row with the headings: of the first rows the one with the most headings that we know.
///
/// A table without any known heading has them in its first row that fills more than one cell.
fn find_headings(rows: &[(usize, Vec<String>)]) -> usize {
    let known = |cells: &[String]| cells.iter().filter(|cell| field_named(cell).is_some()).count();
    let mut best = (0, None);
    for (index, (_, cells)) in rows.iter().take(HEADINGS_WITHIN).enumerate() {
        let count = known(cells);
        if count > best.0 {
            best = (count, Some(index));
        }
    }
    let filled = |cells: &[String]| cells.iter().filter(|cell| !cell.is_empty()).count();
    best.1
        .or_else(|| rows.iter().position(|(_, cells)| filled(cells) > 1))
        .or_else(|| rows.iter().position(|(_, cells)| filled(cells) > 0))
        .unwrap_or(0)
}

/// Gives every column a heading of its own.
fn named(headings: Vec<String>) -> Vec<String> {
    let mut named: Vec<String> = Vec::with_capacity(headings.len());
    for (index, heading) in headings.into_iter().enumerate() {
        let heading = one_line(&heading);
        let heading = if heading.is_empty() { format!("column {}", index + 1) } else { heading };
        let mut unique = heading.clone();
        let mut count = 1;
        while named.contains(&unique) {
            count += 1;
            unique = format!("{heading} ({count})");
        }
        named.push(unique);
    }
    named
}

#[cfg(test)]
mod tests;
