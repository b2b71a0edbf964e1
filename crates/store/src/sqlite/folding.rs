//! The booth of a logbook: folded from its entries, or from the snapshot of an earlier fold of the same entries.

use super::{SqliteStore, layout, rows, scan};
use crate::{EntryStore, StoreError, error::Doing, snapshot};
use logbook::Folded;
use std::sync::atomic::Ordering;

pub(super) fn folded(store: &SqliteStore) -> Result<Folded, StoreError> {
    let before = key(store)?;
    if let Some(folded) = snapshot::read(&store.folder, &before) {
        return Ok(folded);
    }
    let mut folded = logbook::fold(store.entries()?);
    // A server folds after every write; it leaves a snapshot once, for the next to open the logbook.
    if folded.entries >= store.snapshots_from && !store.left_snapshot.swap(true, Ordering::Relaxed) {
        // What another program wrote meanwhile may be in or not; then it is nobody's snapshot.
        if key(store)? == before {
            snapshot::write(&store.folder, &before, &mut folded);
        }
    }
    Ok(folded)
}

/// Returns what the logbook holds, as of one moment.
fn key(store: &SqliteStore) -> Result<snapshot::Key, StoreError> {
    let file = store.file();
    let reader = store.reader()?;
    let moment = reader.unchecked_transaction().doing("read", file)?;
    let heads: Vec<_> = rows::devices(&moment, file)?.into_iter().map(|known| known.head).collect();
    Ok(snapshot::Key::new(layout::NEWEST, &heads, scan::latest_seq(&moment, file)?))
}
