//! Finding entries by kind, machine, person, time and words.

use logbook::{MachineId, PersonId, When, wire::Record};
use std::borrow::Cow;

/// Which entries are wanted; everything that is given must fit.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Filter {
    /// Any of these kinds; empty: every kind.
    pub kinds: Vec<String>,
    /// Entries that name this machine, also inside a correction or a showing.
    pub machine: Option<MachineId>,
    /// Entries that this person wrote.
    pub by: Option<PersonId>,
    /// What happened at this moment or later.
    pub from: Option<When>,
    /// What happened before this moment.
    pub until: Option<When>,
    /// Each of these words (parted by spaces) stands somewhere in what the entry says, in its kind or its writer,
    /// in capitals or not, also as part of a longer word.
    pub words: String,
}

/// A filter made ready to look at many records.
pub(crate) struct Sieve<'f> {
    filter: &'f Filter,
    machine: Option<String>,
    words: Vec<String>,
}

impl<'f> Sieve<'f> {
    pub(crate) fn new(filter: &'f Filter) -> Self {
        Self {
            filter,
            machine: filter.machine.as_ref().map(|machine| as_json_text(machine.as_str())),
            words: filter.words.split_whitespace().map(str::to_lowercase).collect(),
        }
    }

    /// Returns whether a record fits.
    pub(crate) fn fits(&self, record: &Record<'_>) -> bool {
        let filter = self.filter;
        (filter.kinds.is_empty() || filter.kinds.iter().any(|kind| *kind == record.kind))
            && filter.by.as_ref().is_none_or(|by| by.as_str() == record.by)
            && filter.from.is_none_or(|from| record.happened.unix_ms >= from.unix_ms)
            && filter.until.is_none_or(|until| record.happened.unix_ms < until.unix_ms)
            && self.machine.as_deref().is_none_or(|machine| names_machine(&record.body, machine))
            && self.words.iter().all(|word| has_word(record, word))
    }
}

/// Returns a text as JSON writes it, with its quotation marks.
fn as_json_text(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// Returns whether a body has a key `machine` with this value (a JSON text) at any depth.
///
/// A quotation mark inside a JSON text is always escaped, so the key cannot be mistaken for words.
fn names_machine(body: &str, machine: &str) -> bool {
    const KEY: &str = "\"machine\"";
    body.match_indices(KEY).any(|(at, _)| {
        let after = body[at + KEY.len()..].trim_start();
        after.strip_prefix(':').is_some_and(|value| value.trim_start().starts_with(machine))
    })
}

/// Returns whether a word (in small letters) stands in a record's kind, writer or values.
fn has_word(record: &Record<'_>, word: &str) -> bool {
    let may_be_in_body = record.body.contains('\\') || contains(&record.body, word);
    contains(&record.kind, word)
        || contains(&record.by, word)
        || (may_be_in_body && values(&record.body).any(|value| contains(&value, word)))
}

/// Returns whether a text contains a word given in small letters.
fn contains(text: &str, word: &str) -> bool {
    if word.is_ascii() {
        contains_ascii(text.as_bytes(), word.as_bytes())
    } else {
        text.to_lowercase().contains(word)
    }
}

fn contains_ascii(text: &[u8], word: &[u8]) -> bool {
    let Some((first, rest)) = word.split_first() else { return true };
    text.iter().enumerate().any(|(at, byte)| {
        byte.to_ascii_lowercase() == *first
            && text.get(at + 1..at + word.len()).is_some_and(|next| next.eq_ignore_ascii_case(rest))
    })
}

/// Goes through the texts and numbers that are values in a JSON document, not keys.
fn values(json: &str) -> impl Iterator<Item = Cow<'_, str>> {
    let mut rest = json;
    std::iter::from_fn(move || {
        loop {
            rest = rest.trim_start_matches(|c: char| !starts_value(c));
            let length = value_length(rest)?;
            let (token, after) = rest.split_at(length);
            rest = after;
            let is_key = token.starts_with('"') && after.trim_start().starts_with(':');
            if !is_key {
                return Some(plain(token));
            }
        }
    })
}

fn starts_value(c: char) -> bool {
    c == '"' || c == '-' || c.is_ascii_alphanumeric()
}

/// Returns the length of the token at the beginning; `None` at the end.
fn value_length(json: &str) -> Option<usize> {
    let mut bytes = json.bytes().enumerate();
    if bytes.next()?.1 != b'"' {
        let end = json.find([',', ']', '}', ' ', '\n', '\r', '\t']);
        return Some(end.unwrap_or(json.len()));
    }
    let mut escaped = false;
    for (at, byte) in bytes {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = true,
            b'"' => return Some(at + 1),
            _ => {}
        }
    }
    Some(json.len())
}

/// Returns a JSON text without quotation marks and escapes; other tokens as they are.
fn plain(token: &str) -> Cow<'_, str> {
    if token.contains('\\') {
        return serde_json::from_str::<String>(token).map_or(Cow::Borrowed(token), Cow::Owned);
    }
    Cow::Borrowed(token.trim_matches('"'))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use logbook::{DeviceId, EntryId};
    use uuid::Uuid;

    fn record(kind: &'static str, body: &'static str) -> Record<'static> {
        let at = When { unix_ms: 1_000, offset_s: 0, precision: logbook::Precision::Second };
        Record {
            id: EntryId(Uuid::nil()),
            device: DeviceId(Uuid::nil()),
            happened: at,
            recorded: at,
            by: "ines".into(),
            kind: kind.into(),
            version: 1,
            body: body.into(),
        }
    }

    fn fits(filter: &Filter, body: &'static str) -> bool {
        Sieve::new(filter).fits(&record("noted", body))
    }

    fn words(words: &str) -> Filter {
        Filter { words: words.to_owned(), ..Filter::default() }
    }

    #[test]
    fn words_are_found_in_values_and_not_in_keys() {
        let body = r#"{"machine":"turnstone","words":"Gate SPRING weak","hours":12.5}"#;
        for found in ["spring", "gate weak", "Turnstone", "12.5", "INES", "noted", "ring"] {
            assert!(fits(&words(found), body), "{found}");
        }
        for missing in ["machine", "words", "hours", "spring loose", "13"] {
            assert!(!fits(&words(missing), body), "{missing}");
        }
    }

    #[test]
    fn words_beyond_ascii_and_escaped_are_found() {
        assert!(fits(&words("große ÖSE"), r#"{"words":"Große Öse"}"#));
        assert!(fits(&words("öse"), r#"{"words":"\u00d6se"}"#));
        assert!(fits(&words("\"quick\""), r#"{"words":"the \"quick\" fix"}"#));
    }

    #[test]
    fn a_machine_is_found_at_any_depth_but_not_in_words() {
        let filter = Filter { machine: Some("turnstone".into()), ..Filter::default() };
        assert!(fits(&filter, r#"{"machine":"turnstone"}"#));
        assert!(fits(&filter, r#"{"about":{"machine" : "turnstone"}}"#));
        assert!(!fits(&filter, r#"{"machine":"turnstone-2"}"#));
        assert!(!fits(&filter, r#"{"words":"\"machine\":\"turnstone\""}"#));
        assert!(!fits(&filter, r#"{"part":"turnstone"}"#));
    }

    #[test]
    fn times_include_the_beginning_and_exclude_the_end() {
        let at = |unix_ms| Some(When { unix_ms, offset_s: 0, precision: logbook::Precision::Second });
        let between = |from, until| Filter { from: at(from), until: at(until), ..Filter::default() };
        assert!(fits(&between(1_000, 1_001), "{}"));
        assert!(!fits(&between(1_001, 2_000), "{}"));
        assert!(!fits(&between(0, 1_000), "{}"));
    }

    #[test]
    fn a_broken_body_is_searched_without_a_fuss() {
        for body in ["", "\"", "{\"words\":\"gate", "\\", "{{{", "é", "{\"a\":\"\\\\\"}"] {
            let _ = fits(&words("gate"), body);
        }
        assert!(fits(&words("gate"), "{\"words\":\"gate"));
    }
}
