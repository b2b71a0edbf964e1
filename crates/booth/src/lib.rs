#![doc = include_str!("../README.md")]

pub mod age;
pub mod answer;
pub mod coming;
pub mod day;
pub mod due;
pub mod join;
pub mod known;
pub mod tonight;
pub mod walk;
mod words;

pub use answer::{Answer, Caveat, CaveatKind, Ground};
pub use day::{Day, Now};
pub use age::{PartAge, age_of};
pub use due::{DueItem, DueState, LastDone, Session, Since, by_urgency, due, due_for, is_offered, together};
pub use known::NotKnown;
pub use tonight::{Tonight, TonightMachine, TonightShowing, tonight};
pub use walk::{Walk, WalkKind, WalkStep, walk};
