//! Why the desk cannot answer.

use crate::known::NotKnown;

/// Why the desk cannot answer.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum NotAtDesk {
    /// The machine or its type is not known.
    #[error(transparent)]
    NotKnown(#[from] NotKnown),
    /// The logbook has no such fault.
    #[error("there is no fault `{asked}` in this logbook; {known}")]
    Fault {
        /// The name that was asked for.
        asked: String,
        /// Which there are, in words.
        known: String,
    },
    /// The type knows nothing of that name.
    #[error("`{machine_type}` knows no {what} `{asked}`; {known}")]
    Name {
        /// The type.
        machine_type: String,
        /// What sort of thing was asked for (`symptom`, `remedy`).
        what: &'static str,
        /// The name that was asked for.
        asked: String,
        /// Which come nearest, in words.
        known: String,
    },
    /// The type knows nothing of troubles.
    #[error("the type `{machine_type}` has no table of troubles, so that nothing can be reckoned")]
    NoTroubles {
        /// The type.
        machine_type: String,
    },
    /// The table of troubles does not hang together.
    #[error("the table of troubles of `{machine_type}` does not hang together: {why}")]
    Unsound {
        /// The type.
        machine_type: String,
        /// What is wrong with it.
        why: String,
    },
}
