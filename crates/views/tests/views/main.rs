//! Answers as sheets, text, page fragments, drawings and JSON.

#![allow(clippy::unwrap_used)]

mod answers;
mod drawings;
mod sheets;
mod sound;
