#![doc = include_str!("../README.md")]

mod agree;
mod alike;
mod answer;
mod assign;
mod bench;
mod check;
mod climb;
mod cost;
mod dual;
mod events;
mod grid;
mod hand_over;
mod joint;
mod known;
mod layers;
mod lists;
mod lives;
mod model;
mod pins;
mod primal;
mod problem;
mod prove;
mod room;
mod session;
mod solve;
mod stands;
mod threads;
mod trade;
mod ways;
mod why;
mod work_path;

pub use answer::{Breakdown, Doing, Left, Overdue, Plan, Reason, Seat, Session, ShowingPlan, Unstaffed};
pub use check::{Fault, ModelError};
pub use model::{
    Cost, Journey, Life, Machine, Minutes, Model, Moment, Pin, Place, Preparation, RiskPoint, Showing, Slot,
    Work,
};
pub use solve::{Effort, cost_of, solve};
