#![doc = include_str!("../README.md")]

mod dice;
mod log;
mod policy;
mod report;
mod run;
mod scenario;
mod tally;
mod world;

pub use policy::PolicyKind;
pub use report::{Calibration, Compared, Figure, PolicyReport, Report, Step};
pub use run::{Setting, SettingError, prove};
pub use scenario::{
    Care, Clock, Customs, Interval, Kind, Mode, Money, Nature, Part, Scenario, ScenarioError,
};
pub use tally::Tally;
