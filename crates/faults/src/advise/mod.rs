//! What to do next: the step that leads to a working machine, or rightly to a technician, at the least expected cost.

mod answer;
mod apart;
mod bounds;
mod machine;
mod optimum;
mod problem;
mod search;
mod setting;
mod told;
pub(crate) mod work_cost;

pub use answer::{Advice, Do, May, Outcome, Passed, Referral, Step, advise};
pub(crate) use answer::{Decision, decide};
pub use bounds::{Bounds, bounds, bounds_apart};
pub use machine::{Prepare, Preparing};
pub use optimum::{Optimum, exact_optimum, expected_cost};
pub use setting::{Clock, Costs, Limits, Setting};
pub(crate) use work_cost::stand_after;
