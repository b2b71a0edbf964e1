#![doc = include_str!("../README.md")]

mod answer;
mod beam;
mod estimate;
pub mod fields;
mod focus;
mod keystone;
mod lens;
mod light;
mod picture;
pub mod power;
pub mod read;
mod remedy;
mod screen;
mod setting;
mod sight;
mod sound;

pub use answer::{Judgement, Missing, Working};
pub use beam::{LightPath, PathOverRow};
pub use estimate::{Estimate, Quantity};
pub use fields::{FIELDS, Field, FieldError, FieldProblem, Group};
pub use focus::{FocusDepth, focus_depth};
pub use keystone::{Keystone, keystone, keystone_limit_angle};
pub use lens::{Fit, FormatRow, LensAnswer, LensRow, SolvedFor, throw_for};
pub use light::{Evenness, LightAim, LightAnswer, MeasuredLight, StrayLight, luminance_of};
pub use picture::{Format, formats};
pub use power::PowerAnswer;
pub use remedy::{Enough, Remedy};
pub use screen::{PortGlass, ScreenSurface, Shutter};
pub use setting::{LightGiven, PictureGiven, PowerGiven, SeatsGiven, Setting, SoundGiven};
pub use sight::{CountBand, GoodSeat, Row, SightAnswer, SightLine, sight_line_clearance};
pub use sound::{SoundAnswer, SoundRow, critical_distance, level_at, room_constant};
