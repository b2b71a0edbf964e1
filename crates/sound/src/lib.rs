#![doc = include_str!("../README.md")]

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

pub use error::SoundError;
pub use flutter::{
    CurvePoint, Family, FlutterLine, FlutterReport, LeftOut, LeftOutWhy, NotMeasured, RunUp, SpectrumPoint,
    measure_flutter,
};
pub use options::FlutterRequest;
pub use recording::Source;
pub use weighting::{WEIGHTING, WeightingRow};
