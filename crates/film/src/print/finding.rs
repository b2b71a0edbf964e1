//! What is found along a reel, and where.

use units::{Frames, Metres};

/// How a splice is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SpliceKind {
    /// With tape.
    Tape,
    /// With cement; it does not hold polyester.
    Cement,
    /// Welded by heat or ultrasound.
    Weld,
}

/// The state of perforations: 0 perfect to 4 (common practice, no source; archives word it differently).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PerforationGrade {
    /// 0: as perforated.
    Perfect,
    /// 1: slight wear.
    Worn,
    /// 2: cracked, or drawn out by less than a third.
    Cracked,
    /// 3: some torn, fewer than three in a row.
    Torn,
    /// 4: three or more torn in a row, or both edges.
    TornInARow,
}

/// A side of the film.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// The base: a scratch there prints dark and can often be treated.
    Base,
    /// The emulsion: a scratch there shows white or coloured and is lost picture.
    Emulsion,
}

/// How deep a scratch is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ScratchDepth {
    /// Seen only by slanting light.
    Light,
    /// Seen on the screen.
    Heavy,
}

/// What was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    /// A splice.
    Splice {
        /// How it is made.
        kind: SpliceKind,
        /// It stays flat and whole when flexed.
        holds: bool,
    },
    /// Perforations in less than perfect state.
    Perforations(PerforationGrade),
    /// A scratch.
    Scratch {
        /// The side it is on.
        side: Side,
        /// How deep.
        depth: ScratchDepth,
        /// How far from the edge that bears the sound track or, on silent film, from the perforated edge.
        from_edge: Option<Metres>,
    },
    /// Oil or stains.
    Oil,
    /// The film does not lie flat.
    Warp,
    /// A tear into the picture.
    Tear,
    /// A burnt frame.
    Burn,
}

/// One thing found on a reel, from here to there, counted in frames from the head.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finding {
    /// The first frame.
    pub from: Frames,
    /// The last frame; the same as `from` for a single place.
    pub to: Frames,
    /// What it is.
    pub what: What,
}

/// Puts findings into rows for a strip drawing: in each row none overlaps another, and each takes the first row with room.
///
/// Taking them by their first frame, this needs the fewest rows that there can be (interval partitioning).
pub fn rows_of_findings(findings: &[Finding]) -> Vec<Vec<Finding>> {
    let mut sorted = findings.to_vec();
    sorted.sort_by_key(|finding| (finding.from, finding.to));
    let mut rows: Vec<Vec<Finding>> = Vec::new();
    for finding in sorted {
        let free = rows.iter_mut().find(|row| row.last().is_none_or(|last| last.to < finding.from));
        match free {
            Some(row) => row.push(finding),
            None => rows.push(vec![finding]),
        }
    }
    rows
}
