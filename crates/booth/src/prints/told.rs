//! One finding as a line of text, as it is typed at the rewind bench: where, what, and how bad.
//!
//! `12,4 m splice tape weak`, `48 ft + 12 to 50 ft perforations 4: sound side`, `0 frames burn`.

use film::{FeetAndFrames, Gauge};
use logbook::fact::{FilmSide, Flaw, Found, ScratchDepth, SpliceMade};
use units::{Frames, Metres, Percent};

/// Why a line is no finding.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NotAFinding {
    /// No word says what was found.
    #[error(
        "“{line}” does not say what was found; write the place and one of splice, perforations, scratch, dirt, oil, warp, tear, burn: for example 12.4 m splice tape weak"
    )]
    What {
        /// The line.
        line: String,
    },
    /// The place cannot be read.
    #[error("“{place}” is no place on a reel; write for example 12.4 m, 40 ft, 40 ft + 12 or 1640 frames")]
    Place {
        /// What stands where the place should.
        place: String,
    },
    /// The end lies before the start.
    #[error("“{line}” ends before it begins; write the place nearer to the head first")]
    Backwards {
        /// The line.
        line: String,
    },
    /// A word that does not belong to what was found.
    #[error("“{word}” says nothing about {flaw}; write {right}")]
    Word {
        /// The word.
        word: String,
        /// What was found.
        flaw: &'static str,
        /// What would be right.
        right: &'static str,
    },
    /// A shrinkage that cannot be read.
    #[error(
        "“{given}” is no shrinkage; write percent as the gauge shows it, 0.7 %, or the length of 100 perforations, 756.7 mm"
    )]
    Shrinkage {
        /// What was written.
        given: String,
    },
    /// What was found needs to be told closer.
    #[error("{flaw} at {place} needs more: write {right}")]
    More {
        /// What was found.
        flaw: &'static str,
        /// The place as written.
        place: String,
        /// What would be right.
        right: &'static str,
    },
}

const FLAWS: [(Flaw, &str, &str); 8] = [
    (Flaw::Splice, "splice", "tape, cement or weld, and holds or weak: splice tape weak"),
    (Flaw::Perforations, "perforations", "the grade, 0 perfect to 4 torn in a row: perforations 4"),
    (
        Flaw::Scratch,
        "scratch",
        "base or emulsion, light or heavy, and how far from the edge if measured: scratch emulsion light 3.1 mm",
    ),
    (Flaw::Dirt, "dirt", "nothing more"),
    (Flaw::Oil, "oil", "nothing more"),
    (Flaw::Warp, "warp", "nothing more"),
    (Flaw::Tear, "tear", "nothing more"),
    (Flaw::Burn, "burn", "nothing more"),
];

/// The word for what was found.
pub fn flaw_word(flaw: Flaw) -> &'static str {
    FLAWS.iter().find(|(known, ..)| *known == flaw).map_or("", |(_, word, _)| word)
}

/// Reads one line.
///
/// # Errors
/// What the line does not say, or says amiss.
pub fn read_finding(line: &str, gauge: Gauge) -> Result<Found, NotAFinding> {
    let (said, note) = line.split_once(':').map_or((line, ""), |(said, note)| (said, note.trim()));
    let words: Vec<&str> = said.split_whitespace().collect();
    let flaw_of = |word: &str| FLAWS.iter().find(|(_, known, _)| word.eq_ignore_ascii_case(known));
    let at = words.iter().position(|word| flaw_of(word).is_some());
    let Some((at, &(flaw, name, right))) = at.and_then(|at| Some((at, flaw_of(words.get(at)?)?))) else {
        return Err(NotAFinding::What { line: line.trim().to_owned() });
    };
    let (place, told) = (words.get(..at).unwrap_or_default(), words.get(at + 1..).unwrap_or_default());
    let (from_frame, to_frame) = read_places(line, &place.join(" "), gauge)?;
    let mut found = Found {
        from_frame,
        to_frame,
        flaw,
        splice: None,
        holds: None,
        grade: None,
        side: None,
        depth: None,
        from_edge_m: None,
        note: note.to_owned(),
    };
    let mut told = told.iter();
    while let Some(word) = told.next() {
        let number = word.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
        let joined = if number && flaw == Flaw::Scratch {
            format!("{word} {}", told.next().unwrap_or(&"mm"))
        } else {
            (*word).to_owned()
        };
        if !take_word(&mut found, &joined.to_ascii_lowercase()) {
            return Err(NotAFinding::Word { word: joined, flaw: name, right });
        }
    }
    if logbook::rules::can_be_found(&found) {
        Ok(found)
    } else {
        Err(NotAFinding::More { flaw: name, place: place.join(" "), right })
    }
}

/// Takes one word about what was found; false when it says nothing about it.
fn take_word(found: &mut Found, word: &str) -> bool {
    match (found.flaw, word) {
        (Flaw::Splice, "tape") => found.splice = Some(SpliceMade::Tape),
        (Flaw::Splice, "cement") => found.splice = Some(SpliceMade::Cement),
        (Flaw::Splice, "weld" | "welded") => found.splice = Some(SpliceMade::Weld),
        (Flaw::Splice, "holds" | "good") => found.holds = Some(true),
        (Flaw::Splice, "weak" | "lifts") => found.holds = Some(false),
        (Flaw::Perforations, grade) => match grade.parse::<u8>() {
            Ok(grade) if grade <= 4 => found.grade = Some(grade),
            _ => return false,
        },
        (Flaw::Scratch, "base") => found.side = Some(FilmSide::Base),
        (Flaw::Scratch, "emulsion") => found.side = Some(FilmSide::Emulsion),
        (Flaw::Scratch, "light") => found.depth = Some(ScratchDepth::Light),
        (Flaw::Scratch, "heavy") => found.depth = Some(ScratchDepth::Heavy),
        (Flaw::Scratch, distance) => match distance.parse::<Metres>() {
            Ok(distance) => found.from_edge_m = Some(distance),
            Err(_) => return false,
        },
        _ => return false,
    }
    true
}

fn read_places(line: &str, places: &str, gauge: Gauge) -> Result<(Frames, Option<Frames>), NotAFinding> {
    match places.split_once(" to ") {
        Some((from, to)) => {
            let (from, to) = (read_place(from, gauge)?, read_place(to, gauge)?);
            if to < from {
                return Err(NotAFinding::Backwards { line: line.trim().to_owned() });
            }
            Ok((from, Some(to)))
        }
        None => read_place(places, gauge).map(|from| (from, None)),
    }
}

/// Reads a place on a reel: metres, feet, feet and frames over, or frames.
///
/// # Errors
/// That it is none.
pub fn read_place(place: &str, gauge: Gauge) -> Result<Frames, NotAFinding> {
    let refused = || NotAFinding::Place { place: place.trim().to_owned() };
    let frames = match place.split_once('+') {
        Some((feet, frames)) => {
            let feet = feet.trim().trim_end_matches("ft").trim().parse::<i64>().map_err(|_| refused())?;
            let frames = frames.trim().parse::<Frames>().map_err(|_| refused())?;
            if !(0..=100_000).contains(&feet) {
                return Err(refused());
            }
            gauge.frames_of(FeetAndFrames { feet, frames })
        }
        None if place.contains("fr") => place.trim().parse::<Frames>().map_err(|_| refused())?,
        None => {
            let length = place.trim().parse::<Metres>().map_err(|_| refused())?;
            gauge.frames_in(length).map_err(|_| refused())?
        }
    };
    if logbook::rules::is_frame(frames) { Ok(frames) } else { Err(refused()) }
}

/// Writes a place so that it is read back exactly: whole feet, and the frames over.
pub fn place_line(frame: Frames, gauge: Gauge) -> String {
    let place = gauge.feet_and_frames(frame);
    format!("{} ft + {}", place.feet, place.frames.count())
}

/// Writes a finding as the line that is read back as the same.
pub fn finding_line(found: &Found, gauge: Gauge) -> String {
    let mut line = place_line(found.from_frame, gauge);
    if let Some(to) = found.to_frame {
        line.push_str(&format!(" to {}", place_line(to, gauge)));
    }
    line.push_str(&format!(" {}", flaw_word(found.flaw)));
    for word in details(found) {
        line.push_str(&format!(" {word}"));
    }
    if !found.note.is_empty() {
        line.push_str(&format!(": {}", found.note.replace(['\n', '\r'], " ")));
    }
    line
}

/// What is told of a finding beside its place, in the words of its line.
pub fn details(found: &Found) -> Vec<String> {
    let splice = found.splice.map(|made| match made {
        SpliceMade::Tape => "tape",
        SpliceMade::Cement => "cement",
        SpliceMade::Weld => "weld",
    });
    let holds = found.holds.map(|holds| if holds { "holds" } else { "weak" });
    let side = found.side.map(|side| match side {
        FilmSide::Base => "base",
        FilmSide::Emulsion => "emulsion",
    });
    let depth = found.depth.map(|depth| match depth {
        ScratchDepth::Light => "light",
        ScratchDepth::Heavy => "heavy",
    });
    let mut words: Vec<String> =
        [splice, holds, side, depth].into_iter().flatten().map(str::to_owned).collect();
    words.extend(found.grade.map(|grade| grade.to_string()));
    words.extend(found.from_edge_m.map(|edge| format!("{:.1} mm", edge.as_millimetres())));
    words
}

/// Perforations over which a length is measured without a shrinkage gauge (common practice, no source).
const MEASURED_OVER: u32 = 100;

/// Reads a shrinkage: percent, or the length of 100 perforations, from which it is computed. Returns how it was measured
/// in words.
///
/// # Errors
/// That it is neither, or not one that film has.
pub fn read_shrinkage(given: &str, gauge: Gauge) -> Result<(Percent, String), NotAFinding> {
    let refused = || NotAFinding::Shrinkage { given: given.trim().to_owned() };
    let bare = given.trim().chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-'));
    let as_percent = if bare { format!("{} %", given.trim()) } else { given.trim().to_owned() };
    let (percent, how) = if let Ok(percent) = as_percent.parse::<Percent>() {
        (percent, String::new())
    } else {
        let length = given.trim().parse::<Metres>().map_err(|_| refused())?;
        let shrunk = film::shrinkage::shrinkage(gauge, MEASURED_OVER, length).map_err(|_| refused())?;
        (shrunk, format!("{MEASURED_OVER} perforations measured {:.1} mm", length.as_millimetres()))
    };
    let taken = logbook::fact::ShrinkageTaken { at_frame: Frames::ZERO, shrinkage_percent: percent, how };
    if logbook::rules::can_be_gauged(&taken) { Ok((percent, taken.how)) } else { Err(refused()) }
}
