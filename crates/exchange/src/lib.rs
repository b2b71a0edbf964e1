#![doc = include_str!("../README.md")]

pub mod csv_out;
pub mod jsonl;
pub mod sheet;
