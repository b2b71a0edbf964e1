//! What a person has fixed in the service plan.

use super::is_default;
use crate::ids::{MachineId, ShowingId, TaskId};
use jiff::civil;
use serde::{Deserialize, Serialize};

wire_structs! {
    /// A person fixed a choice of the service plan: this machine runs at a showing, or its care is done on a day.
    /// Withdrawing the entry lets the plan choose again.
    struct PlanPinned {
        /// The machine.
        machine: MachineId,
        /// The showing at which it runs; absent: the pin is about care.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        showing: Option<ShowingId>,
        /// The care task; absent: the pin is about a showing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        task: Option<TaskId>,
        /// The day on which the care is done.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        on: Option<civil::Date>,
        /// Why, or anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
}
