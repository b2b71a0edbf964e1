//! Findings, deeds and decisions in words.

use crate::{Mark, Words, wording::listed};
use booth::prints::{Gravity, gravity, told};
use film::{Gauge, print::Verdict};
use logbook::fact::{Flaw, Found, PrintDeed, Wound};
use units::Frames;

/// What was found, in few words.
pub fn found_in_short(found: &[Found]) -> String {
    if found.is_empty() {
        return "nothing found".to_owned();
    }
    let of = |flaw: Flaw| found.iter().filter(|found| found.flaw == flaw).count();
    let flaws = [
        (Flaw::Perforations, "place of perforations"),
        (Flaw::Splice, "splice"),
        (Flaw::Scratch, "scratch"),
        (Flaw::Tear, "tear"),
        (Flaw::Burn, "burn"),
        (Flaw::Warp, "warp"),
        (Flaw::Oil, "place with oil"),
        (Flaw::Dirt, "place with dirt"),
    ];
    let told = |(flaw, noun): (Flaw, &str)| {
        let count = of(flaw);
        let plural = match noun.split_once(' ') {
            Some((first, rest)) => format!("{first}s {rest}"),
            None if noun.ends_with('h') => format!("{noun}es"),
            None => format!("{noun}s"),
        };
        (count > 0).then(|| if count == 1 { format!("1 {noun}") } else { format!("{count} {plural}") })
    };
    flaws.into_iter().filter_map(told).collect::<Vec<_>>().join(", ")
}

/// What was done with a print, in words that follow its title.
pub fn deed_in_words(deed: PrintDeed, whom: &str) -> String {
    let (word, towards) = match deed {
        PrintDeed::Arrived => ("arrived", " from "),
        PrintDeed::Rewound => ("was rewound", " by "),
        PrintDeed::Cleaned => ("was cleaned", " by "),
        PrintDeed::Mended => ("was mended", " by "),
        PrintDeed::Sent => ("was sent", " to "),
    };
    if whom.is_empty() { word.to_owned() } else { format!("{word}{towards}{whom}") }
}

/// Which end lies outside.
pub const fn wound(wound: Wound) -> &'static str {
    match wound {
        Wound::HeadsOut => "heads out",
        Wound::TailsOut => "tails out: rewind before showing",
    }
}

/// A place on a reel, in metres and in feet and frames.
pub fn place(frame: Frames, gauge: Gauge) -> String {
    format!("{:.1} m ({})", gauge.length_of(frame).metres(), told::place_line(frame, gauge))
}

/// A finding in words without its place.
pub fn flaw(found: &Found) -> String {
    let mut words = vec![told::flaw_word(found.flaw).to_owned()];
    words.extend(match (found.flaw, found.grade) {
        (Flaw::Perforations, Some(grade)) => vec![grade_in_words(grade).to_owned()],
        _ => told::details(found),
    });
    words.join(" ")
}

/// A grade of perforations with its number.
pub const fn grade_in_words(grade: u8) -> &'static str {
    match grade {
        0 => "0, perfect",
        1 => "1, slightly worn",
        2 => "2, cracked",
        3 => "3, some torn",
        _ => "4, three or more torn in a row",
    }
}

/// A decision as a mark with words. Nothing is marked that may simply be shown.
pub fn decision(verdict: &Verdict) -> Words {
    match gravity(verdict) {
        Gravity::Fine => Words::new().plain("Show it"),
        Gravity::Conditions => Words::new().mark_as(Mark::Attention, "Show it on conditions"),
        Gravity::NotHere => Words::new().mark_as(Mark::NotForUse, "Not on this machine"),
        Gravity::MustNot => Words::new().mark_as(Mark::NotForUse, "Do not show it"),
        Gravity::SetApart => {
            Words::new().mark_as(Mark::NotForUse, "Do not show, wind or ship it: set it apart")
        }
    }
}

/// Reels by their numbers: `reel 2`, `reels 2 and 3`.
pub fn reels(numbers: &[u32]) -> String {
    let named: Vec<String> = numbers.iter().map(u32::to_string).collect();
    let noun = if numbers.len() == 1 { "reel" } else { "reels" };
    format!("{noun} {}", listed(&named))
}

/// Words with a capital, for the start of a line.
pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    first + letters.as_str()
}
