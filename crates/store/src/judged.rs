//! Writing what was made of the logbook as it stands, and of nothing older.

use crate::{EntryStore, Head, StoreError};
use logbook::Entry;

/// How often entries are made anew because somebody else wrote meanwhile. Each time, others got something down; so many
/// times in a row mean that something writes without end.
const MOST_TRIES: usize = 100;

/// Writes the entries that are made of the logbook as it stands, all or none, and returns them.
///
/// Whether an entry may be written (the gate) is judged by what the logbook adds up to. Between that judgement and the
/// writing another thread or another program may write, too; then what is made anew here, of the logbook as it stands by
/// then, so that of two who add the same machine at one moment the second is told so.
///
/// `stands` says how far the logbook goes and what it adds up to; the first must be asked **before** the second, so that
/// what arrives in between is found out. `make` may be called several times.
pub fn write_as_it_stands<B, E: From<StoreError>>(
    store: &dyn EntryStore,
    mut stands: impl FnMut() -> Result<(Head, B), E>,
    mut make: impl FnMut(&B) -> Result<Vec<Entry>, E>,
) -> Result<Vec<Entry>, E> {
    for _ in 0..MOST_TRIES {
        let (head, standing) = stands()?;
        let entries = make(&standing)?;
        if store.append_at(head, &entries)?.is_some() {
            return Ok(entries);
        }
    }
    Err(StoreError::NeverStill { tries: MOST_TRIES }.into())
}
