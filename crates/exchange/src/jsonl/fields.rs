//! One line → its fields, each read by itself so that all that is wrong with a line is told at once.

use super::{
    LineError,
    moment::{self, Moment, shorten},
};
use logbook::{Precision, When};
use serde::Deserialize;
use serde_json::value::RawValue;

/// A line as an object whose values are still text.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Fields<'a> {
    #[serde(borrow)]
    pub id: Option<&'a RawValue>,
    #[serde(borrow)]
    pub device: Option<&'a RawValue>,
    #[serde(borrow)]
    pub number: Option<&'a RawValue>,
    #[serde(borrow)]
    pub happened: Option<&'a RawValue>,
    #[serde(borrow)]
    pub happened_precision: Option<&'a RawValue>,
    #[serde(borrow)]
    pub recorded: Option<&'a RawValue>,
    #[serde(borrow)]
    pub recorded_precision: Option<&'a RawValue>,
    #[serde(borrow)]
    pub by: Option<&'a RawValue>,
    #[serde(borrow)]
    pub kind: Option<&'a RawValue>,
    #[serde(borrow)]
    pub version: Option<&'a RawValue>,
    #[serde(borrow)]
    pub body: Option<&'a RawValue>,
    #[serde(borrow)]
    pub body_text: Option<&'a RawValue>,
    #[serde(borrow)]
    pub hash: Option<&'a RawValue>,
}

/// Reads the values of one line and collects what is wrong with it.
pub(super) struct LineReader<'a, 'e> {
    /// The line's number, from 1.
    pub line: usize,
    /// The line's text.
    pub text: &'a str,
    /// Where errors go.
    pub errors: &'e mut Vec<LineError>,
}

impl<'a> LineReader<'a, '_> {
    /// Notes something wrong at a place of the line, given in bytes.
    pub fn wrong_at(&mut self, byte: Option<usize>, what: String, would_be_right: &str) {
        let column = byte.and_then(|byte| self.text.get(..byte)).map(|before| before.chars().count() + 1);
        self.errors.push(LineError {
            line: self.line,
            column,
            what,
            would_be_right: would_be_right.to_owned(),
        });
    }

    /// Returns where a value stands in the line: values borrow from it.
    fn place(&self, raw: &RawValue) -> Option<usize> {
        (raw.get().as_ptr() as usize).checked_sub(self.text.as_ptr() as usize)
    }

    /// Reads a value that must be there.
    pub fn needed<T: Deserialize<'a>>(
        &mut self,
        key: &str,
        raw: Option<&'a RawValue>,
        right: &str,
    ) -> Option<T> {
        let Some(raw) = raw else {
            self.wrong_at(None, format!("the key “{key}” is missing"), right);
            return None;
        };
        self.value(key, raw, right)
    }

    /// Reads a value that is there.
    pub fn value<T: Deserialize<'a>>(&mut self, key: &str, raw: &'a RawValue, right: &str) -> Option<T> {
        let read = serde_json::from_str(raw.get()).ok();
        if read.is_none() {
            let what = format!("“{key}” cannot be {}", shorten(raw.get()));
            self.wrong_at(self.place(raw), what, right);
        }
        read
    }

    /// Reads a moment and how exactly it is known.
    pub fn moment(
        &mut self,
        key: &str,
        raw: Option<&'a RawValue>,
        precision: Option<&'a RawValue>,
    ) -> Option<When> {
        const RIGHT: &str = "a moment is written like “2026-11-20T19:30:00+01:00”";
        let precision = match precision {
            None => Some(Precision::Second),
            Some(raw) => {
                self.value(&format!("{key}_precision"), raw, "one of “second”, “minute”, “day”, “month”")
            }
        };
        let moment: Moment = self.needed(key, raw, RIGHT)?;
        match moment::read(&moment, precision?) {
            Ok(when) => Some(when),
            Err(what) => {
                self.wrong_at(raw.and_then(|raw| self.place(raw)), format!("“{key}”: {what}"), RIGHT);
                None
            }
        }
    }

    /// Reads a hash in hexadecimal.
    pub fn hash(&mut self, raw: Option<&'a RawValue>) -> Option<[u8; 32]> {
        const RIGHT: &str = "a hash is 64 hexadecimal digits";
        let text: String = self.needed("hash", raw, RIGHT)?;
        let read = unhex(&text);
        if read.is_none() {
            let what = format!("“hash” cannot be “{}”", shorten(&text));
            self.wrong_at(raw.and_then(|raw| self.place(raw)), what, RIGHT);
        }
        read
    }

    /// Reads the body: JSON that is kept byte for byte, or the quoted text of one that could not stand in a line.
    pub fn body(&mut self, raw: Option<&'a RawValue>, text: Option<&'a RawValue>) -> Option<String> {
        const RIGHT: &str = "an entry has either “body” (JSON) or “body_text” (the same as a quoted text)";
        match (raw, text) {
            (Some(raw), None) => Some(raw.get().to_owned()),
            (None, Some(text)) => self.value("body_text", text, RIGHT),
            (None, None) => {
                self.wrong_at(None, "the key “body” is missing".to_owned(), RIGHT);
                None
            }
            (Some(_), Some(text)) => {
                let place = self.place(text);
                self.wrong_at(place, "“body” and “body_text” are both there".to_owned(), RIGHT);
                None
            }
        }
    }
}

/// Reads 64 hexadecimal digits.
fn unhex(text: &str) -> Option<[u8; 32]> {
    let digits: Vec<u8> =
        text.chars().map(|c| c.to_digit(16).map(|digit| digit as u8)).collect::<Option<_>>()?;
    let bytes: Vec<u8> =
        digits.chunks_exact(2).map(|pair| pair.iter().fold(0, |byte, digit| byte << 4 | digit)).collect();
    if digits.len() == 64 { bytes.try_into().ok() } else { None }
}
