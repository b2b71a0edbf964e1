//! Fields of a form: how they are asked, how what was typed becomes the body of an entry, and the way back.
//!
//! A field is named by the key under which the entry's body keeps it (dots lead into nested bodies), so that a refusal
//! of the gate finds its field, and a correction can be filled from the entry it corrects.

use crate::typed::Typed;
use maud::{Markup, html};
use serde_json::{Map, Value, json};
use std::str::FromStr;

/// One field.
#[derive(Clone, Debug)]
pub struct Field {
    /// The key in the entry's body.
    pub key: &'static str,
    /// What is asked.
    pub label: String,
    /// What helps to answer.
    pub hint: String,
    /// What sort of answer.
    pub kind: Kind,
    /// Must be answered.
    pub required: bool,
    /// What stands in it before anything is typed.
    pub preset: &'static str,
}

/// What sort of answer a field takes.
#[derive(Clone, Debug)]
pub enum Kind {
    /// A line of text.
    Line,
    /// Some sentences.
    Paragraph,
    /// A span in hours: `1.5`, `1,5`, `1:30`, `90 min`.
    Hours,
    /// A span in seconds: `40`, `40 s`, `1:10`.
    Seconds,
    /// A bare number with its unit.
    Number(&'static str),
    /// A whole number.
    Whole,
    /// Yes or not.
    Tick,
    /// A day.
    Day,
    /// One of some.
    Pick(Vec<Choice>),
    /// One of some, or of further ones that are seldom meant: these lie folded under the words.
    PickOrOlder {
        /// Those that are meant nearly always.
        near: Vec<Choice>,
        /// The rest.
        older: Vec<Choice>,
        /// What the fold is called.
        fold: &'static str,
    },
    /// One of some, or anything else that is typed.
    Suggest(Vec<Choice>),
}

/// One thing to choose: its value in the entry and its words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Choice {
    /// As the entry keeps it.
    pub value: String,
    /// As it is shown.
    pub words: String,
}

impl Choice {
    /// Makes a choice.
    pub fn new(value: impl Into<String>, words: impl Into<String>) -> Self {
        Self { value: value.into(), words: words.into() }
    }
}

/// Why a field cannot be taken as typed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Problem {
    /// The field's key.
    pub key: String,
    /// What is wrong and what would be right.
    pub words: String,
    /// What the field asks, where the words alone do not say which field is meant.
    pub asked: String,
}

impl Problem {
    /// Makes a problem.
    pub fn new(key: impl Into<String>, words: impl Into<String>) -> Self {
        Self { key: key.into(), words: words.into(), asked: String::new() }
    }

    /// Says which field is meant.
    #[must_use]
    pub fn asked(mut self, label: impl Into<String>) -> Self {
        self.asked = label.into();
        self
    }

    /// The problem away from its field: what was asked, and what is wrong with the answer.
    fn in_full(&self) -> String {
        if self.asked.is_empty() {
            return self.words.clone();
        }
        let mut letters = self.words.chars();
        let first: String = letters.next().into_iter().flat_map(char::to_lowercase).collect();
        format!("{}: {first}{}", self.asked, letters.as_str())
    }
}

impl Field {
    /// Makes a field that may stay empty.
    pub fn new(key: &'static str, label: impl Into<String>, kind: Kind) -> Self {
        Self { key, label: label.into(), hint: String::new(), kind, required: false, preset: "" }
    }

    /// Says what helps to answer.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// Makes it one that must be answered.
    #[must_use]
    pub fn required(mut self) -> Self {
        self.required = true;
        self
    }

    /// Says what stands in it before anything is typed.
    #[must_use]
    pub fn preset(mut self, value: &'static str) -> Self {
        self.preset = value;
        self
    }

    /// Reads what was typed; `None` if nothing was.
    fn read(&self, typed: &Typed) -> Result<Option<Value>, String> {
        let Some(text) = typed.get(self.key) else {
            return if self.required { Err(self.missing()) } else { Ok(None) };
        };
        self.kind.read(text).map(Some)
    }

    fn missing(&self) -> String {
        match self.kind {
            Kind::Pick(_) | Kind::PickOrOlder { .. } => "Choose one.".to_owned(),
            _ => "This is needed.".to_owned(),
        }
    }
}

impl Kind {
    fn read(&self, text: &str) -> Result<Value, String> {
        match self {
            Self::Line | Self::Paragraph | Self::Suggest(_) => Ok(json!(text)),
            Self::Hours => number_of::<units::Hours>(text, "h").map(|hours| json!(hours)),
            Self::Seconds => number_of::<units::Seconds>(text, "s").map(|seconds| json!(seconds)),
            Self::Number(unit) => bare_number(text, unit).map(|number| json!(number)),
            Self::Whole => text
                .parse::<u32>()
                .map(|number| json!(number))
                .map_err(|_| format!("\"{text}\" is not a whole number; write for example 12.")),
            Self::Tick => Ok(json!(true)),
            Self::Day => text
                .parse::<jiff::civil::Date>()
                .map(|day| json!(day))
                .map_err(|_| format!("\"{text}\" is not a day; write for example 2026-03-07.")),
            Self::Pick(choices) if has(choices, text) => Ok(json!(text)),
            Self::PickOrOlder { near, older, .. } if has(near, text) || has(older, text) => Ok(json!(text)),
            Self::Pick(_) | Self::PickOrOlder { .. } => {
                Err(format!("\"{text}\" is not among the choices; choose one of them."))
            }
        }
    }
}

fn has(choices: &[Choice], value: &str) -> bool {
    choices.iter().any(|choice| choice.value == value)
}

/// Reads hours as people write them; a bare number is hours.
pub fn hours(text: &str) -> Result<units::Hours, String> {
    number_of(text, "h")
}

/// Reads a quantity; a bare number is taken in the field's own unit.
fn number_of<Q: FromStr<Err = units::ReadError>>(text: &str, unit: &str) -> Result<Q, String> {
    let bare = text.chars().all(|c| c.is_ascii_digit() || ".,-+".contains(c));
    let read = if bare { format!("{text} {unit}").parse() } else { text.parse() };
    read.map_err(|error: units::ReadError| format!("{}.", capital(&error.to_string())))
}

fn bare_number(text: &str, unit: &str) -> Result<f64, String> {
    let trimmed = text.strip_suffix(unit).unwrap_or(text).trim().replace(',', ".");
    let number: Result<f64, _> = trimmed.parse();
    number
        .ok()
        .filter(|number| number.is_finite())
        .ok_or_else(|| format!("\"{text}\" is not a number; write for example 12.5."))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// Reads all fields into the body of an entry, over what the body holds already; all problems come at once.
pub fn read_into(body: &mut Map<String, Value>, fields: &[Field], typed: &Typed) -> Vec<Problem> {
    let mut problems = Vec::new();
    for field in fields {
        match field.read(typed) {
            Ok(Some(value)) => put(body, field.key, value),
            Ok(None) => take(body, field.key),
            Err(words) => problems.push(Problem::new(field.key, words).asked(&field.label)),
        }
    }
    problems
}

/// Puts a value at a dotted key.
pub fn put(body: &mut Map<String, Value>, key: &str, value: Value) {
    match key.split_once('.') {
        None => {
            body.insert(key.to_owned(), value);
        }
        Some((outer, inner)) => {
            let nested = body.entry(outer).or_insert_with(|| json!({}));
            if !nested.is_object() {
                *nested = json!({});
            }
            put(nested.as_object_mut().expect("it was made an object just now"), inner, value);
        }
    }
}

/// Takes the value at a dotted key away; an outer body that becomes empty goes too.
fn take(body: &mut Map<String, Value>, key: &str) {
    match key.split_once('.') {
        None => {
            body.remove(key);
        }
        Some((outer, inner)) => {
            let Some(nested) = body.get_mut(outer).and_then(Value::as_object_mut) else { return };
            take(nested, inner);
            if nested.is_empty() {
                body.remove(outer);
            }
        }
    }
}

/// Fills a form from an entry's body.
pub fn fill(body: &Value, fields: &[Field]) -> Typed {
    let mut typed = Typed::default();
    for field in fields {
        match value_at(body, field.key) {
            Some(Value::String(text)) => typed.push(field.key, text.clone()),
            Some(Value::Bool(true)) => typed.push(field.key, "yes"),
            Some(Value::Number(number)) => typed.push(field.key, plain_number(number)),
            _ => {}
        }
    }
    typed
}

/// Returns the value at a dotted key.
pub fn value_at<'b>(body: &'b Value, key: &str) -> Option<&'b Value> {
    key.split('.').try_fold(body, |body, key| body.get(key))
}

/// A number without a trailing `.0`.
fn plain_number(number: &serde_json::Number) -> String {
    let text = number.to_string();
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// Shows fields with what was typed and what is wrong with it.
pub fn show(fields: &[Field], typed: &Typed, problems: &[Problem]) -> Markup {
    html! { @for field in fields { (show_one(field, typed, problems)) } }
}

/// Shows one field.
pub fn show_one(field: &Field, typed: &Typed, problems: &[Problem]) -> Markup {
    let id = format!("field-{}", field.key.replace('.', "-"));
    let problem = problems.iter().find(|problem| problem.key == field.key);
    let described =
        [(!field.hint.is_empty()).then(|| format!("{id}-hint")), problem.map(|_| format!("{id}-problem"))];
    let described: Vec<String> = described.into_iter().flatten().collect();
    let described = (!described.is_empty()).then(|| described.join(" "));
    html! {
        div class=(if problem.is_some() { "field wrong" } else { "field" }) data-field=(field.key) {
            @if !matches!(field.kind, Kind::Tick) {
                label for=(id) { (field.label) @if !field.required { span.quiet { " (optional)" } } }
            }
            @if !field.hint.is_empty() { span.hint id={ (id) "-hint" } { (field.hint) } }
            (control(field, &id, typed_in(field, typed), described.as_deref(), problem.is_some()))
            @if let Some(problem) = problem { span.problem id={ (id) "-problem" } { (problem.words) } }
        }
    }
}

/// What stands in a field: as it was typed, blanks and all.
fn typed_in<'t>(field: &Field, typed: &'t Typed) -> &'t str {
    match typed.raw(field.key) {
        Some("") => typed.get(field.key).unwrap_or(""),
        typed => typed.unwrap_or(field.preset),
    }
}

fn control(field: &Field, id: &str, value: &str, described: Option<&str>, wrong: bool) -> Markup {
    let invalid = wrong.then_some("true");
    let input = |kind: &str, mode: Option<&str>| {
        html! {
            input id=(id) name=(field.key) type=(kind) value=(value) inputmode=[mode] required[field.required]
                aria-describedby=[described] aria-invalid=[invalid] autocomplete="off";
        }
    };
    match &field.kind {
        Kind::Line => input("text", None),
        Kind::Hours => with_unit(&input("text", None), "h"),
        Kind::Seconds => with_unit(&input("text", None), "s"),
        Kind::Number(unit) => with_unit(&input("text", Some("decimal")), unit),
        Kind::Whole => input("text", Some("numeric")),
        Kind::Day => input("date", None),
        Kind::Paragraph => html! {
            textarea id=(id) name=(field.key) rows="3" required[field.required]
                aria-describedby=[described] aria-invalid=[invalid] { (value) }
        },
        Kind::Tick => html! {
            label.tick for=(id) {
                input id=(id) name=(field.key) type="checkbox" value="yes" checked[!value.is_empty()]
                    aria-describedby=[described];
                span { (field.label) }
            }
        },
        Kind::Pick(choices) => html! {
            select id=(id) name=(field.key) required[field.required]
                aria-describedby=[described] aria-invalid=[invalid] {
                @if !field.required || choices.len() > 1 {
                    option value="" { (if field.required { "Choose" } else { "–" }) }
                }
                (options(choices, value))
            }
        },
        Kind::PickOrOlder { near, older, fold } => html! {
            select id=(id) name=(field.key) aria-describedby=[described] aria-invalid=[invalid] {
                option value="" { (if near.is_empty() { "There is none" } else { "Choose" }) }
                (options(near, value))
            }
            @if !older.is_empty() {
                details open[has(older, value)] {
                    summary { (fold) }
                    select name=(field.key) aria-label=(fold) {
                        option value="" { "–" }
                        (options(older, value))
                    }
                }
            }
        },
        Kind::Suggest(choices) => html! {
            input id=(id) name=(field.key) type="text" value=(value) required[field.required] list={ (id) "-list" }
                aria-describedby=[described] aria-invalid=[invalid] autocomplete="off";
            datalist id={ (id) "-list" } {
                @for choice in choices { option value=(choice.value) { (choice.words) } }
            }
        },
    }
}

fn options(choices: &[Choice], value: &str) -> Markup {
    html! {
        @for choice in choices {
            option value=(choice.value) selected[choice.value == value] { (choice.words) }
        }
    }
}

fn with_unit(input: &Markup, unit: &str) -> Markup {
    html! { span.with-unit { (input) @if !unit.is_empty() { span { (unit) } } } }
}

/// Lists what is wrong at the top of a form, each leading to its field.
pub fn problems(problems: &[Problem]) -> Markup {
    html! {
        @if !problems.is_empty() {
            div.problems role="alert" tabindex="-1" {
                h2 { "Not written down yet" }
                ul { @for problem in problems {
                    li { a href={ "#field-" (problem.key.replace('.', "-")) } { (problem.in_full()) } }
                } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn fields() -> Vec<Field> {
        vec![
            Field::new("hours", "Hours", Kind::Hours).required(),
            Field::new("replaces.why", "Why", Kind::Pick(vec![Choice::new("failed", "It failed")])),
            Field::new("note", "Note", Kind::Paragraph),
            Field::new("estimated", "Estimated", Kind::Tick),
        ]
    }

    fn read(query: &str) -> (Value, Vec<Problem>) {
        let mut body = Map::new();
        let problems = read_into(&mut body, &fields(), &Typed::from_query(query));
        (Value::Object(body), problems)
    }

    #[test]
    fn hours_are_read_as_people_write_them() {
        for text in ["1.5", "1,5", "1:30", "1 h 30 min", "90 min"] {
            let (body, problems) = read(&format!("hours={}", views::address::escaped(text)));
            assert_eq!((body, problems), (json!({ "hours": 1.5 }), vec![]), "{text}");
        }
    }

    #[test]
    fn every_problem_comes_at_once_with_its_field() {
        let (_, problems) = read("hours=lots&replaces.why=magic");
        let keys: Vec<&str> = problems.iter().map(|problem| problem.key.as_str()).collect();
        assert_eq!(keys, ["hours", "replaces.why"]);
        let (_, problems) = read("");
        assert_eq!(problems.len(), 1);
    }

    #[test]
    fn filling_and_reading_back_is_the_identity() {
        let body =
            json!({ "hours": 2.25, "replaces": { "why": "failed" }, "note": "ticks", "estimated": true });
        let typed = fill(&body, &fields());
        let mut back = Map::new();
        assert_eq!(read_into(&mut back, &fields(), &typed), vec![]);
        assert_eq!(Value::Object(back), body);
    }

    #[test]
    fn emptied_fields_leave_the_body() {
        let mut body = json!({ "hours": 1.0, "replaces": { "why": "failed" }, "note": "x" });
        let problems = read_into(body.as_object_mut().unwrap(), &fields(), &Typed::from_query("hours=1"));
        assert_eq!((body, problems), (json!({ "hours": 1.0 }), vec![]));
    }
}
