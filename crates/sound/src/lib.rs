#![doc = include_str!("../README.md")]

mod chain;
mod detectors;
mod dsp;
mod error;
mod flutter;
pub mod make;
mod options;
mod recording;
mod tone;
pub mod trace;
mod weighting;

pub use chain::{
    BuzzReport, BuzzRequest, FocusReport, FocusRequest, HumLine, LevelPoint, NoiseReport, NoiseRequest,
    ResponseReport, ResponseRequest, ResponseTone, ToneInNoise, TrackSide, a_weighting, azimuth_loss,
    measure_buzz_track, measure_focus, measure_noise, measure_response, slit_loss,
};
pub use error::SoundError;
pub use flutter::{
    CurvePoint, Family, FlutterLine, FlutterReport, LeftOut, LeftOutWhy, NotMeasured, RunUp, SpectrumPoint,
    measure_flutter,
};
pub use options::FlutterRequest;
pub use recording::{ReadThrough, Source, read_through};
pub use weighting::{WEIGHTING, WeightingRow};
