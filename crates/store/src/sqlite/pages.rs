//! Reading a few entries.

use super::{
    SqliteStore,
    rows::{self, RawRow},
    scan, writing,
};
use crate::{Filter, Head, Page, StoreError, Stored, error::Doing, search::Sieve};
use logbook::{Chained, EntryId, wire};
use rusqlite::{Connection, params};
use std::path::Path;

pub(super) fn head(store: &SqliteStore) -> Result<Head, StoreError> {
    let connection = store.reader()?;
    head_of(&connection, store.file())
}

/// Returns how far the logbook goes as a connection sees it, which may be within a transaction.
pub(super) fn head_of(connection: &Connection, file: &Path) -> Result<Head, StoreError> {
    let seq = scan::latest_seq(connection, file)?;
    let count: Option<i64> = connection
        .prepare_cached("SELECT sum(head_number) FROM device")
        .and_then(|mut statement| statement.query_row([], |row| row.get(0)))
        .doing("read", file)?;
    Ok(Head { seq, count: count.unwrap_or(0).max(0).cast_unsigned() })
}

pub(super) fn get(store: &SqliteStore, id: EntryId) -> Result<Option<Stored>, StoreError> {
    let file = store.file();
    let connection = store.reader()?;
    let mut statement = connection.prepare_cached(&writing::by_id()).doing("read", file)?;
    let mut found = statement.query(params![id.0.as_bytes()]).doing("read", file)?;
    found.next().doing("read", file)?.map(|row| stored(RawRow::new(row), file)).transpose()
}

pub(super) fn page(
    store: &SqliteStore,
    before_seq: Option<u64>,
    limit: usize,
    filter: &Filter,
) -> Result<Page, StoreError> {
    let file = store.file();
    let connection = store.reader()?;
    let before = before_seq.and_then(|seq| i64::try_from(seq).ok()).unwrap_or(i64::MAX);
    let sql = format!("SELECT {} FROM entry WHERE seq < ?1 ORDER BY seq DESC", rows::COLUMNS);
    let mut statement = connection.prepare_cached(&sql).doing("read", file)?;
    let mut found = statement.query(params![before]).doing("read", file)?;
    let sieve = Sieve::new(filter);
    let mut page = Page::default();
    while let Some(row) = found.next().doing("read", file)?.map(RawRow::new) {
        if !sieve.fits(&row.record(file)?.0) {
            continue;
        }
        if page.entries.len() == limit {
            page.older_before = page.entries.last().map(|last| last.seq);
            break;
        }
        page.entries.push(stored(row, file)?);
    }
    Ok(page)
}

fn stored(row: RawRow<'_>, file: &Path) -> Result<Stored, StoreError> {
    let chained = row.chained(file)?;
    let entry = wire::decode(&chained.record);
    Ok(Stored { seq: row.seq(), chained: Chained { entry, number: chained.number, hash: chained.hash } })
}
