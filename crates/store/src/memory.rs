//! A logbook that lives as long as the program: for tests of faces, and for trying something out.

use crate::{
    DeviceHead, EntryStore, Filter, Finding, Hash, Head, Merged, Page, Receipt, StoreError, Stored,
    Verification,
    chain::BEFORE_THE_FIRST,
    ledger::{self, Known, Ledger},
    search::Sieve,
    verify::{self, Suspect, Walk},
};
use logbook::{
    Chained, DeviceId, Entry, EntryId,
    wire::{self, ChainedRecord},
};
use std::{
    collections::HashMap,
    ops::ControlFlow,
    sync::{PoisonError, RwLock, RwLockReadGuard},
};

/// Keeps entries in memory.
#[derive(Debug)]
pub struct MemoryStore {
    device: DeviceId,
    shelf: RwLock<Shelf>,
}

/// Everything that is kept; arrival numbers are places in `records`, from 1.
#[derive(Debug, Default)]
struct Shelf {
    records: Vec<ChainedRecord<'static>>,
    by_id: HashMap<EntryId, usize>,
    by_number: HashMap<(DeviceId, u64), usize>,
    devices: Vec<Known>,
}

impl MemoryStore {
    /// Begins an empty logbook that writes as this device.
    pub fn new(device: DeviceId) -> Self {
        Self { device, shelf: RwLock::default() }
    }

    fn shelf(&self) -> RwLockReadGuard<'_, Shelf> {
        self.shelf.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// Does something to the shelf, or leaves it as it was.
    fn change<T>(&self, deed: impl FnOnce(&mut Shelf) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let mut shelf = self.shelf.write().unwrap_or_else(PoisonError::into_inner);
        let (n_records, devices) = (shelf.records.len(), shelf.devices.clone());
        let done = deed(&mut shelf);
        if done.is_err() {
            shelf.devices = devices;
            shelf.take_back(n_records);
        }
        done
    }
}

impl EntryStore for MemoryStore {
    fn device(&self) -> DeviceId {
        self.device
    }

    fn append(&self, entries: &[Entry]) -> Result<Vec<Receipt>, StoreError> {
        self.change(|shelf| ledger::append(shelf, self.device, entries))
    }

    fn append_at(&self, head: Head, entries: &[Entry]) -> Result<Option<Vec<Receipt>>, StoreError> {
        self.change(|shelf| {
            if shelf.head() != head {
                return Ok(None);
            }
            ledger::append(shelf, self.device, entries).map(Some)
        })
    }

    fn append_records(&self, records: &[ChainedRecord<'_>]) -> Result<Merged, StoreError> {
        self.change(|shelf| ledger::merge(shelf, records))
    }

    fn entries_since(&self, seq: u64) -> Result<Vec<Entry>, StoreError> {
        Ok(self
            .shelf()
            .records
            .iter()
            .skip(seq as usize)
            .map(|record| wire::decode(&record.record))
            .collect())
    }

    fn each_record(
        &self,
        visit: &mut dyn FnMut(&ChainedRecord<'_>) -> ControlFlow<()>,
    ) -> Result<(), StoreError> {
        let _ = self.shelf().records.iter().try_for_each(visit);
        Ok(())
    }

    fn get(&self, id: EntryId) -> Result<Option<Stored>, StoreError> {
        let shelf = self.shelf();
        Ok(shelf.by_id.get(&id).and_then(|at| Some(stored(*at, shelf.records.get(*at)?))))
    }

    fn page(&self, before_seq: Option<u64>, limit: usize, filter: &Filter) -> Result<Page, StoreError> {
        let shelf = self.shelf();
        let sieve = Sieve::new(filter);
        let end = before_seq.map_or(shelf.records.len(), |seq| seq.saturating_sub(1) as usize);
        let mut fitting = shelf.records.iter().enumerate().take(end).rev();
        let mut page = Page::default();
        for (at, record) in fitting.by_ref().filter(|(_, record)| sieve.fits(&record.record)) {
            if page.entries.len() == limit {
                page.older_before = page.entries.last().map(|last| last.seq);
                break;
            }
            page.entries.push(stored(at, record));
        }
        Ok(page)
    }

    fn head(&self) -> Result<Head, StoreError> {
        Ok(self.shelf().head())
    }

    fn verify(&self) -> Result<Verification, StoreError> {
        let shelf = self.shelf();
        let mut walk = Walk::default();
        let mut canonical = Vec::new();
        for record in &shelf.records {
            wire::canonical_bytes(&record.record, record.number, &mut canonical);
            walk.step(record.record.device, record.number, &canonical, &record.hash);
        }
        let heads = shelf.devices.iter().map(|known| known.head).filter(|head| head.number > 0).collect();
        let unsound = shelf.devices.iter().filter(|known| !walk.is_sound_up_to(&known.head));
        let findings = unsound.flat_map(|known| shelf.diagnose(&known.head)).collect();
        Ok(Verification { entries: walk.entries, heads, findings })
    }
}

fn stored(at: usize, record: &ChainedRecord<'_>) -> Stored {
    let entry = wire::decode(&record.record);
    Stored { seq: at as u64 + 1, chained: Chained { entry, number: record.number, hash: record.hash } }
}

impl Shelf {
    fn head(&self) -> Head {
        let count = self.records.len() as u64;
        Head { seq: count, count }
    }

    fn known_device(&self, device: DeviceId) -> Option<&Known> {
        self.devices.iter().find(|known| known.head.device == device)
    }

    /// Takes the records after the first so many off again.
    fn take_back(&mut self, n_records: usize) {
        for record in self.records.drain(n_records..) {
            self.by_id.remove(&record.record.id);
            self.by_number.remove(&(record.record.device, record.number));
        }
    }

    fn diagnose(&self, head: &DeviceHead) -> Vec<Finding> {
        let of_device =
            self.records.iter().enumerate().filter(|(_, record)| record.record.device == head.device);
        let suspects = of_device.map(|(at, record)| {
            let mut canonical = Vec::new();
            wire::canonical_bytes(&record.record, record.number, &mut canonical);
            let ChainedRecord { record, number, hash } = record;
            Suspect {
                seq: at.cast_signed() as i64 + 1,
                number: *number,
                id: record.id,
                canonical,
                hash: *hash,
            }
        });
        verify::diagnose(head, suspects.collect())
    }
}

impl Ledger for Shelf {
    fn find(&mut self, id: EntryId) -> Result<Option<(u64, ChainedRecord<'static>)>, StoreError> {
        let at = self.by_id.get(&id).copied();
        Ok(at.and_then(|at| Some((at as u64 + 1, self.records.get(at)?.clone()))))
    }

    fn hash_at(&mut self, device: DeviceId, number: u64) -> Result<Option<Hash>, StoreError> {
        let at = self.by_number.get(&(device, number));
        Ok(at.and_then(|at| Some(self.records.get(*at)?.hash)))
    }

    fn known(&mut self, device: DeviceId) -> Result<Option<Known>, StoreError> {
        Ok(self.known_device(device).copied())
    }

    fn admit(&mut self, device: DeviceId, written_here: bool) -> Result<Known, StoreError> {
        let head = DeviceHead { device, number: 0, hash: BEFORE_THE_FIRST };
        let known = Known { written_here, head };
        self.devices.push(known);
        Ok(known)
    }

    fn write(&mut self, record: &ChainedRecord<'_>, _canonical: &[u8]) -> Result<u64, StoreError> {
        let at = self.records.len();
        self.by_id.insert(record.record.id, at);
        self.by_number.insert((record.record.device, record.number), at);
        self.records.push(owned(record));
        Ok(at as u64 + 1)
    }

    fn note_head(&mut self, device: &Known) -> Result<(), StoreError> {
        if let Some(known) = self.devices.iter_mut().find(|known| known.head.device == device.head.device) {
            *known = *device;
        }
        Ok(())
    }
}

/// Returns a record that owns its texts.
pub(crate) fn owned(chained: &ChainedRecord<'_>) -> ChainedRecord<'static> {
    let record = &chained.record;
    ChainedRecord {
        record: wire::Record {
            by: record.by.clone().into_owned().into(),
            kind: record.kind.clone().into_owned().into(),
            body: record.body.clone().into_owned().into(),
            ..*record
        },
        number: chained.number,
        hash: chained.hash,
    }
}
