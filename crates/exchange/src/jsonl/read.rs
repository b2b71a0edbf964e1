//! A file → its lines, or everything that is wrong with it.

use super::{
    LONGEST_LINE, Line, LineError, MOST_ERRORS,
    fields::{Fields, LineReader},
};
use logbook::{
    DeviceId, EntryId,
    wire::{ChainedRecord, Record},
};
use std::{borrow::Cow, collections::HashMap};

/// Reads a file of JSON Lines. Either every line is good, or all errors come back, at most [`MOST_ERRORS`].
///
/// A byte order mark, carriage returns before line feeds and empty lines are let pass.
/// The hash chains are not looked at; [`check_chains`](super::check_chains) does that.
///
/// # Errors
/// Each with its line, its column where there is one, what is wrong and what would be right.
pub fn read(bytes: &[u8]) -> Result<Vec<Line>, Vec<LineError>> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if let Some(error) = not_text(bytes) {
        return Err(vec![error]);
    }
    let mut lines = Vec::new();
    let mut errors = Vec::new();
    for (index, line) in bytes.split(|&byte| byte == b'\n').enumerate() {
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        if line.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        lines.extend(read_line(line, index + 1, &mut errors));
        if errors.len() >= MOST_ERRORS {
            errors.truncate(MOST_ERRORS);
            errors.push(too_many(index + 1));
            return Err(errors);
        }
    }
    find_doubles(&lines, &mut errors);
    if errors.is_empty() {
        Ok(lines)
    } else {
        errors.sort_by_key(|error| error.line);
        Err(errors)
    }
}

fn too_many(line: usize) -> LineError {
    LineError {
        line,
        column: None,
        what: format!("{MOST_ERRORS} errors so far, the rest of the file was not read"),
        would_be_right: "check that this is a logbook file: one JSON object per line".to_owned(),
    }
}

/// Tells of a file that is no text in UTF-8 from its first bytes on.
fn not_text(bytes: &[u8]) -> Option<LineError> {
    let right = "a logbook file is UTF-8 text with one JSON object per line".to_owned();
    let error = |line, what: String| LineError { line, column: None, what, would_be_right: right.clone() };
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Some(error(1, "the file is in UTF-16".to_owned()));
    }
    let place = bytes.iter().position(|&byte| byte == 0)?;
    let before = bytes.iter().take(place).filter(|&&byte| byte == b'\n').count();
    Some(error(before + 1, format!("there is a zero byte at byte {}: this is no text file", place + 1)))
}

/// Reads one line, which is not empty.
fn read_line(line: &[u8], number: usize, errors: &mut Vec<LineError>) -> Option<Line> {
    if line.len() > LONGEST_LINE {
        errors.push(LineError {
            line: number,
            column: None,
            what: format!("the line is {} bytes long", line.len()),
            would_be_right: format!("a line has at most {LONGEST_LINE} bytes"),
        });
        return None;
    }
    let text = match std::str::from_utf8(line) {
        Ok(text) => text,
        Err(error) => {
            let good = line.get(..error.valid_up_to()).unwrap_or_default();
            errors.push(LineError {
                line: number,
                column: Some(String::from_utf8_lossy(good).chars().count() + 1),
                what: "here is a byte that is no UTF-8".to_owned(),
                would_be_right: "save the file as UTF-8".to_owned(),
            });
            return None;
        }
    };
    let mut reader = LineReader { line: number, text, errors };
    match serde_json::from_str::<Fields<'_>>(text) {
        Ok(fields) => read_fields(&fields, &mut reader),
        Err(error) => {
            let place = byte_of(text, error.column());
            let what = said(&error);
            reader.wrong_at(place, what, "each line is one JSON object with the keys of a logbook file");
            None
        }
    }
}

/// Returns the byte that serde's column (bytes, from 1; 0 before the first) stands for.
fn byte_of(text: &str, column: usize) -> Option<usize> {
    let byte = column.saturating_sub(1).min(text.len());
    (0..=byte).rev().find(|&byte| text.is_char_boundary(byte))
}

/// Returns what serde says without its own place, which counts lines within the line.
fn said(error: &serde_json::Error) -> String {
    let text = error.to_string();
    text.split(" at line ").next().unwrap_or(&text).to_owned()
}

fn read_fields<'a>(fields: &Fields<'a>, reader: &mut LineReader<'a, '_>) -> Option<Line> {
    const UUID: &str = "an id is a UUID, like “0193a5c2-1d6f-7c3e-9b1a-5d0c6f3e2a11”";
    // All fields are read before any is asked for, so that every error of the line is told.
    let id: Option<EntryId> = reader.needed("id", fields.id, UUID);
    let device: Option<DeviceId> = reader.needed("device", fields.device, UUID);
    let number: Option<u64> = reader.needed("number", fields.number, "a whole number from 1");
    let happened = reader.moment("happened", fields.happened, fields.happened_precision);
    let recorded = reader.moment("recorded", fields.recorded, fields.recorded_precision);
    let by: Option<String> =
        reader.needed("by", fields.by, "the short name of the person, in quotation marks");
    let kind: Option<String> =
        reader.needed("kind", fields.kind, "the kind of the entry, in quotation marks");
    let version: Option<u16> = reader.needed("version", fields.version, "a whole number from 0 to 65535");
    let body = reader.body(fields.body, fields.body_text);
    let hash = reader.hash(fields.hash);
    Some(Line {
        line: reader.line,
        chained: ChainedRecord {
            number: number?,
            hash: hash?,
            record: Record {
                id: id?,
                device: device?,
                happened: happened?,
                recorded: recorded?,
                by: Cow::Owned(by?),
                kind: Cow::Owned(kind?),
                version: version?,
                body: Cow::Owned(body?),
            },
        },
    })
}

/// Finds ids and chain places that stand in the file twice.
fn find_doubles(lines: &[Line], errors: &mut Vec<LineError>) {
    let mut ids = HashMap::new();
    let mut places = HashMap::new();
    for Line { chained: ChainedRecord { record, number, .. }, line } in lines {
        if let Some(first) = ids.insert(record.id, *line) {
            errors.push(double(*line, format!("the id {} stands in line {first} already", record.id)));
        } else if let Some(first) = places.insert((record.device, *number), *line) {
            let what = format!("number {number} of device {} stands in line {first} already", record.device);
            errors.push(double(*line, what));
        }
    }
}

fn double(line: usize, what: String) -> LineError {
    let would_be_right = "each entry stands once; leave out one of the two lines".to_owned();
    LineError { line, column: None, what, would_be_right }
}
