#![doc = include_str!("../README.md")]

pub mod civil;
mod frames;
mod probability;
mod quantity;
pub mod read;
pub mod show;

pub use frames::Frames;
pub use probability::{NotAProbability, Probability};
pub use quantity::{
    CANDELAS_PER_SQUARE_METRE_PER_FOOT_LAMBERT, Celsius, Decibels, FramesPerSecond, Grams, Hertz, Hours,
    Kilograms, Luminance, Lux, METRES_PER_FOOT, MILLIMETRES_PER_INCH, Metres, MetresPerSecond, Newtons,
    Percent, Seconds, Volts,
};
pub use read::ReadError;
