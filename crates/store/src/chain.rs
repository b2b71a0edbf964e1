//! One device's entries as a chain of hashes.

use logbook::{
    DeviceId,
    wire::{self, Record},
};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// A SHA-256 (FIPS 180-4).
pub type Hash = [u8; 32];

/// What stands before a device's first entry.
pub(crate) const BEFORE_THE_FIRST: Hash = [0; 32];

/// Where a device's chain ends.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct DeviceHead {
    /// The device.
    pub device: DeviceId,
    /// The number of its last entry; 0 before the first.
    pub number: u64,
    /// The hash of its last entry; zeros before the first.
    pub hash: Hash,
}

/// Returns the hash of an entry's canonical bytes after the hash before it.
pub(crate) fn link(before: &Hash, canonical: &[u8]) -> Hash {
    let mut sha = Sha256::new();
    sha.update(before);
    sha.update(canonical);
    sha.finalize().into()
}

/// Returns the hash of a record under a number after the hash before it; `scratch` is reused between calls.
pub(crate) fn link_record(before: &Hash, record: &Record<'_>, number: u64, scratch: &mut Vec<u8>) -> Hash {
    wire::canonical_bytes(record, number, scratch);
    link(before, scratch)
}

/// Returns bytes as lower-case hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        write!(text, "{byte:02x}").expect("writing to a string cannot fail");
        text
    })
}
