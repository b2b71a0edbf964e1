//! `sound`: from a recording to speed, flutter, the part behind a line, response, noise; and test signals.

mod chain;
mod flutter;
mod heard;
mod keep;
mod make;
pub mod picture;
mod setting;
mod trend;

use crate::{cli::Common, failure::Outcome};
use clap::{Args, Subcommand};

/// Measure a recording of a test film, or make a test signal
#[derive(Debug, Args)]
pub struct Sound {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Speed, wow and flutter of a steady tone, and the parts behind its lines
    Flutter(flutter::Flutter),
    /// Speed of a steady tone: error, frames a second, drift, run-up
    Speed(flutter::Speed),
    /// Response from a multi-frequency film
    Response(chain::Response),
    /// Noise, hum and distortion
    Noise(chain::Noise),
    /// Sound focus and azimuth from a high tone
    Focus(chain::Focus),
    /// Which side of a buzz track is heard, and which way to move the beam
    Buzztrack(chain::BuzzTrack),
    /// Where a quantity of a machine is heading, and before which showing to act
    Trend(trend::Trend),
    /// Make the recording of a test film with known faults: flutter, response, hum, noise, splices
    Make(Box<make::Make>),
}

impl Sound {
    /// Does it.
    pub fn run(&self, common: &Common) -> Outcome {
        match &self.what {
            What::Flutter(verb) => verb.run(common),
            What::Speed(verb) => verb.run(common),
            What::Response(verb) => verb.run(common),
            What::Noise(verb) => verb.run(common),
            What::Focus(verb) => verb.run(common),
            What::Buzztrack(verb) => verb.run(common),
            What::Trend(verb) => verb.run(common),
            What::Make(verb) => verb.run(common),
        }
    }
}
