//! Characters that nobody sees: two names that differ only in them look alike, and some turn the text beside them round.
//!
//! One list for the gate, which refuses them in new names, and for pages, which keep a title with them to itself.

use std::ops::RangeInclusive;

/// Characters that turn the direction of text, and nothing else.
/// Source: Unicode Character Database, `PropList.txt`, property `Bidi_Control`.
const TURNING: [RangeInclusive<char>; 4] =
    ['\u{61c}'..='\u{61c}', '\u{200e}'..='\u{200f}', '\u{202a}'..='\u{202e}', '\u{2066}'..='\u{2069}'];

/// Characters that are not shown where they have no effect of their own.
/// Source: Unicode Character Database, `DerivedCoreProperties.txt`, property `Default_Ignorable_Code_Point`.
const NOT_SHOWN: [RangeInclusive<char>; 17] = [
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

/// Characters that break a line though they are no control characters: general categories `Zl` and `Zp` of the same
/// database.
const BREAKING: RangeInclusive<char> = '\u{2028}'..='\u{2029}';

/// What the ones that come with copied text are called, after the names that Unicode gives them.
const CALLED: [(char, &str); 16] = [
    ('\u{ad}', "soft hyphen"),
    ('\u{61c}', "Arabic letter mark"),
    ('\u{200b}', "zero width space"),
    ('\u{200c}', "zero width non-joiner"),
    ('\u{200d}', "zero width joiner"),
    ('\u{200e}', "left-to-right mark"),
    ('\u{200f}', "right-to-left mark"),
    ('\u{202a}', "left-to-right embedding"),
    ('\u{202b}', "right-to-left embedding"),
    ('\u{202c}', "end of a turned direction"),
    ('\u{202d}', "left-to-right override"),
    ('\u{202e}', "right-to-left override"),
    ('\u{2028}', "line separator"),
    ('\u{2029}', "paragraph separator"),
    ('\u{2060}', "word joiner"),
    ('\u{feff}', "byte order mark"),
];

/// Returns whether a character turns the direction of the text beside it (Unicode Standard Annex #9).
pub fn turns(letter: char) -> bool {
    TURNING.iter().any(|range| range.contains(&letter))
}

/// Returns whether nobody can see that a character is there.
pub fn is_unseen(letter: char) -> bool {
    BREAKING.contains(&letter) || NOT_SHOWN.iter().any(|range| range.contains(&letter))
}

/// Says which character it is, by its number and, if it is often met, its name.
pub fn in_words(letter: char) -> String {
    let called = CALLED.iter().find(|(known, _)| *known == letter);
    let name = called.map_or_else(String::new, |(_, name)| format!(" ({name})"));
    format!("U+{:04X}{name}", u32::from(letter))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// The tables of the Unicode Character Database as a library carries them, asked of every character.
    #[test]
    fn the_lists_are_those_of_a_library_s_tables() {
        let one = |property: &str| regex::Regex::new(&format!(r"^[{property}]$")).unwrap();
        let (turning, unseen) =
            (one(r"\p{Bidi_Control}"), one(r"\p{Default_Ignorable_Code_Point}\p{Zl}\p{Zp}"));
        let mut text = String::new();
        for letter in '\0'..=char::MAX {
            text.clear();
            text.push(letter);
            assert_eq!(turns(letter), turning.is_match(&text), "{letter:?}");
            assert_eq!(is_unseen(letter), unseen.is_match(&text), "{letter:?}");
        }
    }

    #[test]
    fn what_turns_is_unseen_and_what_is_seen_is_not() {
        assert!(TURNING.iter().flat_map(Clone::clone).all(|letter| turns(letter) && is_unseen(letter)));
        assert!(CALLED.iter().all(|(letter, _)| is_unseen(*letter)));
        for seen in "a-Z_9 \u{e9}\u{301}\u{5e9}\u{4e2d}".chars() {
            assert!(!is_unseen(seen) && !turns(seen), "{seen:?}");
        }
        assert_eq!(in_words('\u{202e}'), "U+202E (right-to-left override)");
        assert_eq!(in_words('\u{1bca0}'), "U+1BCA0");
    }
}
