//! The fault desk: the next step, why it is the next, what was done, and what is asked of a technician.

mod explain;
mod lists;
mod next;

pub use explain::explain;
pub use lists::{Pick, learnt, list, symptoms};
pub use next::{request, sheet, step_card};
