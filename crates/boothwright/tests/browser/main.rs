//! The pages in a real browser, as people use them.

#![allow(clippy::unwrap_used)]

mod booth;
mod correct;
mod diary;
mod fault;
mod first_run;
mod hall;
mod lives;
mod pages;
mod plan;
mod prints;
mod show;
mod sound;
mod sound_chain;
mod tonight;
mod walk;
