//! Entries as a flat table that a person can open: CSV (RFC 4180) in UTF-8 with a byte order mark.
//!
//! It is for looking and sums, not for coming back: the lossless form is [`crate::jsonl`].

use logbook::{Entry, EntryId, Fact, Precision, When, wire};
use serde_json::Value;
use std::{borrow::Cow, collections::HashMap};

/// The columns, in order.
pub const COLUMNS: [&str; 17] = [
    "id", "happened", "known_to", "recorded", "device", "by", "kind", "state", "machine", "part", "slot",
    "task", "showing", "print", "hours", "words", "body",
];

/// Writes entries as CSV, in the order in which they come.
///
/// `state` is empty, `withdrawn` or `corrected`; it looks only at the entries given.
/// Times are ISO 8601 on the clock of the wall with its offset. `hours` is a number with a decimal point: hours run
/// or the meter's figure. `words` gathers what people wrote. `body` is the fact as JSON.
/// A text that a spreadsheet program would take for a formula gets an apostrophe in front, as those programs
/// themselves write it.
pub fn entries_as_csv<'a>(entries: impl IntoIterator<Item = &'a Entry, IntoIter: Clone>) -> String {
    let entries = entries.into_iter();
    let states = states(entries.clone());
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(COLUMNS).expect(TO_MEMORY);
    for entry in entries {
        writer.write_record(row(entry, states.get(&entry.id).copied().unwrap_or_default())).expect(TO_MEMORY);
    }
    let bytes = writer.into_inner().expect(TO_MEMORY);
    let table = String::from_utf8(bytes).expect("every cell is UTF-8");
    format!("\u{feff}{table}")
}

const TO_MEMORY: &str = "rows of one width written to memory cannot fail";

/// Returns what became of entries that another one names.
fn states<'a>(entries: impl Iterator<Item = &'a Entry>) -> HashMap<EntryId, &'static str> {
    let mut states = HashMap::new();
    for entry in entries {
        match &entry.fact {
            Fact::Withdraws(withdraws) => {
                states.insert(withdraws.entry, "withdrawn");
            }
            Fact::Corrects(corrects) => {
                states.entry(corrects.entry).or_insert("corrected");
            }
            _ => {}
        }
    }
    states
}

fn row(entry: &Entry, state: &str) -> Vec<String> {
    let (_, _, body) = wire::encode_fact(&entry.fact);
    let value: Value = serde_json::from_str(&body).unwrap_or_default();
    // A correction is looked up under what it sets in place.
    let inner = value.get("with").unwrap_or(&value);
    let text = |key: &str| guarded(&find(inner, key)).into_owned();
    vec![
        entry.id.to_string(),
        moment(entry.happened),
        known_to(entry.happened.precision).to_owned(),
        moment(entry.recorded),
        entry.device.to_string(),
        guarded(entry.by.as_str()).into_owned(),
        guarded(entry.fact.kind()).into_owned(),
        state.to_owned(),
        text("machine"),
        text("part"),
        text("slot"),
        text("task"),
        text("showing"),
        text("print"),
        hours(inner),
        guarded(&words(&value, inner)).into_owned(),
        guarded(&body).into_owned(),
    ]
}

/// Finds an id by its key, at the top or in what a note is about.
fn find(value: &Value, key: &str) -> String {
    let found = value.get(key).or_else(|| value.get("about")?.get(key));
    match found {
        Some(Value::String(text)) => text.clone(),
        _ => String::new(),
    }
}

/// Finds the hours that an entry is about.
fn hours(value: &Value) -> String {
    ["hours", "reading_hours", "new_reading_hours"]
        .into_iter()
        .find_map(|key| value.get(key)?.as_f64())
        .map(|hours| hours.to_string())
        .unwrap_or_default()
}

/// Gathers what people wrote, most telling first.
fn words(outer: &Value, inner: &Value) -> String {
    let keys = ["title", "name", "words", "what", "note", "cause", "cure", "why"];
    let mut said: Vec<&str> = keys.iter().filter_map(|key| inner.get(key)?.as_str()).collect();
    if !std::ptr::eq(outer, inner) {
        said.extend(outer.get("why").and_then(Value::as_str));
    }
    said.retain(|text| !text.is_empty());
    said.join("; ")
}

fn moment(when: When) -> String {
    let minutes = when.offset_s / 60;
    let sign = if minutes < 0 { '-' } else { '+' };
    let local = when.local();
    format!("{local}{sign}{:02}:{:02}", minutes.abs() / 60, minutes.abs() % 60)
}

fn known_to(precision: Precision) -> &'static str {
    match precision {
        Precision::Second => "second",
        Precision::Minute => "minute",
        Precision::Day => "day",
        Precision::Month => "month",
    }
}

/// Puts an apostrophe before a text that a spreadsheet program would run as a formula.
fn guarded(text: &str) -> Cow<'_, str> {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use logbook::{DeviceId, MachineId, PersonId, fact};
    use uuid::Uuid;

    fn entry(id: u128, fact: impl Into<Fact>) -> Entry {
        let at = When { unix_ms: 1_763_663_400_000, offset_s: -12_600, precision: Precision::Minute };
        Entry {
            id: EntryId(Uuid::from_u128(id)),
            device: DeviceId(Uuid::from_u128(7)),
            happened: at,
            recorded: at,
            by: PersonId::new("@jo"),
            fact: fact.into(),
        }
    }

    fn read_back(table: &str) -> Vec<HashMap<String, String>> {
        let table = table.strip_prefix('\u{feff}').unwrap();
        csv::Reader::from_reader(table.as_bytes()).deserialize().collect::<Result<_, _>>().unwrap()
    }

    #[test]
    fn a_row_tells_when_who_what_and_how_long() {
        let ran = entry(
            1,
            fact::Ran {
                machine: MachineId::new("dunlin"),
                run: fact::RunKind::Showing,
                hours: units::Hours::new(1.75),
                lit_hours: None,
                strikes: None,
                showing: Some("fri-1".into()),
                print: None,
                passes: None,
                estimated: false,
            },
        );
        let rows = read_back(&entries_as_csv([&ran]));
        let row = &rows[0];
        assert_eq!(row["happened"], "2025-11-20T15:00:00-03:30");
        assert_eq!(row["known_to"], "minute");
        assert_eq!((row["machine"].as_str(), row["hours"].as_str()), ("dunlin", "1.75"));
        assert_eq!(row["showing"], "fri-1");
        assert_eq!(row["by"], "'@jo", "a text that looks like a formula is guarded");
        assert!(row["body"].contains("\"hours\":1.75"));
    }

    #[test]
    fn formulas_commas_and_line_breaks_stay_words() {
        let words = "=HYPERLINK(\"x\"),\r\n\"two\"";
        let noted = entry(
            1,
            fact::Noted {
                about: Some(fact::About::Machine(MachineId::new("-dunlin"))),
                words: words.to_owned(),
                photos: vec![],
            },
        );
        let rows = read_back(&entries_as_csv([&noted]));
        assert_eq!(rows[0]["words"], format!("'{words}"));
        assert_eq!(rows[0]["machine"], "'-dunlin");
    }

    #[test]
    fn withdrawn_and_corrected_entries_say_so() {
        let note = |id| entry(id, fact::Noted { about: None, words: "x".to_owned(), photos: vec![] });
        let target = |id| EntryId(Uuid::from_u128(id));
        let withdraws = entry(3, fact::Withdraws { entry: target(1), why: "twice".to_owned() });
        let corrects = entry(
            4,
            Fact::Corrects(fact::Corrects {
                entry: target(2),
                with: Box::new(note(9).fact),
                happened: None,
                why: "misread".to_owned(),
            }),
        );
        let rows = read_back(&entries_as_csv(&[note(1), note(2), withdraws, corrects]));
        let states: Vec<&str> = rows.iter().map(|row| row["state"].as_str()).collect();
        assert_eq!(states, ["withdrawn", "corrected", "", ""]);
        assert_eq!(rows[3]["words"], "x; misread");
    }
}
