//! What holds whatever is written.

use crate::common::{device, id, note};
use logbook::{Entry, EntryId};
use proptest::prelude::*;
use std::collections::BTreeMap;
use store::{EntryStore, Filter, MemoryStore, SqliteStore, StoreError};

/// Batches of entries in which ids come again, sometimes with other words.
fn batches() -> impl Strategy<Value = Vec<Vec<(u64, bool)>>> {
    let entry = (0..12_u64, prop::bool::weighted(0.1));
    prop::collection::vec(prop::collection::vec(entry, 0..6), 1..8)
}

fn entry((number, says_otherwise): (u64, bool)) -> Entry {
    if says_otherwise {
        Entry { id: id(number), ..note(number + 1_000, device(1)) }
    } else {
        note(number, device(1))
    }
}

/// Appends batches and keeps a plain model beside: the first saying of an id stands, a batch is all or nothing.
fn append_beside_a_model(store: &dyn EntryStore, batches: &[Vec<(u64, bool)>]) -> Result<(), TestCaseError> {
    let mut model: BTreeMap<EntryId, Entry> = BTreeMap::new();
    let mut order = Vec::new();
    for batch in batches {
        let entries: Vec<_> = batch.iter().copied().map(entry).collect();
        let mut drafted = model.clone();
        let mut drafted_order = order.clone();
        let contradicts = entries.iter().any(|entry| {
            let first = drafted.entry(entry.id).or_insert_with(|| {
                drafted_order.push(entry.id);
                entry.clone()
            });
            first != entry
        });
        match store.append(&entries) {
            Ok(receipts) => {
                prop_assert!(!contradicts);
                (model, order) = (drafted, drafted_order);
                for (entry, receipt) in entries.iter().zip(&receipts) {
                    let place = order.iter().position(|id| *id == entry.id).unwrap() as u64 + 1;
                    prop_assert_eq!((receipt.id, receipt.number), (entry.id, place));
                }
            }
            Err(StoreError::SaysOtherwise { .. }) => prop_assert!(contradicts),
            Err(error) => return Err(TestCaseError::fail(error.to_string())),
        }
    }
    let kept: Vec<_> = order.iter().map(|id| model[id].clone()).collect();
    prop_assert_eq!(store.entries().unwrap(), kept);
    prop_assert_eq!(store.head().unwrap().count, order.len() as u64);
    let verification = store.verify().unwrap();
    prop_assert!(verification.is_sound(), "{:?}", verification.findings);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn appending_is_all_or_nothing_and_says_a_thing_once(batches in batches()) {
        let folder = tempfile::tempdir().unwrap();
        append_beside_a_model(&SqliteStore::open_as(folder.path(), device(1)).unwrap(), &batches)?;
        append_beside_a_model(&MemoryStore::new(device(1)), &batches)?;
    }

    #[test]
    fn both_stores_give_the_same_numbers_and_hashes(numbers in prop::collection::vec(0..30_u64, 0..20)) {
        let folder = tempfile::tempdir().unwrap();
        let sqlite = SqliteStore::open_as(folder.path(), device(1)).unwrap();
        let memory = MemoryStore::new(device(1));
        let entries: Vec<_> = numbers.iter().map(|number| note(*number, device(1))).collect();
        prop_assert_eq!(sqlite.append(&entries).unwrap(), memory.append(&entries).unwrap());
        prop_assert_eq!(sqlite.verify().unwrap(), memory.verify().unwrap());
        let filter = Filter { words: "1".to_owned(), ..Filter::default() };
        prop_assert_eq!(sqlite.page(None, 5, &filter).unwrap(), memory.page(None, 5, &filter).unwrap());
    }
}
