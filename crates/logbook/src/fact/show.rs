//! Programmes of reels, and the marks of a running show.

use super::is_default;
use crate::ids::{MachineId, PrintId, ProgrammeId, ShowingId};
use serde::{Deserialize, Serialize};
use units::{Frames, FramesPerSecond, Seconds};

wire_structs! {
    /// One reel of a programme, counted in frames.
    struct ProgrammeReel {
        /// Its number in the print, from 1.
        number: u32,
        /// Leader before the first picture, in frames.
        #[serde(default, skip_serializing_if = "is_default")]
        head_frames: Frames,
        /// Picture, in frames.
        picture_frames: Frames,
        /// Run-out after the last picture, in frames.
        #[serde(default, skip_serializing_if = "is_default")]
        tail_frames: Frames,
    }
    /// One item of a programme: a short, a feature.
    struct ProgrammeItem {
        /// What it is called.
        title: String,
        /// The print, if it is one of the booth's.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        print: Option<PrintId>,
        /// Its gauge (`16mm`).
        gauge: String,
        /// The speed at which it is shown, in frames a second.
        speed_fps: FramesPerSecond,
        /// How it carries its sound (`optical`, `silent`).
        sound: String,
        /// The cue marks that it carries (`smpte-301`, `smpte-55`); empty: none.
        #[serde(default, skip_serializing_if = "is_default")]
        cues: String,
        /// It is lent or unique: its leaders are never cut and its reels never joined to others.
        #[serde(default, skip_serializing_if = "is_default")]
        kept_apart: bool,
        /// Its reels, in the order in which they are shown.
        reels: Vec<ProgrammeReel>,
    }
    /// A programme of reels is kept; the latest one under an id holds.
    struct ProgrammeKept {
        /// The programme.
        programme: ProgrammeId,
        /// What it is called.
        title: String,
        /// What is shown, in order.
        items: Vec<ProgrammeItem>,
        /// The showings that it is for.
        #[serde(default, skip_serializing_if = "is_default")]
        showings: Vec<ShowingId>,
        /// The machines that show it: two change over, one is laced again; empty: those of the showing.
        #[serde(default, skip_serializing_if = "is_default")]
        machines: Vec<MachineId>,
        /// How long an incoming machine needs to reach speed, in seconds; absent: the usual.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        run_up_seconds: Option<Seconds>,
        /// How long lacing the next reel on the same machine takes, in seconds; absent: the usual.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        relace_seconds: Option<Seconds>,
        /// A pause between two items, in seconds; absent: none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        interval_seconds: Option<Seconds>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// Something happened in a running show. `happened` is the moment, to the millisecond.
    struct ShowMarked {
        /// The showing.
        showing: ShowingId,
        /// What happened.
        mark: ShowMark,
        /// The reel that it speaks of, by its place in the programme from 1: the one that begins, ends or stands.
        reel: u32,
        /// The machine on which that reel is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        machine: Option<MachineId>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
}

wire_words! {
    /// What happened in a running show.
    enum ShowMark {
        /// The reel's first picture is on the screen.
        Started,
        /// Another machine took over: this reel's first picture is on the screen.
        ChangedOver,
        /// The reel ran out and the screen is dark.
        ReelEnded,
        /// The show was halted on purpose.
        Paused,
        /// The screen went dark or the sound silent unasked.
        Stopped,
        /// Picture and sound are on again.
        Resumed,
        /// The programme is over.
        Ended,
    }
}
