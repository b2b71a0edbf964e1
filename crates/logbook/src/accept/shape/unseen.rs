//! Characters that nobody sees: with one of them two short names look alike, or a line runs the other way.

use std::ops::RangeInclusive;

/// The code points of the property `Default_Ignorable_Code_Point` (DerivedCoreProperties.txt of the Unicode Character Database): soft hyphens,
/// spaces of no width, marks that turn the direction of writing, selectors and tags. A test holds them against the
/// tables of a library.
const IGNORABLE: [RangeInclusive<char>; 17] = [
    '\u{ad}'..='\u{ad}',
    '\u{34f}'..='\u{34f}',
    '\u{61c}'..='\u{61c}',
    '\u{115f}'..='\u{1160}',
    '\u{17b4}'..='\u{17b5}',
    '\u{180b}'..='\u{180f}',
    '\u{200b}'..='\u{200f}',
    '\u{202a}'..='\u{202e}',
    '\u{2060}'..='\u{206f}',
    '\u{3164}'..='\u{3164}',
    '\u{fe00}'..='\u{fe0f}',
    '\u{feff}'..='\u{feff}',
    '\u{ffa0}'..='\u{ffa0}',
    '\u{fff0}'..='\u{fff8}',
    '\u{1bca0}'..='\u{1bca3}',
    '\u{1d173}'..='\u{1d17a}',
    '\u{e0000}'..='\u{e0fff}',
];

/// Returns whether a character shows nothing by itself, or breaks the line.
pub(super) fn is_unseen(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{2028}' | '\u{2029}')
        || IGNORABLE.iter().any(|range| range.contains(&letter))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_ranges_are_those_of_a_library_s_tables() {
        let known = regex::Regex::new(r"^[\p{Default_Ignorable_Code_Point}\p{Cc}\p{Zl}\p{Zp}]$").unwrap();
        let mut text = String::new();
        for letter in '\0'..=char::MAX {
            text.clear();
            text.push(letter);
            assert_eq!(is_unseen(letter), known.is_match(&text), "{letter:?}");
        }
    }
}
