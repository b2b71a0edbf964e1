#![doc = include_str!("../README.md")]

mod action;
mod calibration;
mod chance;
mod choose;
mod figure;
mod hazard;
mod outlook;
mod rate;
mod record;
mod shared;

pub use action::{Action, Change, Effect, Lean, Preparation, Supply};
pub use calibration::{Calibration, Step};
pub use chance::{Chance, NotAChance};
pub use choose::{Case, CaseError, Choice, Worth, best_within, worth_of_each};
pub use figure::{CONFIDENCE, Figure, ratio};
pub use hazard::{Hazard, Outcome};
pub use outlook::{Band, Contribution, Outlook, outlook};
pub use rate::{FIRMNESS, Rate};
pub use record::TrackRecord;
pub use shared::found_gone;
