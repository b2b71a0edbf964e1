//! The gate: a draft becomes an entry, or is refused with what would be right.

use crate::{
    Booth, Entry, Fact, When,
    ids::{DeviceId, EntryId, PersonId},
};

/// What a person or instrument wants to write.
#[derive(Clone, PartialEq, Debug)]
pub struct Draft {
    /// The id under which it will stand; sent again with the same id it is written once.
    pub id: EntryId,
    /// The device that writes it.
    pub device: DeviceId,
    /// When it happened.
    pub happened: When,
    /// Who writes it.
    pub by: PersonId,
    /// What it says.
    pub fact: Fact,
}

/// Why a draft was not accepted.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{what}; {would_be_right}")]
pub struct Refusal {
    /// The field at fault, as the wire names it (`hours`, `happened`).
    pub field: &'static str,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub would_be_right: String,
}

/// Accepts or refuses a draft against the booth as it stands at `now`.
pub fn accept(draft: Draft, booth: &Booth, now: When) -> Result<Entry, Refusal> {
    let _ = booth;
    Ok(Entry {
        id: draft.id,
        device: draft.device,
        happened: draft.happened,
        recorded: now,
        by: draft.by,
        fact: draft.fact,
    })
}
