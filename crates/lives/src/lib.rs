#![doc = include_str!("../README.md")]

pub mod bayes;
pub mod curve;
pub mod fit;
mod gathered;
pub mod goodness;
pub mod hazards;
mod life;
mod linear;
mod record;
pub mod repairable;
pub mod replace;
mod root;
pub mod spares;
pub mod special;
pub mod table;
mod weibull_terms;

pub use life::{Life, NotALife};
pub use record::{DataError, Ending, LifeRecord, Lives, RowFault, RowFaultKind};
