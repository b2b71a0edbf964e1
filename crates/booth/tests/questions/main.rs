//! The questions, case by case: a small logbook, a question, the answer a projectionist would expect.

#![allow(clippy::unwrap_used)]

mod deferred;
mod desk;
mod due;
mod evening;
mod events;
mod film_path;
mod forecast;
mod gate;
mod hindsight;
mod kit;
mod lives;
mod machines;
mod outlook;
mod outlook_minutes;
mod outlook_readings;
mod outlook_spares;
mod parts;
mod prints;
mod prints_passed;
mod properties;
mod reading;
mod service_plan;
mod shipped;
mod show;
mod show_follows;
mod sound;
mod stores;
mod tonight;
mod walk;
