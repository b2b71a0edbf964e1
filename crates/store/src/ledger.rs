//! Writing entries into chains, the same way for every store.

use crate::{
    DeviceHead, Hash, Merged, Receipt, StoreError,
    chain::{self, BEFORE_THE_FIRST},
};
use logbook::{
    DeviceId, Entry, EntryId,
    wire::{self, ChainedRecord, Record},
};
use std::collections::HashMap;

/// A device as a store knows it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known {
    /// Whether its chain is continued here.
    pub(crate) written_here: bool,
    /// Where its chain ends.
    pub(crate) head: DeviceHead,
}

/// What a store does for [`append`] and [`merge`], inside one transaction that is dropped if they fail.
pub(crate) trait Ledger {
    /// Returns an entry with its arrival number.
    fn find(&mut self, id: EntryId) -> Result<Option<(u64, ChainedRecord<'static>)>, StoreError>;
    fn hash_at(&mut self, device: DeviceId, number: u64) -> Result<Option<Hash>, StoreError>;
    fn known(&mut self, device: DeviceId) -> Result<Option<Known>, StoreError>;
    /// Takes note of a new device.
    fn admit(&mut self, device: DeviceId, written_here: bool) -> Result<Known, StoreError>;
    fn write(&mut self, record: &ChainedRecord<'_>, canonical: &[u8]) -> Result<u64, StoreError>;
    fn note_head(&mut self, device: &Known) -> Result<(), StoreError>;
}

/// Writes new entries at the ends of their devices' chains.
pub(crate) fn append(
    ledger: &mut dyn Ledger,
    own: DeviceId,
    entries: &[Entry],
) -> Result<Vec<Receipt>, StoreError> {
    let mut pen = Pen::new(ledger);
    let receipts =
        entries.iter().map(|entry| pen.append(own, entry)).collect::<Result<Vec<_>, StoreError>>()?;
    pen.note_heads()?;
    Ok(receipts)
}

/// Takes in records of other logbooks.
pub(crate) fn merge(ledger: &mut dyn Ledger, records: &[ChainedRecord<'_>]) -> Result<Merged, StoreError> {
    let mut pen = Pen::new(ledger);
    let mut merged = Merged::default();
    for record in in_chain_order(records) {
        if pen.merge(record)? {
            merged.added += 1;
        } else {
            merged.already_there += 1;
        }
    }
    pen.note_heads()?;
    Ok(merged)
}

/// Returns the records so that each device's numbers rise; as they came if that is so already.
fn in_chain_order<'r, 'a>(records: &'r [ChainedRecord<'a>]) -> Vec<&'r ChainedRecord<'a>> {
    let mut last = HashMap::new();
    let rise = records.iter().all(|record| {
        last.insert(record.record.device, record.number).is_none_or(|last| last < record.number)
    });
    let mut ordered: Vec<_> = records.iter().collect();
    if !rise {
        ordered.sort_by_key(|record| (record.record.device, record.number));
    }
    ordered
}

struct Pen<'l> {
    ledger: &'l mut dyn Ledger,
    devices: HashMap<DeviceId, Known>,
    scratch: Vec<u8>,
}

impl<'l> Pen<'l> {
    fn new(ledger: &'l mut dyn Ledger) -> Self {
        Self { ledger, devices: HashMap::new(), scratch: Vec::new() }
    }

    fn append(&mut self, own: DeviceId, entry: &Entry) -> Result<Receipt, StoreError> {
        let record = wire::encode(entry);
        if let Some((seq, there)) = self.ledger.find(entry.id)? {
            return acknowledge(seq, &there, entry, &record);
        }
        let mut known = self.device(entry.device, true)?;
        if !known.written_here {
            return Err(StoreError::ForeignDevice { device: entry.device, own });
        }
        let number = known.head.number + 1;
        let hash = chain::link_record(&known.head.hash, &record, number, &mut self.scratch);
        let chained = ChainedRecord { record, number, hash };
        let seq = self.write(&mut known, &chained)?;
        Ok(Receipt { seq, id: entry.id, device: entry.device, number, hash, already_there: false })
    }

    /// Takes in one record; returns whether it was new.
    fn merge(&mut self, record: &ChainedRecord<'_>) -> Result<bool, StoreError> {
        let mut known = self.device(record.record.device, false)?;
        let before = match record.number.checked_sub(1) {
            None => return Err(broken(record, "numbers begin at 1")),
            Some(0) => BEFORE_THE_FIRST,
            Some(before) if before == known.head.number => known.head.hash,
            Some(before) => self
                .ledger
                .hash_at(record.record.device, before)?
                .ok_or_else(|| broken(record, &format!("number {before} of the device is missing")))?,
        };
        let hash = chain::link_record(&before, &record.record, record.number, &mut self.scratch);
        if hash != record.hash {
            return Err(broken(record, "its hash does not follow from what it says and the entry before it"));
        }
        if record.number <= known.head.number {
            return match self.ledger.hash_at(record.record.device, record.number)? {
                Some(there) if there == record.hash => Ok(false),
                _ => Err(broken(record, "another entry stands under this number here")),
            };
        }
        if self.ledger.find(record.record.id)?.is_some() {
            return Err(broken(record, "its id stands at another place here"));
        }
        self.write(&mut known, record)?;
        Ok(true)
    }

    fn device(&mut self, device: DeviceId, written_here: bool) -> Result<Known, StoreError> {
        if let Some(known) = self.devices.get(&device) {
            return Ok(*known);
        }
        let known = match self.ledger.known(device)? {
            Some(known) => known,
            None => self.ledger.admit(device, written_here)?,
        };
        self.devices.insert(device, known);
        Ok(known)
    }

    /// Writes a record whose canonical bytes were made last.
    fn write(&mut self, known: &mut Known, record: &ChainedRecord<'_>) -> Result<u64, StoreError> {
        let seq = self.ledger.write(record, &self.scratch)?;
        known.head.number = record.number;
        known.head.hash = record.hash;
        self.devices.insert(known.head.device, *known);
        Ok(seq)
    }

    fn note_heads(&mut self) -> Result<(), StoreError> {
        self.devices.values().try_for_each(|known| self.ledger.note_head(known))
    }
}

/// Acknowledges an entry that is there already, if it says the same.
///
/// What is said is when it happened, who says it and the fact. The moment of writing and the device may differ: a
/// phone that sends its draft again is answered by whichever device takes it, later than the first time.
fn acknowledge(
    seq: u64,
    there: &ChainedRecord<'_>,
    entry: &Entry,
    record: &Record<'_>,
) -> Result<Receipt, StoreError> {
    let old = &there.record;
    let same_text = (&old.kind, old.version, &old.body) == (&record.kind, record.version, &record.body);
    let same_fact = same_text || wire::decode_fact(&old.kind, old.version, &old.body) == entry.fact;
    let receipt = Receipt {
        seq,
        id: old.id,
        device: old.device,
        number: there.number,
        hash: there.hash,
        already_there: true,
    };
    if same_fact && old.happened == record.happened && old.by == record.by {
        Ok(receipt)
    } else {
        Err(StoreError::SaysOtherwise { id: old.id, device: old.device, number: there.number })
    }
}

fn broken(record: &ChainedRecord<'_>, what: &str) -> StoreError {
    StoreError::ChainBroken {
        device: record.record.device,
        number: record.number,
        id: record.record.id,
        what: what.to_owned(),
    }
}
