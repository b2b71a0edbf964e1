//! Ids of imported entries: made of what a row says, so that the same row always gives the same entries.
//!
//! An id is a UUID of version 8 (RFC 9562 section 5.8: layout of one's own) over the first 16 bytes of a SHA-256.
//! Hashed are a fixed word, the row's facts in their written form with their moments, and how many rows above said
//! exactly the same. The row's place, its columns' order, unread columns and how a number or date was typed do not
//! count; who imports and when do not either.

use super::facts::Happened;
use logbook::{EntryId, Precision, When, wire::encode_fact};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use uuid::{Builder, Uuid};

/// What stands before everything that is hashed; it changes if ever the way changes in which ids are made.
const WORD: &[u8] = b"boothwright imported row 1\n";

/// The version of UUID that only imported entries have.
pub(super) const IMPORTED: usize = 8;

/// A row's hash.
pub(super) type RowKey = [u8; 32];

/// Counts rows that say exactly the same.
#[derive(Default)]
pub(super) struct Occurrences {
    seen: HashMap<RowKey, u32>,
}

impl Occurrences {
    /// Returns the key of the next row with these facts: the second of two equal rows gets another one.
    pub fn key(&mut self, facts: &[Happened]) -> RowKey {
        let plain = hash_facts(facts);
        let count = self.seen.entry(plain).or_default();
        *count += 1;
        Sha256::new()
            .chain_update(WORD)
            .chain_update(plain)
            .chain_update(count.to_be_bytes())
            .finalize()
            .into()
    }
}

fn hash_facts(facts: &[Happened]) -> RowKey {
    let mut sha = Sha256::new();
    for (happened, fact) in facts {
        let (kind, version, body) = encode_fact(fact);
        for text in [moment(*happened).as_str(), &kind, &version.to_string(), &body] {
            sha.update((text.len() as u64).to_be_bytes());
            sha.update(text.as_bytes());
        }
    }
    sha.finalize().into()
}

/// Writes a moment as exactly as it is known, on the clock of the place.
fn moment(when: When) -> String {
    match when.precision {
        Precision::Second | Precision::Minute => when.local().to_string(),
        Precision::Day => when.date().to_string(),
        Precision::Month => when.date().strftime("%Y-%m").to_string(),
    }
}

/// Returns the name by which a row's own showings and parts are told from all others.
pub(super) fn tag(key: &RowKey) -> String {
    crate::hex::hex(key).chars().take(12).collect()
}

/// Returns the id of a row's fact, by its place among the row's facts.
pub(super) fn entry_id(key: &RowKey, place: usize) -> EntryId {
    id_of(&[key.as_slice(), &(place as u64).to_be_bytes()])
}

/// Returns the id of an entry that adds something which rows name.
pub(super) fn addition_id(what: &str, id: &str) -> EntryId {
    id_of(&[what.as_bytes(), b"\n", id.as_bytes()])
}

fn id_of(parts: &[&[u8]]) -> EntryId {
    let mut sha = Sha256::new();
    sha.update(WORD);
    for part in parts {
        sha.update(part);
    }
    let hash: [u8; 32] = sha.finalize().into();
    let mut bytes = [0; 16];
    bytes.iter_mut().zip(hash).for_each(|(to, from)| *to = from);
    EntryId(Builder::from_custom_bytes(bytes).into_uuid())
}

/// Tells whether an id is of an imported entry.
pub(super) fn is_imported(id: EntryId) -> bool {
    let EntryId(uuid): EntryId = id;
    Uuid::get_version_num(&uuid) == IMPORTED
}
