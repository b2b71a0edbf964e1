//! Symptoms looked for in plain words: any word counts, in whatever form it stands, and the best hits come first.

use machine::{MachineType, Symptom};
use std::collections::BTreeSet;

/// A word that stands in the name, or in what people say instead of it, counts so much …
const SAID: usize = 2;
/// … one that only stands in its group or in the name of a part, so much …
const AROUND: usize = 1;
/// … and all of the words side by side, so much more.
const SIDE_BY_SIDE: usize = 3;
/// Words that tell nothing by themselves.
const EMPTY: [&str; 28] = [
    "a", "an", "the", "it", "its", "is", "are", "was", "be", "and", "but", "or", "of", "on", "in", "at",
    "to", "by", "with", "my", "i", "we", "there", "that", "this", "very", "has", "have",
];
/// Forms that no ending explains, each with the word that it is a form of.
const FORMS: [(&str, &str); 14] = [
    ("broke", "break"),
    ("broken", "break"),
    ("blew", "blow"),
    ("blown", "blow"),
    ("burnt", "burn"),
    ("tore", "tear"),
    ("torn", "tear"),
    ("lost", "lose"),
    ("stuck", "stick"),
    ("shook", "shake"),
    ("shaken", "shake"),
    ("went", "go"),
    ("gone", "go"),
    ("wound", "wind"),
];
/// Endings that are taken off, the longest first.
const ENDINGS: [&str; 6] = ["ing", "ed", "es", "s", "e", "y"];
/// So much of a word stays at least.
const LEAST_STEM: usize = 3;
/// A word of so many letters also means the longer ones that begin with it.
const LEAST_BEGINNING: usize = 4;

/// Returns how well a symptom fits what was written; nought if no word of it does, or none was written.
pub(super) fn fit(kind: &MachineType, symptom: &Symptom, asked: &str) -> usize {
    let asked = stems(asked);
    let names: Vec<Vec<String>> = std::iter::once(&symptom.name)
        .chain(&symptom.also_said)
        .map(String::as_str)
        .chain([symptom.id.as_str()])
        .map(stems)
        .collect();
    let slots = symptom.shows_at.iter().filter_map(|slot| kind.part(slot.as_str()));
    let around: Vec<String> =
        slots.map(|part| part.name.as_str()).chain([symptom.noticed.name()]).flat_map(stems).collect();
    let hits: usize = asked
        .iter()
        .collect::<BTreeSet<_>>()
        .into_iter()
        .map(|word| {
            if names.iter().flatten().any(|there| means(word, there)) {
                SAID
            } else if around.iter().any(|there| means(word, there)) {
                AROUND
            } else {
                0
            }
        })
        .sum();
    let together = asked.len() > 1
        && names.iter().any(|name| {
            name.windows(asked.len())
                .any(|part| part.iter().zip(&asked).all(|(there, word)| means(word, there)))
        });
    // A lone "no" would call up everything that is gone.
    if asked.iter().all(|word| word == "no" || word == "not") {
        0
    } else {
        hits + usize::from(together) * SIDE_BY_SIDE
    }
}

fn means(asked: &str, there: &str) -> bool {
    asked == there || (asked.len() >= LEAST_BEGINNING && there.starts_with(asked))
}

/// The words of a text without their endings, but for those that tell nothing.
fn stems(text: &str) -> Vec<String> {
    let low = text.to_lowercase();
    let words = low.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty());
    words.filter(|word| !EMPTY.contains(word)).map(stem).collect()
}

fn stem(word: &str) -> String {
    let word = FORMS.iter().find(|(form, _)| *form == word).map_or(word, |(_, of)| of);
    let cut = ENDINGS
        .iter()
        .find_map(|ending| word.strip_suffix(ending).filter(|rest| rest.chars().count() >= LEAST_STEM));
    let mut stem = cut.unwrap_or(word).to_owned();
    let mut letters = stem.chars().rev();
    let (last, before) = (letters.next(), letters.next());
    // `blurred` and `blur`, `smelly` and `smell`: a doubled last letter says no more than one.
    if last == before && stem.chars().count() > LEAST_STEM {
        stem.pop();
    }
    stem
}

#[cfg(test)]
mod tests {
    use super::stem;

    #[test]
    fn forms_of_a_word_come_to_one_stem() {
        for forms in [
            ["blur", "blurred", "blurs"],
            ["crackle", "crackling", "crackles"],
            ["jump", "jumping", "jumped"],
            ["break", "broke", "broken"],
            ["smoke", "smoking", "smoky"],
            ["smell", "smells", "smelly"],
            ["shake", "shaking", "shook"],
            ["melt", "melted", "melts"],
        ] {
            assert!(forms.iter().all(|form| stem(form) == stem(forms[0])), "{forms:?}");
        }
        assert_ne!(stem("light"), stem("loop"));
        assert_ne!(stem("bus"), stem("bud"), "short words keep their ends");
    }
}
