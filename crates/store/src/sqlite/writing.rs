//! Writing rows.

use super::rows::{self, RawRow};
use crate::{
    DeviceHead, Hash, StoreError,
    chain::BEFORE_THE_FIRST,
    error::Doing,
    ledger::{Known, Ledger},
    memory::owned,
};
use logbook::{DeviceId, EntryId, wire::ChainedRecord};
use rusqlite::{Connection, OptionalExtension, Statement, Transaction, params};
use std::path::Path;

/// The open book: one transaction with its statements ready.
pub(super) struct Book<'t> {
    transaction: &'t Transaction<'t>,
    file: &'t Path,
    find: Statement<'t>,
    insert: Statement<'t>,
}

impl<'t> Book<'t> {
    pub(super) fn open(transaction: &'t Transaction<'t>, file: &'t Path) -> Result<Self, StoreError> {
        let prepare = |sql: &str| transaction.prepare(sql).doing("write to", file);
        Ok(Self {
            transaction,
            file,
            find: prepare(&by_id())?,
            insert: prepare("INSERT INTO entry (record, hash) VALUES (?1, ?2)")?,
        })
    }
}

impl Ledger for Book<'_> {
    fn find(&mut self, id: EntryId) -> Result<Option<(u64, ChainedRecord<'static>)>, StoreError> {
        let mut found = self.find.query(params![id.0.as_bytes()]).doing("read", self.file)?;
        let Some(row) = found.next().doing("read", self.file)?.map(RawRow::new) else { return Ok(None) };
        Ok(Some((row.seq(), owned(&row.chained(self.file)?))))
    }

    fn hash_at(&mut self, device: DeviceId, number: u64) -> Result<Option<Hash>, StoreError> {
        hash_at(self.transaction, device, number).doing("read", self.file)
    }

    fn known(&mut self, device: DeviceId) -> Result<Option<Known>, StoreError> {
        self.transaction
            .query_row(
                "SELECT device, written_here, head_number, head_hash FROM device WHERE device = ?1",
                params![device.0.as_bytes()],
                rows::known,
            )
            .optional()
            .doing("read", self.file)
    }

    fn admit(&mut self, device: DeviceId, written_here: bool) -> Result<Known, StoreError> {
        self.transaction
            .execute(
                "INSERT INTO device (device, written_here) VALUES (?1, ?2)",
                params![device.0.as_bytes(), written_here],
            )
            .doing("write to", self.file)?;
        Ok(Known { written_here, head: DeviceHead { device, number: 0, hash: BEFORE_THE_FIRST } })
    }

    fn write(&mut self, record: &ChainedRecord<'_>, canonical: &[u8]) -> Result<u64, StoreError> {
        self.insert.execute(params![canonical, record.hash]).doing("write to", self.file)?;
        Ok(self.transaction.last_insert_rowid().cast_unsigned())
    }

    fn note_head(&mut self, device: &Known) -> Result<(), StoreError> {
        let head = &device.head;
        self.transaction
            .execute(
                "UPDATE device SET head_number = ?2, head_hash = ?3 WHERE device = ?1",
                params![head.device.0.as_bytes(), head.number.cast_signed(), head.hash],
            )
            .doing("write to", self.file)?;
        Ok(())
    }
}

/// Returns the query for one entry by its id.
pub(super) fn by_id() -> String {
    format!("SELECT {} FROM entry WHERE substr(record, 1, 16) = ?1", rows::COLUMNS)
}

/// Returns the hash under a number of a device.
pub(super) fn hash_at(
    connection: &Connection,
    device: DeviceId,
    number: u64,
) -> rusqlite::Result<Option<Hash>> {
    let mut place = [0; 24];
    place[..16].copy_from_slice(device.0.as_bytes());
    place[16..].copy_from_slice(&number.to_be_bytes());
    connection
        .prepare_cached("SELECT hash FROM entry WHERE substr(record, 17, 24) = ?1")?
        .query_row(params![place], |row| row.get(0))
        .optional()
}
