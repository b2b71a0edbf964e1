//! One line of the logbook.

use crate::{
    fact::Fact,
    ids::{DeviceId, EntryId, PersonId},
    when::When,
};

/// One immutable fact with who, when and where it was written.
///
/// An entry is never changed; a correction or withdrawal is another entry that names it.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry {
    /// Unique for ever (UUIDv7), made by the face that took the draft.
    pub id: EntryId,
    /// The device on which it was written.
    pub device: DeviceId,
    /// When it happened, as the person says.
    pub happened: When,
    /// When it was written down.
    pub recorded: When,
    /// Who wrote it.
    pub by: PersonId,
    /// What it says.
    pub fact: Fact,
}

/// An entry together with its place in its device's chain, as the store gives it back.
#[derive(Clone, PartialEq, Debug)]
pub struct Chained {
    /// The entry.
    pub entry: Entry,
    /// The device's running number of it, from 1.
    pub number: u64,
    /// SHA-256 over the device's previous hash and this entry's canonical bytes.
    pub hash: [u8; 32],
}
