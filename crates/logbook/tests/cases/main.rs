//! The logbook by example: each case writes a few lines and says what they add up to.
#![allow(
    clippy::unwrap_used,
    clippy::wildcard_imports,
    reason = "tests: a case may fail loudly, and the kit is one word"
)]

mod care;
mod diary;
mod faults;
mod gate;
mod kit;
mod meter;
mod parts;
mod pins;
mod prints;
mod properties;
mod roles;
mod settling;
mod setups;
mod shows;
mod stores;
mod wire;
