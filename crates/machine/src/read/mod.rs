//! Reads a type file: the whole of it or none, with every fault at once.

mod care;
mod circle;
mod desk;
mod form;
mod head;
mod limit;
mod names;
mod part;
mod stock;
mod trouble;
mod turning;

use crate::machine_type::{Contents, MachineType};
use crate::report::{Finding, Report};
use desk::Desk;
use form::Form;
use names::Names;
use toml::de::DeTable;

/// The largest file that is read, in bytes: more than twice the largest shipped type, and small enough that
/// junk of this size is answered in a second.
pub const LARGEST_FILE: usize = 1024 * 1024;

/// The most lines that are read; the largest shipped type has under 13,000.
pub const MOST_LINES: usize = 50_000;

/// Reads the text of a type file. `file_name` is used in messages, and its stem must be the id of the type.
///
/// # Errors
///
/// A report of all faults, sorted by place.
pub fn read(file_name: &str, text: &str) -> Result<MachineType, Report> {
    refuse_hopeless(file_name, text.as_bytes())?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let desk = Desk::new(text);
    let (table, faults) = DeTable::parse_recoverable(text);
    for fault in &faults {
        let at = fault.span().unwrap_or(text.len()..text.len());
        desk.note(&at, format!("this is not TOML: {}", fault.message()), syntax_hint(fault.message()));
    }
    // What was only half understood as TOML would give faults that are echoes of the first; after a key that stands
    // twice the rest of the file is still what it says.
    if faults.iter().any(|fault| !fault.message().contains("duplicate key")) {
        return Err(desk.report(file_name).expect("a fault was noted above"));
    }
    let contents = gather(&desk, file_name, table.get_ref());
    match desk.report(file_name) {
        Some(report) => Err(report),
        None => Ok(MachineType::assemble(contents)),
    }
}

/// Reads the bytes of a type file, which may turn out to be no text at all.
///
/// # Errors
///
/// A report of all faults, sorted by place.
pub fn read_bytes(file_name: &str, bytes: &[u8]) -> Result<MachineType, Report> {
    refuse_hopeless(file_name, bytes)?;
    match std::str::from_utf8(bytes) {
        Ok(text) => read(file_name, text),
        Err(error) => {
            let good = &bytes[..error.valid_up_to()];
            let line = good.split(|byte| *byte == b'\n').count();
            let start = good.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
            let column = String::from_utf8_lossy(&good[start..]).chars().count() + 1;
            let what = "a byte that is not UTF-8 text";
            Err(only(file_name, line, column, what, "save the file as UTF-8 (plain text) and try again"))
        }
    }
}

/// Refuses what is too large or clearly no text, before any work is spent on it.
fn refuse_hopeless(file_name: &str, bytes: &[u8]) -> Result<(), Report> {
    if bytes.len() > LARGEST_FILE {
        let what = format!("the file has {} bytes", bytes.len());
        let right = format!("a machine type may have {LARGEST_FILE} bytes (1 MiB); is this the right file?");
        return Err(only(file_name, 1, 1, &what, &right));
    }
    let lines = bytes.split(|byte| *byte == b'\n').count();
    if lines > MOST_LINES {
        let what = format!("the file has {lines} lines");
        let right = format!("a machine type may have {MOST_LINES} lines; is this the right file?");
        return Err(only(file_name, MOST_LINES + 1, 1, &what, &right));
    }
    if let Some(at) = bytes.iter().position(|byte| *byte == 0) {
        let line = bytes[..at].split(|byte| *byte == b'\n').count();
        let what = "a byte of value 0: this is a binary file, not a text";
        return Err(only(file_name, line, 1, what, "give a text file in TOML"));
    }
    Ok(())
}

/// A report with one fault.
fn only(file: &str, line: usize, column: usize, what: &str, right: &str) -> Report {
    let finding = Finding {
        line,
        column,
        what: what.to_owned(),
        would_be_right: right.to_owned(),
        snippet: String::new(),
    };
    Report { file: file.to_owned(), findings: vec![finding], left_out: 0 }
}

/// What would be right for a fault of syntax.
fn syntax_hint(message: &str) -> &'static str {
    if message.contains("duplicate") {
        "a key stands once in a table; take one of the two away, or begin a new [[…]]"
    } else if message.contains("recurs") {
        "a machine type needs no more than four levels of brackets"
    } else if message.contains("quote") || message.contains("string") {
        "a text stands between two \" on one line, or between two \"\"\" on several"
    } else {
        "write key = \"text\", key = 12.5, key = [\"one\", \"two\"] or key = { one = 1, two = 2 }"
    }
}

/// Reads every section; where something is wrong a stand-in takes its place and the fault is noted.
fn gather<'t>(desk: &Desk<'t>, file_name: &str, table: &DeTable<'t>) -> Contents {
    let top = Form::new(desk, "the file", 0..0, table);
    let names = Names::gather(desk, table);
    let head = head::head(&top, &names, file_name);
    let parts = part::parts(&top, &names);
    let care = care::care(&top, &names, &parts);
    let spares = stock::spares(&top, &names);
    let lives = stock::lives(&top, &names);
    let trouble = trouble::trouble(&top, &trouble::Known::new(&names, &parts, &spares, &lives));
    let contents = Contents {
        id: head.id,
        name: head.name,
        edition: head.edition,
        gauge: head.gauge,
        words: head.words,
        features: head.features,
        sources: head.sources,
        rotating: turning::rotating(&top, &names),
        limits: limit::limits(&top, &names),
        consumables: stock::consumables(&top, &names),
        spares,
        lives,
        trouble,
        parts,
        care,
    };
    top.finish();
    contents
}
