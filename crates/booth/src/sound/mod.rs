//! The sound bench's questions: what a recording says of a machine, which part made a line and what care follows,
//! which readings go into the logbook, and where a quantity is heading.

mod bench;
mod parts;
mod readings;
mod response;
mod robust;
mod trend;

pub use bench::Bench;
pub use parts::{Follow, NamedLine, NamedSuspect, PERFORATIONS, candidates, named_lines, running};
pub use readings::{FLUTTER_LINE, Measured, Noted, Weighed, facts, weighed};
pub use response::{
    Characteristic, RecordedAt, ToneWeighed, characteristic, characteristic_of, tones_weighed,
};
pub use robust::{Line, theil_sen};
pub use trend::{
    Change, Crossing, Fit, Forecast, Heading, ReadAt, Step, Trend, TrendPoint, quantities_read, trend, trends,
};
pub(crate) use trend::{Passing, View};
