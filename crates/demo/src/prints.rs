//! The prints: 26 titles on 61 reels, from three lenders and the islands' own shelf. All invented.

use crate::dice::rounded;
use film::Gauge;
use logbook::fact::PrintStanding;
use units::{Frames, Metres};

/// One title.
#[derive(Debug, Clone)]
pub(crate) struct Title {
    pub(crate) id: String,
    pub(crate) name: String,
    pub(crate) minutes: f64,
    pub(crate) reels: u32,
    pub(crate) lender: &'static str,
    pub(crate) note: &'static str,
    pub(crate) standing: Option<PrintStanding>,
    pub(crate) made_year: Option<i16>,
}

impl Title {
    /// Length of each reel: equal shares, the last one a little shorter.
    pub(crate) fn reel_lengths(&self) -> Vec<Metres> {
        // 24 frames a second; frames and metres as the film standards have them.
        let frames = Frames::new((self.minutes * 60.0 * 24.0) as i64);
        let metres = Gauge::Mm16.length_of(frames).metres() / f64::from(self.reels);
        let last = self.reels;
        let length = |reel| rounded(if reel == last { metres - 4.0 } else { metres }, 1);
        (1..=last).map(length).map(Metres::new).collect()
    }
}

/// Minutes of the three-reel features, then of the two-reel ones, then of the shorts on one reel.
const LONG: [f64; 16] =
    [93.0, 101.0, 88.0, 112.0, 97.0, 104.0, 93.0, 118.0, 90.0, 99.0, 107.0, 95.0, 102.0, 111.0, 89.0, 98.0];
const MIDDLE: [f64; 3] = [74.0, 79.0, 71.0];
const SHORTS: [f64; 6] = [11.1, 16.0, 11.1, 20.5, 9.8, 13.4];

/// Where the titles of each sort stand in the list.
pub(crate) const FEATURES: std::ops::Range<usize> = 0..19;
pub(crate) const SHORT_ONES: std::ops::Range<usize> = 19..25;
/// Two shorts of a reel each.
pub(crate) const TWO_SHORTS: [usize; 2] = [22, 20];
/// The islands' own unique reel.
pub(crate) const HERRING: usize = 25;

pub(crate) fn titles() -> Vec<Title> {
    let long = LONG.iter().map(|minutes| (*minutes, 3));
    let middle = MIDDLE.iter().map(|minutes| (*minutes, 2));
    let features = long.chain(middle).zip(1..).map(|((minutes, reels), n)| Title {
        id: format!("feature-{n:02}"),
        name: format!("Feature {n:02}"),
        minutes,
        reels,
        lender: ["Lender A", "Lender B", "Lender C"][n % 3],
        note: feature_note(n),
        standing: Some(PrintStanding::Lent),
        made_year: None,
    });
    let shorts = SHORTS.iter().zip(1..).map(|(minutes, n)| Title {
        id: format!("short-{n:02}"),
        name: format!("Short {n:02}"),
        minutes: *minutes,
        reels: 1,
        lender: "Lender B",
        note: if n == 3 { "Came tails out, label says heads: rewind before showing." } else { "" },
        standing: Some(PrintStanding::Replaceable),
        made_year: None,
    });
    features.chain(shorts).chain([herring()]).collect()
}

fn feature_note(n: usize) -> &'static str {
    match n {
        4 => "Vinegar smell, acid level 1.5: keep apart, gate clean after it.",
        7 => "Two halls want it the same night when the ferry is late: ask the lender first.",
        9 => "Nicked perforation every 16th frame in reel 2: whose sprocket?",
        12 => "Nicked perforation every 18th frame in reel 1: whose sprocket?",
        15 => "Reel 3 came tails out, label says heads.",
        17 => "Fine scratch 3.1 mm from the edge, emulsion side, first seen this spring.",
        _ => "",
    }
}

fn herring() -> Title {
    Title {
        id: "herring-reel".to_owned(),
        name: "Haldoray herring season".to_owned(),
        minutes: 10.6,
        reels: 1,
        lender: "Haldoray Islands archive shelf",
        note: "The only copy. Acetate, 380 ft, shrinkage 0.92 %, acid level 1.0, perforation grade 2. One showing on Whimbrel or a scan, no touring.",
        standing: Some(PrintStanding::Unique),
        made_year: Some(1961),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shelf_holds_26_titles_on_61_reels() {
        let titles = titles();
        assert_eq!(titles.len(), 26);
        assert_eq!(titles.iter().map(|title| title.reels).sum::<u32>(), 61);
        assert_eq!(titles[HERRING].id, "herring-reel");
        assert!(titles[SHORT_ONES].iter().all(|title| title.reels == 1));
    }

    #[test]
    fn a_short_of_11_minutes_fills_a_400_foot_reel() {
        // Printed running-time tables for 16 mm sound film: 400 ft run 11 min 7 s at 24 frames a second; 400 ft = 121.9 m.
        // The last reel of a title is 4 m shorter than its share.
        let length: Metres = titles()[SHORT_ONES][0].reel_lengths().into_iter().sum();
        assert!((length.metres() - (121.9 - 4.0)).abs() < 0.4, "{length}");
    }
}
