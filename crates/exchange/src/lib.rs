#![doc = include_str!("../README.md")]

pub mod csv_out;
mod hex;
pub mod jsonl;
pub mod sheet;
