//! Writing rows.

use super::rows;
use crate::{
    DeviceHead, Hash, StoreError,
    chain::BEFORE_THE_FIRST,
    error::Doing,
    ledger::{Known, Ledger},
    memory::owned,
};
use logbook::{
    DeviceId, EntryId,
    wire::{self, ChainedRecord},
};
use rusqlite::{OptionalExtension, Statement, Transaction, params};
use std::path::Path;

/// The open book: one transaction with its statements ready.
pub(super) struct Book<'t> {
    transaction: &'t Transaction<'t>,
    file: &'t Path,
    devices: rows::Devices,
    find: Statement<'t>,
    insert: Statement<'t>,
}

impl<'t> Book<'t> {
    pub(super) fn open(transaction: &'t Transaction<'t>, file: &'t Path) -> Result<Self, StoreError> {
        let find = format!("SELECT {} FROM entry WHERE id = ?1", rows::COLUMNS);
        let insert = format!(
            "INSERT INTO entry ({}) VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
            rows::COLUMNS
        );
        Ok(Self {
            transaction,
            file,
            devices: rows::Devices::read(transaction, file)?,
            find: transaction.prepare(&find).doing("write to", file)?,
            insert: transaction.prepare(&insert).doing("write to", file)?,
        })
    }
}

impl Ledger for Book<'_> {
    fn find(&mut self, id: EntryId) -> Result<Option<(u64, ChainedRecord<'static>)>, StoreError> {
        let mut found = self.find.query(params![id.0.as_bytes()]).doing("read", self.file)?;
        let Some(row) = found.next().doing("read", self.file)? else { return Ok(None) };
        let placed = rows::read(row, &self.devices).map_err(|row| row.as_error(self.file))?;
        Ok(Some((placed.seq, owned(&placed.record))))
    }

    fn hash_at(&mut self, device: &Known, number: u64) -> Result<Option<Hash>, StoreError> {
        hash_at(self.transaction, device.key, number).doing("read", self.file)
    }

    fn known(&mut self, device: DeviceId) -> Result<Option<Known>, StoreError> {
        Ok(self.devices.all().iter().find(|known| known.head.device == device).copied())
    }

    fn admit(&mut self, device: DeviceId, written_here: bool) -> Result<Known, StoreError> {
        self.transaction
            .execute(
                "INSERT INTO device (device, written_here) VALUES (?1, ?2)",
                params![device.0.as_bytes(), written_here],
            )
            .doing("write to", self.file)?;
        let key = self.transaction.last_insert_rowid();
        // Records of this device may be found again later in the same transaction.
        self.devices = rows::Devices::read(self.transaction, self.file)?;
        Ok(Known { key, written_here, head: DeviceHead { device, number: 0, hash: BEFORE_THE_FIRST } })
    }

    fn write(&mut self, device: &Known, chained: &ChainedRecord<'_>) -> Result<u64, StoreError> {
        let ChainedRecord { record, number, hash } = chained;
        let (happened, recorded) = (record.happened, record.recorded);
        self.insert
            .execute(params![
                record.id.0.as_bytes(),
                device.key,
                number.cast_signed(),
                happened.unix_ms,
                happened.offset_s,
                wire::precision_code(happened.precision),
                recorded.unix_ms,
                recorded.offset_s,
                wire::precision_code(recorded.precision),
                &*record.by,
                &*record.kind,
                record.version,
                &*record.body,
                hash,
            ])
            .doing("write to", self.file)?;
        Ok(self.transaction.last_insert_rowid() as u64)
    }

    fn note_head(&mut self, device: &Known) -> Result<(), StoreError> {
        self.transaction
            .execute(
                "UPDATE device SET head_number = ?2, head_hash = ?3 WHERE key = ?1",
                params![device.key, device.head.number.cast_signed(), device.head.hash],
            )
            .doing("write to", self.file)?;
        Ok(())
    }
}

/// Returns the hash under a number of a device.
pub(super) fn hash_at(
    connection: &rusqlite::Connection,
    device: i64,
    number: u64,
) -> rusqlite::Result<Option<Hash>> {
    connection
        .prepare_cached("SELECT hash FROM entry WHERE device = ?1 AND number = ?2")?
        .query_row(params![device, number.cast_signed()], |row| row.get(0))
        .optional()
}
