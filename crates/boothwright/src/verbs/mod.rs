//! One file for each verb.

pub mod completions;
pub mod demo;
pub mod due;
pub mod fault;
pub mod film;
pub mod hindsight;
pub mod lives;
pub mod logbook;
pub mod machines;
pub mod manual;
pub mod plan;
pub mod prints;
pub mod programme;
pub mod progress;
pub mod prove;
pub mod recordings;
pub mod serve;
pub mod show;
pub mod sound;
pub mod stores;
pub mod tonight;
pub mod types;
pub mod venue;
pub mod walk;
