//! Prints and their reels, what is found along them, and where they go.

use super::is_default;
use crate::ids::PrintId;
use serde::{Deserialize, Serialize};
use units::{Frames, Metres, Percent};

wire_words! {
    /// Is there another copy, and whose is this one? It sets how early to stop.
    enum PrintStanding {
        /// A copy that can be had again.
        Replaceable,
        /// Lent by somebody who wants it back as it came.
        Lent,
        /// The only one.
        Unique,
    }
    /// The plastic that carries the picture.
    enum FilmBase {
        /// Cellulose acetate.
        Acetate,
        /// Polyester.
        Polyester,
        /// Cellulose nitrate.
        Nitrate,
    }
    /// What is printed along the film's edge about its base.
    enum EdgePrint {
        /// It says SAFETY.
        Safety,
        /// It says NITRATE.
        Nitrate,
        /// Looked for, and nothing was there to read.
        NothingToRead,
    }
    /// Which end of the film lies outside.
    enum Wound {
        /// The head lies outside: ready to be shown.
        HeadsOut,
        /// The tail lies outside: to be rewound before it is shown.
        TailsOut,
    }
    /// How far the colours have gone.
    enum Fade {
        /// As printed, or black and white.
        None,
        /// Paler, or tinted, and still right for a showing.
        Slight,
        /// Gone over into one colour.
        Strong,
    }
    /// What is found on film.
    enum Flaw {
        /// A splice, good or doubtful.
        Splice,
        /// Perforations in less than perfect state.
        Perforations,
        /// A scratch.
        Scratch,
        /// Dust, hair or stains.
        Dirt,
        /// Oil.
        Oil,
        /// The film does not lie flat.
        Warp,
        /// A tear into the picture.
        Tear,
        /// A burnt frame.
        Burn,
    }
    /// How a splice is made.
    enum SpliceMade {
        /// With tape.
        Tape,
        /// With cement.
        Cement,
        /// Welded by heat or ultrasound.
        Weld,
    }
    /// A side of the film.
    enum FilmSide {
        /// The base.
        Base,
        /// The emulsion.
        Emulsion,
    }
    /// How deep a scratch is.
    enum ScratchDepth {
        /// Seen only by slanting light.
        Light,
        /// Seen on the screen.
        Heavy,
    }
    /// What was done with a print.
    enum PrintDeed {
        /// It came.
        Arrived,
        /// It was rewound.
        Rewound,
        /// It was cleaned.
        Cleaned,
        /// Splices or perforations were mended.
        Mended,
        /// It went out.
        Sent,
    }
}

wire_structs! {
    /// One reel of a print.
    struct Reel {
        /// Its number in the print, from 1.
        reel: u32,
        /// Its length in metres.
        length_m: Metres,
    }
    /// A print enters the booth, or what is known of it changes.
    struct PrintAdded {
        /// The print.
        print: PrintId,
        /// Its title.
        title: String,
        /// Its gauge (`16mm`).
        gauge: String,
        /// Its reels.
        #[serde(default, skip_serializing_if = "is_default")]
        reels: Vec<Reel>,
        /// Whose it is.
        #[serde(default, skip_serializing_if = "is_default")]
        lender: String,
        /// Is there another copy, and is this one lent? Absent: nobody said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        standing: Option<PrintStanding>,
        /// The year in which the film was made, by its edge code or its papers.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        made_year: Option<i16>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// One thing found along a reel.
    struct Found {
        /// The first frame, counted from the head of the reel: the first frame of its leader is 0.
        from_frame: Frames,
        /// The last frame; absent: a single place.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to_frame: Option<Frames>,
        /// What it is.
        flaw: Flaw,
        /// Of a splice: how it is made.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        splice: Option<SpliceMade>,
        /// Of a splice: it stays flat and whole when flexed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        holds: Option<bool>,
        /// Of perforations: 0 perfect, 1 worn, 2 cracked, 3 some torn, 4 three or more torn in a row.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        grade: Option<u8>,
        /// Of a scratch: the side it is on.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        side: Option<FilmSide>,
        /// Of a scratch: how deep.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        depth: Option<ScratchDepth>,
        /// Of a scratch: how far from the edge with the sound track or, on silent film, from the perforated edge.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from_edge_m: Option<Metres>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// One measurement with a shrinkage gauge.
    struct ShrinkageTaken {
        /// Where, counted in frames from the head of the reel.
        at_frame: Frames,
        /// How much shorter the film is than it was perforated.
        shrinkage_percent: Percent,
        /// How it was measured (`100 perforations measured 754.4 mm`).
        #[serde(default, skip_serializing_if = "is_default")]
        how: String,
    }
    /// A reel was inspected on the bench. What nobody looked at is absent.
    struct PrintInspected {
        /// The print.
        print: PrintId,
        /// The reel, by its number in the print, from 1.
        reel: u32,
        /// Its length in metres, as measured.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        length_m: Option<Metres>,
        /// What it is made of.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        base: Option<FilmBase>,
        /// What its edge says.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        edge: Option<EdgePrint>,
        /// What the shrinkage gauge showed: head, middle and tail.
        #[serde(default, skip_serializing_if = "is_default")]
        shrinkage: Vec<ShrinkageTaken>,
        /// The colour of acid-indicator paper after a day in the closed can, 0 to 3.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        acid_level: Option<f64>,
        /// It smells of vinegar.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        vinegar: Option<bool>,
        /// How far its colours have gone.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        fade: Option<Fade>,
        /// It has a leader to thread by.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        leader: Option<bool>,
        /// Which end lies outside after the inspection.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        wound: Option<Wound>,
        /// What it is wound on (`600 m spool, bent flange`).
        #[serde(default, skip_serializing_if = "is_default")]
        spool: String,
        /// What was found, in the order in which it was met.
        #[serde(default, skip_serializing_if = "is_default")]
        found: Vec<Found>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
        /// Photos, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "is_default")]
        photos: Vec<String>,
    }
    /// Something was done with a print: it came, was rewound, cleaned or mended, or went out.
    struct PrintHandled {
        /// The print.
        print: PrintId,
        /// What was done.
        deed: PrintDeed,
        /// With which reels, by their numbers; empty: all of them.
        #[serde(default, skip_serializing_if = "is_default")]
        reels: Vec<u32>,
        /// Which end lies outside now.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        wound: Option<Wound>,
        /// From whom it came, or to whom it went.
        #[serde(default, skip_serializing_if = "is_default")]
        whom: String,
        /// In what state, in words.
        #[serde(default, skip_serializing_if = "is_default")]
        condition: String,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
}
