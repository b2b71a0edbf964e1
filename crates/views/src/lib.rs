#![doc = include_str!("../README.md")]

pub mod address;
pub mod common;
pub mod desk;
pub mod diary;
pub mod due;
pub mod entry;
pub mod film;
pub mod film_path;
pub mod hall;
pub mod hindsight;
pub mod html;
pub mod json;
pub mod machines;
pub mod outlook;
pub mod parts_lives;
pub mod plan;
pub mod plot;
pub mod prints;
pub mod proving;
pub mod sheet;
pub mod show;
pub mod sound;
pub mod stores;
pub mod text;
pub mod tonight;
pub mod walk;
pub mod wording;
pub mod words;

pub use address::Place;
pub use sheet::{Block, Card, Picture, Sheet, Table};
pub use words::{Mark, Span, Words};
