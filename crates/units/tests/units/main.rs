//! Quantities against published conversions, and reading and showing against each other.
#![allow(clippy::unwrap_used)]

mod chances;
mod evenings;
mod properties;
mod quantities;
mod reading;
mod showing;
