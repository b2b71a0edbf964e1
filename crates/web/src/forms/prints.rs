//! What is written of prints at the rewind bench.

use super::{Ask, Form};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use booth::prints::{gauge, told};
use logbook::fact::Found;
use serde_json::{Map, Value, json};

/// The field with one finding on each line.
pub const FOUND: &str = "found_lines";
/// The fields of the shrinkage gauge, with where each is measured: head, middle, tail.
pub const GAUGED: [(&str, &str); 3] =
    [("shrunk_head", "At the head"), ("shrunk_middle", "In the middle"), ("shrunk_tail", "At the tail")];

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "print-inspected",
        title: "A print inspected",
        hint: "What was found along a reel, on the bench",
        needs_machine: false,
        // It is begun on the print's own page, which knows its reels.
        offered: false,
        fields: inspected,
        complete: with_findings,
    },
    Form {
        kind: "print-handled",
        title: "A print on its way",
        hint: "It came, was rewound, cleaned or mended, or went out",
        needs_machine: false,
        offered: false,
        fields: handled,
        complete: with_reels,
    },
];

fn choices(pairs: &[(&str, &str)]) -> Vec<Choice> {
    pairs.iter().map(|(value, words)| Choice::new(*value, *words)).collect()
}

fn wound() -> Kind {
    Kind::Pick(choices(&[("heads-out", "Heads out"), ("tails-out", "Tails out")]))
}

fn prints(ask: &Ask<'_>) -> Kind {
    Kind::Pick(ask.booth.prints.iter().map(|(id, print)| Choice::new(id.as_str(), &print.title)).collect())
}

fn inspected(ask: &Ask<'_>) -> Vec<Field> {
    let edges = choices(&[
        ("safety", "It says SAFETY"),
        ("nitrate", "It says NITRATE: stop here"),
        ("nothing-to-read", "Nothing to read"),
    ]);
    let bases =
        choices(&[("acetate", "Acetate"), ("polyester", "Polyester"), ("nitrate", "Nitrate: stop here")]);
    let fades = choices(&[("none", "None"), ("slight", "Slight"), ("strong", "Strong: one colour left")]);
    vec![
        Field::new("print", "Which print", prints(ask)).required(),
        Field::new("reel", "Which reel", Kind::Whole).required(),
        Field::new("edge", "What its edge says", Kind::Pick(edges)),
        Field::new("base", "What it is made of", Kind::Pick(bases))
            .hint("A strip of polyester does not tear; acetate does. Hold the roll against light: polyester lets it through."),
        Field::new("length_m", "Length as measured", Kind::Number("m")),
        Field::new("acid_level", "Acid paper after a day in the can, 0 to 3", Kind::Number("of 3")),
        Field::new("fade", "Colour gone", Kind::Pick(fades)),
        Field::new("wound", "Wound", wound()),
        Field::new("spool", "On which spool or core", Kind::Line),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}

fn handled(ask: &Ask<'_>) -> Vec<Field> {
    let deeds = choices(&[
        ("arrived", "It arrived"),
        ("rewound", "It was rewound"),
        ("cleaned", "It was cleaned"),
        ("mended", "It was mended"),
        ("sent", "It was sent"),
    ]);
    vec![
        Field::new("print", "Which print", prints(ask)).required(),
        Field::new("deed", "What was done", Kind::Pick(deeds)).required(),
        Field::new("wound", "Wound", wound()),
        Field::new("whom", "From whom, or to whom", Kind::Line),
        Field::new("condition", "In what state", Kind::Paragraph),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}

/// Reads the findings, the shrinkage gauge and the ticks, where the form has them; a correction that does not ask for
/// them keeps what was written.
fn with_findings(body: &mut Map<String, Value>, ask: &Ask<'_>, typed: &Typed) -> Vec<Problem> {
    let mut problems = Vec::new();
    for key in ["vinegar", "leader"] {
        if let Some(said) = typed.get(key) {
            body.insert(key.to_owned(), json!(said == "yes"));
        }
    }
    let print = body.get("print").and_then(Value::as_str).and_then(|id| ask.booth.prints.get(id));
    let Some((print, gauge)) = print.and_then(|print| Some((print, gauge(print)?))) else {
        if typed.get(FOUND).is_some() {
            problems.push(Problem::new("print", "The gauge of this print is not known; put it right first."));
        }
        return problems;
    };
    if let Some(lines) = typed.raw(FOUND) {
        let found: Result<Vec<Found>, _> = lines
            .lines()
            .filter(|line| !line.trim().is_empty())
            .map(|line| told::read_finding(line, gauge))
            .collect();
        match found {
            Ok(found) if found.is_empty() => drop(body.remove("found")),
            Ok(found) => drop(body.insert("found".to_owned(), json!(found))),
            Err(error) => problems.push(Problem::new(FOUND, capital(&error.to_string()))),
        }
    }
    let reel = body.get("reel").and_then(Value::as_u64);
    let length =
        print.reels.iter().find(|known| Some(u64::from(known.reel)) == reel).map(|reel| reel.length_m);
    let frames = length.and_then(|length| gauge.frames_in(length).ok()).unwrap_or_default().count();
    if GAUGED.iter().any(|(key, _)| typed.raw(key).is_some()) {
        let mut taken = Vec::new();
        for ((key, _), at) in GAUGED.into_iter().zip([0, frames / 2, frames]) {
            let Some(text) = typed.get(key) else { continue };
            match told::read_shrinkage(text, gauge) {
                Ok((percent, how)) => {
                    taken.push(json!({ "at_frame": at, "shrinkage_percent": percent, "how": how }));
                }
                Err(error) => problems.push(Problem::new(key, capital(&error.to_string()))),
            }
        }
        if taken.is_empty() {
            body.remove("shrinkage")
        } else {
            body.insert("shrinkage".to_owned(), json!(taken))
        };
    }
    problems
}

/// Reads which reels; left out it is all of them.
fn with_reels(body: &mut Map<String, Value>, _: &Ask<'_>, typed: &Typed) -> Vec<Problem> {
    let Some(text) = typed.raw("which_reels") else { return Vec::new() };
    let numbers: Result<Vec<u32>, _> =
        text.split([',', ' ']).filter(|piece| !piece.is_empty()).map(str::parse).collect();
    match numbers {
        Ok(numbers) if numbers.is_empty() => drop(body.remove("reels")),
        Ok(numbers) => drop(body.insert("reels".to_owned(), json!(numbers))),
        Err(_) => {
            let words = format!("\"{text}\" are no numbers of reels; write for example 1, 2.");
            return vec![Problem::new("which_reels", words)];
        }
    }
    Vec::new()
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", letters.as_str())
}
