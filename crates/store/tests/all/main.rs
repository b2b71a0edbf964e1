//! Tests of the store from outside.
#![allow(clippy::unwrap_used)]

mod backups;
mod common;
mod conformance;
mod guards;
mod properties;
mod tampering;
mod trouble;
