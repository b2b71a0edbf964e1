//! What a verb says: the same answer as words or as JSON.

use crate::failure::{Failure, Kind, Outcome};
use serde::Serialize;
use std::io::{self, Write};

/// Writes text to the output; a closed pipe (`| head`) ends quietly.
pub fn text(text: &str) -> Outcome {
    let mut out = io::stdout().lock();
    settle(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
}

/// Writes a line to the error stream; where nobody reads it (`2>&1 | head`), nothing is lost by it.
pub fn aside(line: &str) {
    let _ = writeln!(io::stderr().lock(), "{line}");
}

/// Writes a value as indented JSON with a closing line end.
pub fn json<T: Serialize + ?Sized>(value: &T) -> Outcome {
    let written = serde_json::to_string_pretty(value).map_err(|error| {
        Failure::new(Kind::World, format!("the answer cannot be written as JSON: {error}"))
    })?;
    text(&format!("{written}\n"))
}

/// Writes the answer as asked.
pub fn either<T: Serialize + ?Sized>(as_json: bool, value: &T, words: impl FnOnce(&T) -> String) -> Outcome {
    if as_json { json(value) } else { text(&words(value)) }
}

/// Widest text on a terminal that is wider: longer lines are hard to read.
const WIDEST: usize = 110;
/// Width where the output is not a terminal, or its width is not told.
const USUAL: usize = 100;

/// Writes a sheet as wide as the terminal allows.
pub fn sheet(sheet: &views::Sheet) -> Outcome {
    let columns = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    text(&views::text::sheet(sheet, columns.unwrap_or(USUAL).min(WIDEST)))
}

fn settle(written: io::Result<()>) -> Outcome {
    match written {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        Err(error) => Err(Failure::new(Kind::World, format!("cannot write the answer: {error}"))),
        Ok(()) => Ok(()),
    }
}
