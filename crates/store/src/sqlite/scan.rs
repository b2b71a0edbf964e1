//! Reading many entries at once: the file is cut into parts by arrival number, and each part is read and decoded by a
//! thread with a connection of its own.

use super::{
    SqliteStore,
    rows::{self, RawRow},
};
use crate::{StoreError, error::Doing};
use logbook::{
    Entry,
    wire::{self, ChainedRecord},
};
use rusqlite::{Connection, params};
use std::{
    ops::{ControlFlow, RangeInclusive},
    path::Path,
    thread,
};

/// Below this many entries a second thread costs more than it saves.
const WORTH_A_THREAD: u64 = 10_000;

/// More threads than this wait for memory, not for each other.
const MOST_THREADS: u64 = 8;

/// Arrival numbers from the first to the last, as the file counts them.
pub(super) type Part = RangeInclusive<i64>;

/// Returns the latest arrival number.
pub(super) fn latest_seq(connection: &Connection, file: &Path) -> Result<u64, StoreError> {
    let latest: Option<i64> = connection
        .prepare_cached("SELECT max(seq) FROM entry")
        .and_then(|mut statement| statement.query_row([], |row| row.get(0)))
        .doing("read", file)?;
    Ok(latest.unwrap_or(0).max(0).cast_unsigned())
}

/// Cuts the arrival numbers after `after` up to `last` into parts for the threads of this computer.
pub(super) fn parts(after: u64, last: u64) -> Vec<Part> {
    let Some(n_entries) = last.checked_sub(after).filter(|n_entries| *n_entries > 0) else { return vec![] };
    let n_threads = thread::available_parallelism().map_or(1, |n_threads| n_threads.get() as u64);
    let n_parts = n_threads.min(MOST_THREADS).min(n_entries / WORTH_A_THREAD).max(1);
    // In a damaged file an arrival number could be vast.
    let end_of = |part: u64| {
        let n_before = u128::from(n_entries) * u128::from(part) / u128::from(n_parts);
        (after + n_before as u64).cast_signed()
    };
    (0..n_parts).map(|part| end_of(part) + 1..=end_of(part + 1)).collect()
}

/// Shows the rows of one part in order of arrival, with these columns.
pub(super) fn rows_of(
    connection: &Connection,
    file: &Path,
    columns: &str,
    part: Part,
    mut each: impl FnMut(RawRow<'_>) -> Result<ControlFlow<()>, StoreError>,
) -> Result<(), StoreError> {
    let sql = format!("SELECT {columns} FROM entry WHERE seq BETWEEN ?1 AND ?2 ORDER BY seq");
    let mut statement = connection.prepare_cached(&sql).doing("read", file)?;
    let mut found = statement.query(params![part.start(), part.end()]).doing("read", file)?;
    while let Some(row) = found.next().doing("read", file)? {
        if each(RawRow::new(row))?.is_break() {
            break;
        }
    }
    Ok(())
}

/// Does something with each part, in threads, and returns what came of it in order of arrival.
pub(super) fn in_parts<T: Send>(
    store: &SqliteStore,
    parts: Vec<Part>,
    deed: impl Fn(&Connection, Part) -> Result<T, StoreError> + Sync,
) -> Result<Vec<T>, StoreError> {
    let read = |part| -> Result<T, StoreError> { deed(&*store.reader()?, part) };
    thread::scope(|scope| {
        let mut parts = parts.into_iter();
        let first = parts.next();
        let others: Vec<_> = parts.map(|part| scope.spawn(|| read(part))).collect();
        let mut done: Vec<_> = first.into_iter().map(read).collect();
        done.extend(others.into_iter().map(|thread| match thread.join() {
            Ok(done) => done,
            Err(panic) => std::panic::resume_unwind(panic),
        }));
        done.into_iter().collect()
    })
}

pub(super) fn entries_since(store: &SqliteStore, seq: u64) -> Result<Vec<Entry>, StoreError> {
    let file = store.file();
    let latest = latest_seq(&*store.reader()?, file)?;
    let n_entries = latest.saturating_sub(seq) as usize;
    let mut decoded = in_parts(store, parts(seq, latest), |connection, part| {
        // The first part has room for all, so that the others need only be moved to its end.
        let is_first = part.start().cast_unsigned() == seq + 1;
        let n_room = if is_first { n_entries } else { part.end().abs_diff(*part.start()) as usize + 1 };
        let mut entries = Vec::with_capacity(n_room.min(MOST_AT_ONCE));
        // Only what is decoded is read: a column less is a twentieth of the time.
        rows_of(connection, file, "record", part, |row| {
            entries.push(wire::decode(&row.record(file)?.0));
            Ok(ControlFlow::Continue(()))
        })?;
        Ok(entries)
    })?
    .into_iter();
    let mut entries = decoded.next().unwrap_or_default();
    decoded.for_each(|mut part| entries.append(&mut part));
    Ok(entries)
}

/// Room is made for at most so many entries before they are there: an arrival number in a damaged file could be vast.
const MOST_AT_ONCE: usize = 4_000_000;

pub(super) fn each_record(
    store: &SqliteStore,
    visit: &mut dyn FnMut(&ChainedRecord<'_>) -> ControlFlow<()>,
) -> Result<(), StoreError> {
    let file = store.file();
    rows_of(&*store.reader()?, file, rows::COLUMNS, 1..=i64::MAX, |row| Ok(visit(&row.chained(file)?)))
}
