//! Rows of the file as records, borrowing their texts from the row.

use crate::{DeviceHead, Hash, StoreError, error::Doing, ledger::Known};
use logbook::{
    DeviceId, EntryId,
    wire::{self, ChainedRecord, Record},
};
use rusqlite::{Connection, Row, types::ValueRef};
use std::path::Path;

/// Returns the devices of a file.
pub(super) fn devices(connection: &Connection, file: &Path) -> Result<Vec<Known>, StoreError> {
    let read = || -> rusqlite::Result<Vec<Known>> {
        let mut statement = connection.prepare_cached(
            "SELECT device, written_here, head_number, head_hash FROM device ORDER BY device",
        )?;
        let devices = statement.query_map([], known)?;
        devices.collect()
    };
    read().doing("read", file)
}

/// Reads a row of `device, written_here, head_number, head_hash`.
pub(super) fn known(row: &Row<'_>) -> rusqlite::Result<Known> {
    Ok(Known {
        written_here: row.get(1)?,
        head: DeviceHead {
            device: DeviceId(uuid::Uuid::from_bytes(row.get(0)?)),
            number: row.get::<_, i64>(2)?.max(0).cast_unsigned(),
            hash: row.get(3)?,
        },
    })
}

/// The columns that [`RawRow`] reads, in its order.
pub(super) const COLUMNS: &str = "record, hash, seq";

/// A row as bytes; what is not of the right type is empty.
#[derive(Clone, Copy)]
pub(super) struct RawRow<'r> {
    row: &'r Row<'r>,
}

impl<'r> RawRow<'r> {
    pub(super) fn new(row: &'r Row<'r>) -> Self {
        Self { row }
    }

    fn blob(self, column: usize) -> &'r [u8] {
        match self.row.get_ref(column) {
            Ok(ValueRef::Blob(bytes)) => bytes,
            _ => &[],
        }
    }

    /// Returns the canonical bytes of the record.
    pub(super) fn canonical(self) -> &'r [u8] {
        self.blob(0)
    }

    /// Returns the hash; zeros, which no entry has, if there is none.
    pub(super) fn hash(self) -> Hash {
        self.blob(1).try_into().unwrap_or_default()
    }

    /// Returns the arrival number.
    pub(super) fn seq(self) -> u64 {
        self.seq_as_it_is().max(0).cast_unsigned()
    }

    /// Returns the arrival number as the file has it, which other programs can make negative.
    pub(super) fn seq_as_it_is(self) -> i64 {
        self.row.get_ref(2).ok().and_then(|seq| seq.as_i64().ok()).unwrap_or(0)
    }

    /// Returns the id that the record begins with, whether or not the rest can be read.
    pub(super) fn id(self) -> EntryId {
        EntryId(uuid::Uuid::from_bytes(bytes_at(self.canonical(), 0)))
    }

    /// Returns the device that the record claims, whether or not the rest can be read.
    pub(super) fn device(self) -> DeviceId {
        DeviceId(uuid::Uuid::from_bytes(bytes_at(self.canonical(), 16)))
    }

    /// Returns the number that the record claims, whether or not the rest can be read.
    pub(super) fn number(self) -> u64 {
        u64::from_be_bytes(bytes_at(self.canonical(), 32))
    }

    /// Returns the record and its number, without its hash.
    pub(super) fn record(self, file: &Path) -> Result<(Record<'r>, u64), StoreError> {
        wire::read_canonical(self.canonical()).ok_or_else(|| StoreError::Damaged {
            path: file.to_owned(),
            what: format!("entry {} cannot be read", self.id()),
        })
    }

    /// Returns the record with its place in its chain.
    pub(super) fn chained(self, file: &Path) -> Result<ChainedRecord<'r>, StoreError> {
        let (record, number) = self.record(file)?;
        Ok(ChainedRecord { record, number, hash: self.hash() })
    }
}

/// Returns some bytes of a record; zeros where it ends too early.
fn bytes_at<const N: usize>(bytes: &[u8], at: usize) -> [u8; N] {
    bytes.get(at..).and_then(|rest| rest.first_chunk()).copied().unwrap_or([0; N])
}
