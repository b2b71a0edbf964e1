//! The hash chains of the lines of a file: one chain per device, checked without a store.

use super::Line;
use logbook::{DeviceId, EntryId, wire::canonical_bytes};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// A place where a device's chain does not hold.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum BrokenChain {
    /// Entries are not in the file.
    #[error("device {device}: entries {from} to {to} are missing")]
    Missing {
        /// The device.
        device: DeviceId,
        /// The first that is missing.
        from: u64,
        /// The last that is missing.
        to: u64,
    },
    /// An entry is not what was written: it, its number or one before it was changed.
    #[error("line {line}: entry {number} of device {device} ({id}) was changed after it was written")]
    Altered {
        /// The line of the file.
        line: usize,
        /// The device.
        device: DeviceId,
        /// Its number.
        number: u64,
        /// Its id.
        id: EntryId,
    },
}

/// Checks every device's chain as far as the lines go, whatever their order.
///
/// Each link is checked against the hash that the line before it carries, so that one changed entry is named by
/// itself. A file that holds only part of a logbook shows its gaps as missing.
pub fn check_chains(lines: &[Line]) -> Vec<BrokenChain> {
    let mut chains: BTreeMap<DeviceId, Vec<&Line>> = BTreeMap::new();
    for line in lines {
        chains.entry(line.chained.record.device).or_default().push(line);
    }
    chains.into_iter().flat_map(|(device, chain)| check_chain(device, chain)).collect()
}

fn check_chain(device: DeviceId, mut chain: Vec<&Line>) -> Vec<BrokenChain> {
    chain.sort_by_key(|line| line.chained.number);
    let mut broken = Vec::new();
    let mut bytes = Vec::new();
    let mut previous = (0, [0; 32]);
    for line in chain {
        let follows = line.chained.number == previous.0 + 1;
        if line.chained.number > previous.0 + 1 {
            broken.push(BrokenChain::Missing { device, from: previous.0 + 1, to: line.chained.number - 1 });
        }
        canonical_bytes(&line.chained.record, line.chained.number, &mut bytes);
        let hash: [u8; 32] = Sha256::new().chain_update(previous.1).chain_update(&bytes).finalize().into();
        if !follows && line.chained.number <= previous.0 || follows && hash != line.chained.hash {
            broken.push(BrokenChain::Altered {
                line: line.line,
                device,
                number: line.chained.number,
                id: line.chained.record.id,
            });
        }
        previous = (line.chained.number, line.chained.hash);
    }
    broken
}
