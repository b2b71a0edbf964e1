//! The lives of parts: what the logbook has seen of them, and what is believed of those that are fitted.
//!
//! A change that was planned is never a failure; a part that moves on is watched again where it goes; a part that was
//! old when the logbook met it has proved that it lived so long.

mod belief;
mod chances;
mod kept;
mod kin;
mod stretch;

pub use belief::{Beliefs, Lived, MOST_KIN, is_reckoned};
pub use chances::Belief;
pub use kept::KeptBeliefs;
pub(crate) use kin::Whereabouts;
pub use stretch::{Entered, Stretch, age_on, stretches};
