//! A programme of reels: what is on them, how long they run, which machine shows which, and how one hands over to the next.

mod course;
mod spooling;
mod take_up;
mod takeover;
mod tension;

pub use course::{Course, Customs, Doubt, Joint, PauseWhy, Stand, Stretch, course};
pub use spooling::{BLACK_BETWEEN, HEAD_LEADER, RUN_OUT, SELF_THREADING_LEADER, Spooled, split, spool_up};
pub use take_up::{TakeUp, take_up};
pub use takeover::{Cue, LeaderPlace, Takeover, takeover};
pub use tension::{
    HOLD_BACK_MOST, LONGEST_REEL, SMALLEST_HUB, TAKE_UP_LEAST, TAKE_UP_MOST, TENSION_FORMULA, TENSION_SOURCE,
    Tension, TensionVerdict, tension,
};

use crate::{FilmError, Gauge, SoundKind, leader::CueMarks, time_of};
use units::{Frames, FramesPerSecond, Metres, Seconds};

/// One reel of an item, counted in frames so that nothing is lost in sums.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reel {
    /// Its number in the print, from 1.
    pub number: u32,
    /// Leader before the first picture.
    pub head: Frames,
    /// Picture.
    pub picture: Frames,
    /// Run-out after the last picture.
    pub tail: Frames,
}

impl Reel {
    /// All that is wound on the spool.
    pub fn total(&self) -> Frames {
        self.head + self.picture + self.tail
    }
}

/// One item of a programme: a short, a feature, a loop of announcements.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What it is called.
    pub title: String,
    /// Its gauge.
    pub gauge: Gauge,
    /// The speed at which it is shown.
    pub speed: FramesPerSecond,
    /// How it carries its sound.
    pub sound: SoundKind,
    /// Its reels, in the order in which they are shown.
    pub reels: Vec<Reel>,
    /// The cue marks it carries; none: they are not there or must not be made.
    pub cues: Option<CueMarks>,
    /// It is lent or unique: its leaders are never cut and its reels never joined to others.
    pub kept_apart: bool,
}

impl Item {
    /// How long its picture runs. Fails unless the speed is above zero.
    pub fn runs(&self) -> Result<Seconds, FilmError> {
        time_of(self.reels.iter().map(|reel| reel.picture).sum(), self.speed)
    }

    /// The length of all that belongs to it, leaders included.
    pub fn length(&self) -> Metres {
        self.gauge.length_of(self.reels.iter().map(Reel::total).sum())
    }
}

/// A programme that cannot be shown as it stands.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProgrammeError {
    /// No machine takes an item's gauge.
    #[error("no machine of this showing takes {gauge}, which \"{title}\" needs; add one")]
    NoMachine {
        /// The item.
        title: String,
        /// Its gauge.
        gauge: Gauge,
    },
    /// A reel without a picture, or with a negative count.
    #[error(
        "reel {number} of \"{title}\" has {frames} of picture or leader; give counts of zero or more, and at least one of picture"
    )]
    EmptyReel {
        /// The item.
        title: String,
        /// The reel's number.
        number: u32,
        /// The count that cannot be.
        frames: Frames,
    },
    /// An item without reels.
    #[error("\"{title}\" has no reel; give at least one with its length")]
    NoReels {
        /// The item.
        title: String,
    },
    /// A spool that holds nothing once leaders are on it.
    #[error("a spool of {brim} to the brim holds no picture beside {leaders} of leader; take a larger one")]
    SpoolTooSmall {
        /// What the spool holds to its edge.
        brim: Metres,
        /// What the leaders take.
        leaders: Metres,
    },
    /// A sum that film does not allow.
    #[error(transparent)]
    Film(#[from] FilmError),
}

/// Refuses items that have nothing to show.
fn checked(item: &Item) -> Result<(), ProgrammeError> {
    if item.reels.is_empty() {
        return Err(ProgrammeError::NoReels { title: item.title.clone() });
    }
    for reel in &item.reels {
        let least = reel.head.min(reel.tail).min(reel.picture - Frames::new(1));
        if least < Frames::ZERO {
            let frames = if reel.picture < Frames::new(1) { reel.picture } else { least };
            return Err(ProgrammeError::EmptyReel { title: item.title.clone(), number: reel.number, frames });
        }
    }
    crate::error::checked_speed(item.speed)?;
    Ok(())
}
