//! What people fixed in the service plan.

use crate::{
    When,
    ids::{EntryId, MachineId, PersonId, ShowingId, TaskId},
};
use jiff::civil;
use serde::{Deserialize, Serialize};

/// A choice that the plan must keep.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct PlanPin {
    /// The machine.
    pub machine: MachineId,
    /// What is fixed about it.
    pub what: Pinned,
    /// Why, or anything else.
    pub note: String,
    /// When it was fixed.
    pub at: When,
    /// The entry; withdrawing it lets the plan choose again.
    pub entry: EntryId,
    /// Who fixed it.
    pub by: PersonId,
}

/// What is fixed about a machine.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub enum Pinned {
    /// It runs at this showing.
    At(ShowingId),
    /// This care is done on this day.
    Care {
        /// The task.
        task: TaskId,
        /// The day.
        on: civil::Date,
    },
}
