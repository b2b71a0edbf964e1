//! One table of a file, asked key by key; what is never asked for is an unknown key.

use super::desk::Desk;
use crate::id;
use crate::vocabulary::Vocabulary;
use std::cell::RefCell;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};

/// The longest text that one key may hold, in bytes: a page of a manual, not a book.
const LONGEST_TEXT: usize = 4000;

/// A value with its place.
pub(super) type Value<'t> = Spanned<DeValue<'t>>;

/// A table being read. Every getter notes what is wrong and returns a stand-in, so that reading goes on
/// and the whole file is judged at once; nothing read from a file with faults is ever handed out.
pub(super) struct Form<'a, 't> {
    pub(super) desk: &'a Desk<'t>,
    /// What the table is, as messages call it: "part `gate`".
    pub(super) what: String,
    /// Where it starts.
    pub(super) at: Range<usize>,
    table: &'a DeTable<'t>,
    asked: RefCell<Vec<&'static str>>,
}

impl<'a, 't> Form<'a, 't> {
    pub(super) fn new(
        desk: &'a Desk<'t>,
        what: impl Into<String>,
        at: Range<usize>,
        table: &'a DeTable<'t>,
    ) -> Self {
        Self { desk, what: what.into(), at, table, asked: RefCell::default() }
    }

    /// Reads the table's own id, by which messages call it from then on.
    pub(super) fn named<I: for<'s> From<&'s str> + AsRef<str>>(&mut self, kind: &str) -> I {
        let id = self.id::<I>("id");
        self.call(kind, id.as_ref());
        id
    }

    /// Gives the table its proper name, once its id is known.
    pub(super) fn call(&mut self, kind: &str, id: &str) {
        if !id.is_empty() {
            self.what = format!("{kind} `{id}`");
        }
    }

    /// The raw value of a key, which is then known.
    pub(super) fn value(&self, key: &'static str) -> Option<&'a Value<'t>> {
        self.asked.borrow_mut().push(key);
        self.table.get(key)
    }

    /// The place of a key's value, or of the table if the key is missing.
    pub(super) fn place(&self, key: &str) -> Range<usize> {
        self.table.get(key).map_or_else(|| self.at.clone(), Spanned::span)
    }

    pub(super) fn has(&self, key: &'static str) -> bool {
        self.value(key).is_some()
    }

    /// Notes a fault at a key.
    pub(super) fn note(&self, key: &str, what: impl Into<String>, right: impl Into<String>) {
        self.desk.note(&self.place(key), what, right);
    }

    fn missing(&self, key: &str, right: &str) {
        self.desk.note(&self.at, format!("{} has no `{key}`", self.what), right);
    }

    fn wrong_kind(&self, at: Range<usize>, key: &str, found: &DeValue<'t>, right: &str) {
        let found = kind_of(found);
        self.desk.note(&at, format!("`{key}` of {} is {found}", self.what), right);
    }

    /// A text that must be there and must say something.
    pub(super) fn text(&self, key: &'static str) -> String {
        let Some(value) = self.value(key) else {
            self.missing(key, &format!("add {key} = \"…\""));
            return String::new();
        };
        self.checked_text(key, value)
    }

    /// A text that may be left out.
    pub(super) fn maybe_text(&self, key: &'static str) -> Option<String> {
        self.value(key).map(|value| self.checked_text(key, value))
    }

    fn checked_text(&self, key: &str, value: &Value<'t>) -> String {
        let Some(text) = value.get_ref().as_str() else {
            self.wrong_kind(value.span(), key, value.get_ref(), "write a text in quotes");
            return String::new();
        };
        if text.trim().is_empty() {
            self.desk.note(
                &value.span(),
                format!("`{key}` of {} is empty", self.what),
                "write the words, or leave the key out where it may be",
            );
        }
        if text.len() > LONGEST_TEXT {
            let what = format!("`{key}` of {} is {} bytes long", self.what, text.len());
            self.desk.note(&value.span(), what, format!("keep it under {LONGEST_TEXT} bytes"));
        }
        text.trim().to_owned()
    }

    /// A list of texts, each of which says something; a missing key is an empty list.
    pub(super) fn texts(&self, key: &'static str) -> Vec<String> {
        let mut texts = Vec::new();
        for value in self.list(key) {
            match value.get_ref().as_str() {
                Some(text) if !text.trim().is_empty() => texts.push(text.trim().to_owned()),
                _ => self.desk.note(
                    &value.span(),
                    format!("one of the `{key}` of {} is no text", self.what),
                    "write words in quotes",
                ),
            }
        }
        texts
    }

    /// True or false; there is no default.
    pub(super) fn yes_or_no(&self, key: &'static str) -> bool {
        let Some(value) = self.value(key) else {
            self.missing(key, &format!("add {key} = true or {key} = false"));
            return false;
        };
        value.get_ref().as_bool().unwrap_or_else(|| {
            self.wrong_kind(value.span(), key, value.get_ref(), "write true or false");
            false
        })
    }

    /// True or false; left out means false.
    pub(super) fn flag(&self, key: &'static str) -> bool {
        self.has(key) && self.yes_or_no(key)
    }

    /// A number that must be there.
    pub(super) fn number(&self, key: &'static str, range: Allowed) -> f64 {
        if !self.table.contains_key(key) {
            self.asked.borrow_mut().push(key);
            self.missing(key, &format!("add {key} = a number, {range}"));
            return 0.0;
        }
        self.maybe_number(key, range).unwrap_or_default()
    }

    /// A number that may be left out; noted and `None` if it is no proper number.
    pub(super) fn maybe_number(&self, key: &'static str, range: Allowed) -> Option<f64> {
        let value = self.value(key)?;
        self.number_in(key, value, range)
    }

    /// One number of a key or of a list; noted and `None` if it is no proper number.
    pub(super) fn number_in(&self, key: &str, value: &Value<'t>, range: Allowed) -> Option<f64> {
        let Some(number) = number_of(value.get_ref()) else {
            self.wrong_kind(value.span(), key, value.get_ref(), &format!("write a number, {range}"));
            return None;
        };
        if range.admits(number) {
            return Some(number);
        }
        let written = if number.is_finite() { number.to_string() } else { "not a finite number".into() };
        self.desk.note(
            &value.span(),
            format!("`{key}` of {} is {written}", self.what),
            format!("it must be {range}"),
        );
        None
    }

    /// A whole number that must be there.
    pub(super) fn whole(&self, key: &'static str, least: u32, most: u32) -> u32 {
        self.number(key, Allowed::Whole { least, most }) as u32
    }

    /// A whole number that may be left out.
    pub(super) fn maybe_whole(&self, key: &'static str, least: u32, most: u32) -> Option<u32> {
        self.maybe_number(key, Allowed::Whole { least, most }).map(|number| number as u32)
    }

    /// One word of a closed list.
    pub(super) fn word<V: Vocabulary>(&self, key: &'static str) -> V {
        let Some(value) = self.value(key) else {
            self.missing(key, &format!("add {key} = one of {}", listed(V::ALL.iter().map(|v| v.word()))));
            return V::ALL[0];
        };
        self.word_of(key, value)
    }

    /// One word of a closed list, or none.
    pub(super) fn maybe_word<V: Vocabulary>(&self, key: &'static str) -> Option<V> {
        self.value(key).map(|value| self.word_of(key, value))
    }

    /// Several words of a closed list; each at most once.
    pub(super) fn words<V: Vocabulary + PartialEq>(&self, key: &'static str) -> Vec<V> {
        let mut words = Vec::new();
        for value in self.list(key) {
            let word: V = self.word_of(key, value);
            if words.contains(&word) {
                let what = format!("`{}` stands twice in `{key}` of {}", word.word(), self.what);
                self.desk.note(&value.span(), what, "say it once");
            }
            words.push(word);
        }
        words
    }

    fn word_of<V: Vocabulary>(&self, key: &str, value: &Value<'t>) -> V {
        let words = || V::ALL.iter().map(|v| v.word());
        let Some(text) = value.get_ref().as_str() else {
            self.wrong_kind(value.span(), key, value.get_ref(), &format!("write one of {}", listed(words())));
            return V::ALL[0];
        };
        V::ALL.iter().copied().find(|v| v.word() == text).unwrap_or_else(|| {
            let what = format!("`{}` is not a word for `{key}`", cut(text));
            self.desk.note(&value.span(), what, suggestion(text, words()));
            V::ALL[0]
        })
    }

    /// The values of a list; a missing key is an empty list.
    pub(super) fn list(&self, key: &'static str) -> Vec<&'a Value<'t>> {
        let Some(value) = self.value(key) else { return Vec::new() };
        if let Some(array) = value.get_ref().as_array() {
            return array.iter().collect();
        }
        self.wrong_kind(
            value.span(),
            key,
            value.get_ref(),
            "write a list in square brackets: [\"…\", \"…\"]",
        );
        Vec::new()
    }

    /// The values of a list that must be there, though it may be empty.
    pub(super) fn list_needed(&self, key: &'static str, right: &str) -> Vec<&'a Value<'t>> {
        if !self.has(key) {
            self.missing(key, right);
        }
        self.list(key)
    }

    /// A list of ids, each well formed, each once.
    pub(super) fn ids<I: for<'s> From<&'s str> + PartialEq>(&self, key: &'static str) -> Vec<I> {
        let mut ids = Vec::new();
        for value in self.list(key) {
            let Some(id) = self.id_of(key, value) else { continue };
            let id = I::from(&id);
            if ids.contains(&id) {
                self.desk.note(
                    &value.span(),
                    format!("`{key}` of {} names the same thing twice", self.what),
                    "name it once",
                );
            }
            ids.push(id);
        }
        ids
    }

    /// One id that must be there.
    pub(super) fn id<I: for<'s> From<&'s str>>(&self, key: &'static str) -> I {
        let Some(value) = self.value(key) else {
            self.missing(key, &format!("add {key} = \"a-short-name\""));
            return I::from("");
        };
        I::from(&self.id_of(key, value).unwrap_or_default())
    }

    /// One id that may be left out.
    pub(super) fn maybe_id<I: for<'s> From<&'s str>>(&self, key: &'static str) -> Option<I> {
        let value = self.value(key)?;
        self.id_of(key, value).map(|id| I::from(&id))
    }

    fn id_of(&self, key: &str, value: &Value<'t>) -> Option<String> {
        let Some(text) = value.get_ref().as_str() else {
            self.wrong_kind(value.span(), key, value.get_ref(), "write a short name in quotes");
            return None;
        };
        if id::is_well_formed(text) {
            return Some(text.to_owned());
        }
        let what = format!("`{}` cannot be an id", cut(text));
        let right = "use small letters, digits and single hyphens, at most 64, such as \"exciter-lamp\"";
        self.desk.note(&value.span(), what, right);
        None
    }

    /// A table inside this one, if it is there.
    pub(super) fn maybe_form(&self, key: &'static str, what: impl Into<String>) -> Option<Form<'a, 't>> {
        let value = self.value(key)?;
        if let Some(table) = value.get_ref().as_table() {
            return Some(Form::new(self.desk, what, value.span(), table));
        }
        self.wrong_kind(value.span(), key, value.get_ref(), "write a table in curly brackets: { … }");
        None
    }

    /// A table inside this one that must be there.
    pub(super) fn form(
        &self,
        key: &'static str,
        what: impl Into<String>,
        right: &str,
    ) -> Option<Form<'a, 't>> {
        if !self.has(key) {
            self.missing(key, right);
        }
        self.maybe_form(key, what)
    }

    /// The tables of a list of tables: `[[part]]`, `[[part]]`, …
    pub(super) fn forms(&self, key: &'static str) -> Vec<Form<'a, 't>> {
        let mut forms = Vec::new();
        for (n, value) in self.list(key).into_iter().enumerate() {
            match value.get_ref().as_table() {
                Some(table) => {
                    forms.push(Form::new(self.desk, format!("{key} number {}", n + 1), value.span(), table));
                }
                None => self.wrong_kind(
                    value.span(),
                    key,
                    value.get_ref(),
                    &format!("write [[{key}]] and its keys below"),
                ),
            }
        }
        forms
    }

    /// Every key with its value, for tables whose keys are names of the file's own.
    pub(super) fn entries(&self) -> impl Iterator<Item = (&'a Spanned<DeString<'t>>, &'a Value<'t>)> {
        self.table.iter()
    }

    /// Notes the keys that nobody asked for; a key that the table already has is no help against them.
    pub(super) fn finish(self) {
        let mut asked = self.asked.borrow_mut();
        asked.sort_unstable();
        asked.dedup();
        for (key, _) in self.table {
            let name: &str = key.get_ref();
            if !asked.contains(&name) {
                let what = format!("unknown key `{}` in {}", cut(name), self.what);
                let free = asked.iter().copied().filter(|key| !self.table.contains_key(*key));
                self.desk.note(&key.span(), what, suggestion(name, free));
            }
        }
    }
}

/// Which numbers a key admits.
#[derive(Clone, Copy)]
pub(super) enum Allowed {
    /// Greater than nought, up to a most.
    Positive { most: f64 },
    /// Between two ends.
    Between { least: f64, most: f64 },
    /// A whole number between two ends.
    Whole { least: u32, most: u32 },
}

impl Allowed {
    fn admits(self, number: f64) -> bool {
        match self {
            Self::Positive { most } => number > 0.0 && number <= most,
            Self::Between { least, most } => number >= least && number <= most,
            Self::Whole { least, most } => {
                number.fract() == 0.0 && number >= f64::from(least) && number <= f64::from(most)
            }
        }
    }
}

impl std::fmt::Display for Allowed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Positive { most } => write!(f, "greater than 0 and at most {most}"),
            Self::Between { least, most } => write!(f, "from {least} to {most}"),
            Self::Whole { least, most } => write!(f, "whole, from {least} to {most}"),
        }
    }
}

/// Reads an integer or a float; `inf` and `nan` come out as what they are, for the range to refuse.
fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().parse().ok(),
        DeValue::Float(float) => float.as_str().parse().ok(),
        _ => None,
    }
}

/// What a value is, for a message.
fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// Quotes the words of a list for a message.
pub(super) fn listed<'w>(words: impl Iterator<Item = &'w str>) -> String {
    words.map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
}

/// "did you mean …", if a word is near, or else the whole list.
pub(super) fn suggestion<'w>(written: &str, words: impl Iterator<Item = &'w str>) -> String {
    let words: Vec<&str> = words.collect();
    // A near word shares most of its letters; a very long key is nobody's slip of the pen.
    let near = words.iter().filter(|_| written.len() <= id::LONGEST_ID);
    let near = near.map(|word| (strsim::jaro_winkler(written, word), word));
    match near.max_by(|a, b| a.0.total_cmp(&b.0)) {
        Some((likeness, word)) if likeness > 0.8 => format!("did you mean `{word}`?"),
        _ if words.is_empty() => "leave it out".into(),
        _ => format!("use one of {}", listed(words.into_iter())),
    }
}

/// A text cut to a length that a message can carry.
pub(super) fn cut(text: &str) -> String {
    let short: String = text.chars().take(60).collect();
    if short.len() < text.len() { format!("{short}…") } else { short }
}
