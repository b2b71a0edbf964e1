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
    Amperes, CANDELAS_PER_SQUARE_METRE_PER_FOOT_LAMBERT, Celsius, CubicMetres, Decibels, Degrees,
    FramesPerSecond, Grams, Hertz, Hours, Kilograms, Lumens, Luminance, Lux, METRES_PER_FOOT,
    MILLIMETRES_PER_INCH, Metres, MetresPerSecond, NEWTONS_PER_OUNCE, Newtons, Ohms, Percent, Seconds,
    SquareMetres, SquareMillimetres, Times, Volts, Watts,
};
pub use read::ReadError;
