//! The film sums, each with its answer, the formula it used, its source and what to beware of.
//!
//! Every answer is plain data. Its keys carry their units, and a length is given in both systems.

mod advance;
mod keys;
mod length;
mod reel;
mod speed;
mod time;

pub use advance::{SoundAdvance, sound_advance};
pub use length::{LengthForTime, length_for_time};
pub use reel::{ReelContents, WoundOn, calibrated_thickness, reel_contents, reel_diameter};
pub use speed::{SpeedOfFilm, speed_of_film};
pub use time::{RunningTime, running_time, running_time_of_frames};

use crate::Gauge;

/// What anybody should know who relies on footage of this gauge.
fn counting_caveats(gauge: Gauge) -> Vec<String> {
    match gauge {
        Gauge::Mm35 => vec![
            "16 frames of 35 mm are counted as a foot but measure 11.968 in along the perforations, 0.27 % less; a length measured with a rule gives 0.27 % more time than this".to_owned(),
        ],
        Gauge::Mm16 | Gauge::Super8 | Gauge::Standard8 => Vec::new(),
    }
}

/// Where the frames per foot come from.
const fn counting_source(gauge: Gauge) -> &'static str {
    match gauge {
        Gauge::Mm16 => "40 frames per foot: SMPTE 41, clause 3 (36 ft/min at 24 fps)",
        Gauge::Mm35 => "16 frames per foot: encyclopaedia article on 35 mm film, technical specifications",
        Gauge::Super8 => "72 frames per foot: printed table of 8 mm and Super 8 lengths and times",
        Gauge::Standard8 => "80 frames per foot: printed table of 8 mm and Super 8 lengths and times",
    }
}
