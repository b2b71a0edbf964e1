#![doc = include_str!("../README.md")]

pub mod age;
pub mod answer;
pub mod charts;
pub mod coming;
pub mod day;
pub mod desk;
pub mod diary;
pub mod due;
pub mod film_path;
pub mod gate;
pub mod hall;
mod held;
pub mod hindsight;
pub mod history;
pub mod join;
pub mod known;
pub mod lived;
pub mod outlook;
pub mod parts_lives;
pub mod present;
pub mod prints;
pub mod proving;
pub mod ready;
pub mod register;
pub mod service_plan;
pub mod sheet;
pub mod show;
pub mod sound;
pub mod stores;
pub mod tonight;
pub mod verdict;
pub mod walk;
mod words;

pub use age::{PartAge, age_of};
pub use answer::{Answer, Caveat, CaveatKind, Ground};
pub use charts::{DueMark, WeekHours, due_timeline, hours_by_week};
pub use day::{Day, Now};
pub use diary::{DiaryDay, diary};
pub use due::{
    DueItem, DueState, LastDone, Session, Since, by_urgency, due, due_for, interval_in_words, is_offered,
    together,
};
pub use film_path::{FilmPath, FittedPart, SlotState, SlotView, film_path, open_faults};
pub use gate::accept;
pub use hindsight::{Hindsight, hindsight};
pub use history::{Happening, HistoryLine, history, queries};
pub use known::{NotKnown, machine_called};
pub use lived::KeptBeliefs;
pub use outlook::{Outlook, outlook, outlooks_tonight};
pub use parts_lives::{PartLives, parts_lives};
pub use present::Present;
pub use ready::{Attention, attentions};
pub use register::Register;
pub use service_plan::{ServicePlan, Wanted, service_plan};
pub use sheet::{MachineRow, MachineSheet, machine_sheet, machines};
pub use tonight::{Tonight, TonightMachine, TonightShowing, due_tonight, tonight};
pub use verdict::{JudgedReading, Verdict, readings_of, verdict};
pub use walk::{Walk, WalkKind, WalkStep, walk};
