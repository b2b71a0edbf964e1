//! The rest of the sound chain: response, focus, noise, hum, distortion, the buzz track.

mod buzz;
mod focus;
mod noise;
mod response;
mod survey;
mod weighting_a;

pub use buzz::{BuzzReport, BuzzRequest, TrackSide, measure_buzz_track};
pub use focus::{FocusReport, FocusRequest, LevelPoint, azimuth_loss, measure_focus, slit_loss};
pub use noise::{HumLine, NoiseReport, NoiseRequest, ToneInNoise, measure_noise};
pub use response::{ResponseReport, ResponseRequest, ResponseTone, measure_response};
pub use weighting_a::a_weighting;
