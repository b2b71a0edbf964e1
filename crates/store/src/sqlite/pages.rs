//! Reading a few entries.

use super::{
    SqliteStore,
    rows::{self, Devices, Placed},
    scan,
};
use crate::{Filter, Head, Page, StoreError, Stored, error::Doing, search::Sieve};
use logbook::{Chained, EntryId, wire};
use rusqlite::{Connection, params};

pub(super) fn head(store: &SqliteStore) -> Result<Head, StoreError> {
    let connection = store.reader()?;
    let seq = scan::latest_seq(&connection, store.file())?;
    let count: Option<i64> = connection
        .prepare_cached("SELECT sum(head_number) FROM device")
        .and_then(|mut statement| statement.query_row([], |row| row.get(0)))
        .doing("read", store.file())?;
    Ok(Head { seq, count: count.unwrap_or(0).max(0) as u64 })
}

pub(super) fn get(store: &SqliteStore, id: EntryId) -> Result<Option<Stored>, StoreError> {
    let file = store.file();
    let connection = store.reader()?;
    let devices = Devices::read(&connection, file)?;
    let sql = format!("SELECT {} FROM entry WHERE id = ?1", rows::COLUMNS);
    let mut statement = connection.prepare_cached(&sql).doing("read", file)?;
    let mut found = statement.query(params![id.0.as_bytes()]).doing("read", file)?;
    let row = found.next().doing("read", file)?;
    row.map(|row| rows::read(row, &devices).map(stored).map_err(|row| row.as_error(file))).transpose()
}

pub(super) fn page(
    store: &SqliteStore,
    before_seq: Option<u64>,
    limit: usize,
    filter: &Filter,
) -> Result<Page, StoreError> {
    let file = store.file();
    let connection = store.reader()?;
    let devices = Devices::read(&connection, file)?;
    let before = before_seq.and_then(|seq| i64::try_from(seq).ok()).unwrap_or(i64::MAX);
    let sieve = Sieve::new(filter);
    let mut page = Page::default();
    let mut take = |placed: Placed<'_>| {
        if !sieve.fits(&placed.record.record) {
            return true;
        }
        if page.entries.len() == limit {
            page.older_before = page.entries.last().map(|last| last.seq);
            return false;
        }
        page.entries.push(stored(placed));
        true
    };
    rows_before(&connection, file, &devices, before, &mut take)?;
    Ok(page)
}

/// Shows the rows before an arrival number, the latest first, until `take` has enough.
fn rows_before(
    connection: &Connection,
    file: &std::path::Path,
    devices: &Devices,
    before: i64,
    take: &mut dyn FnMut(Placed<'_>) -> bool,
) -> Result<(), StoreError> {
    let sql = format!("SELECT {} FROM entry WHERE seq < ?1 ORDER BY seq DESC", rows::COLUMNS);
    let mut statement = connection.prepare_cached(&sql).doing("read", file)?;
    let mut found = statement.query(params![before]).doing("read", file)?;
    while let Some(row) = found.next().doing("read", file)? {
        if !take(rows::read(row, devices).map_err(|row| row.as_error(file))?) {
            break;
        }
    }
    Ok(())
}

fn stored(placed: Placed<'_>) -> Stored {
    let Placed { seq, record, .. } = placed;
    let entry = wire::decode(&record.record);
    Stored { seq, chained: Chained { entry, number: record.number, hash: record.hash } }
}
