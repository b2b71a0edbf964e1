//! The fault desk: from what is noticed at a machine to the next thing to do.
//!
//! [`open`] joins a fault of the logbook with what its machine's type knows of its troubles, the circumstances that
//! the logbook tells of and what was learnt from closed faults. [`OpenFault::sheet`] answers in words: what comes
//! first, the next step with its worth, the odds and what moved them, or the request for repair.

mod case;
mod circumstances;
mod error;
mod learning;
mod look_for;
mod machine_lines;
mod model;
mod names;
mod next;
mod prognosis;
mod request;
mod sheet;
mod step;
mod type_change;
mod wear;

pub use case::{OpenFault, ShowClock, open};
pub use circumstances::{Circumstance, CircumstanceKind};
pub use error::NotAtDesk;
pub use learning::{LearntFigure, LearntHere, learnt};
pub use model::{SINCE_IT_RAN_WELL, after_show, show_running, trouble_model};
pub use names::{
    AskedThing, MatchingSymptom, find_asked, find_cause, find_fault, find_remedy, find_symptom, symptoms_of,
};
pub use next::{AtOnce, CloseWords, MakeSafe, NextStep};
pub(crate) use prognosis::stop_now;
pub use prognosis::{Mending, Prognosis, Way};
pub use request::RequestLines;
pub use sheet::{Change, DoneStep, FaultSheet, Named, Odd, PrintWords, Shifted};
pub use step::{LikelyThen, MayCome, Preparation, SpareWords, StepCard, StepKind};
pub use type_change::type_change;
