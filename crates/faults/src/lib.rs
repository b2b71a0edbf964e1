#![doc = include_str!("../README.md")]

pub mod advise;
pub mod bif;
pub mod case;
pub mod exact;
pub mod learn;
pub mod model;
pub mod network;
pub mod prove;
