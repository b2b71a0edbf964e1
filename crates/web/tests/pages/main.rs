//! The pages, asked in process: what they show, what they take, what they refuse.

#![allow(clippy::unwrap_used)]

mod calculators;
mod desk;
mod evening;
mod faults;
mod forms;
mod halls;
mod safety;
mod shows;
mod sound;
mod sound_html;
mod walking;
mod writing;
