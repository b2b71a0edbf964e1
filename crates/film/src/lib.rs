#![doc = include_str!("../README.md")]

mod aperture;
mod base;
pub mod calc;
mod error;
mod footage;
mod gauge;
pub mod leader;
pub mod print;
pub mod programme;
pub mod shrinkage;
mod sound;
mod speed;
mod spool;
pub mod winding;

pub use aperture::{Aperture, ApertureUse};
pub use base::{Base, Thickness};
pub use error::FilmError;
pub use footage::{FeetAndFrames, frames_in_time, time_of};
pub use gauge::{FramesPerMetre, Gauge, Pitch};
pub use sound::{PictureToSound, SoundKind};
pub use speed::{SpeedChange, StandardSpeed, speed_change};
pub use spool::{SAFE_FILL, Spool};

/// A name as compared: lower case, without spaces, hyphens, underscores or dots.
fn squeezed(name: &str) -> String {
    name.chars()
        .filter(|c| !matches!(c, ' ' | '\u{a0}' | '-' | '_' | '.'))
        .flat_map(char::to_lowercase)
        .collect()
}
