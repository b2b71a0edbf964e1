//! An entry → one line.

use super::moment::{self, Moment};
use logbook::{
    Precision,
    wire::{ChainedRecord, Record, precision_code},
};
use serde::Serialize;
use serde_json::value::RawValue;

/// The line, with its keys in the order in which they are written.
#[derive(Serialize)]
struct Written<'a> {
    id: String,
    device: String,
    number: u64,
    happened: Moment,
    #[serde(skip_serializing_if = "Option::is_none")]
    happened_precision: Option<Precision>,
    recorded: Moment,
    #[serde(skip_serializing_if = "Option::is_none")]
    recorded_precision: Option<Precision>,
    by: &'a str,
    kind: &'a str,
    version: u16,
    #[serde(skip_serializing_if = "Option::is_none")]
    body: Option<&'a RawValue>,
    #[serde(skip_serializing_if = "Option::is_none")]
    body_text: Option<&'a str>,
    hash: String,
}

/// Writes a record with its place in its chain as one line, without the line feed at its end.
pub fn write_chained(chained: &ChainedRecord<'_>) -> String {
    write_line(&chained.record, chained.number, &chained.hash)
}

/// Writes an entry as one line, without the line feed at its end.
///
/// `number` and `hash` are its place in its device's chain.
pub fn write_line(record: &Record<'_>, number: u64, hash: &[u8; 32]) -> String {
    let body = plain_body(&record.body);
    let written = Written {
        id: record.id.to_string(),
        device: record.device.to_string(),
        number,
        happened: moment::write(record.happened),
        happened_precision: unusual(record.happened.precision),
        recorded: moment::write(record.recorded),
        recorded_precision: unusual(record.recorded.precision),
        by: &record.by,
        kind: &record.kind,
        version: record.version,
        body_text: body.is_none().then_some(&record.body),
        body,
        hash: crate::hex::hex(hash),
    };
    serde_json::to_string(&written).expect("texts, numbers and JSON that was read can always be written")
}

/// Returns the body as JSON that stands in one line unchanged; `None` if it must travel as a quoted text.
fn plain_body(body: &str) -> Option<&RawValue> {
    if body.contains(['\n', '\r']) {
        return None;
    }
    let raw: &RawValue = serde_json::from_str(body).ok()?;
    (raw.get() == body).then_some(raw)
}

/// Returns a precision that must be written down: any but to the second.
fn unusual(precision: Precision) -> Option<Precision> {
    (precision_code(precision) != precision_code(Precision::Second)).then_some(precision)
}
