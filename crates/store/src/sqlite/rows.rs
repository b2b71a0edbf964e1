//! Rows of the file as records, borrowing their texts from the row.

use crate::{DeviceHead, Hash, StoreError, error::Doing, ledger::Known};
use logbook::{
    DeviceId, EntryId, When,
    wire::{self, ChainedRecord, Record},
};
use rusqlite::{Connection, Row, types::ValueRef};
use std::path::Path;

/// The columns that [`read`] reads, in its order.
pub(super) const COLUMNS: &str = "seq, id, device, number, happened_ms, happened_offset_s, happened_precision, \
     recorded_ms, recorded_offset_s, recorded_precision, written_by, kind, version, body, hash";

/// The devices of a file.
#[derive(Default)]
pub(super) struct Devices(Vec<Known>);

impl Devices {
    pub(super) fn read(connection: &Connection, file: &Path) -> Result<Self, StoreError> {
        let read = || -> rusqlite::Result<Vec<Known>> {
            let mut statement = connection.prepare_cached(
                "SELECT key, device, written_here, head_number, head_hash FROM device ORDER BY key",
            )?;
            let devices = statement.query_map([], known)?;
            devices.collect()
        };
        read().map(Self).doing("read", file)
    }

    pub(super) fn all(&self) -> &[Known] {
        &self.0
    }

    fn device(&self, key: i64) -> Option<DeviceId> {
        // Keys are given from 1 upwards, so the place is almost always right.
        let at_place = usize::try_from(key - 1).ok().and_then(|at| self.0.get(at));
        let known = at_place.filter(|known| known.key == key);
        known.or_else(|| self.0.iter().find(|known| known.key == key)).map(|known| known.head.device)
    }
}

/// Reads a row of `key, device, written_here, head_number, head_hash`.
pub(super) fn known(row: &Row<'_>) -> rusqlite::Result<Known> {
    Ok(Known {
        key: row.get(0)?,
        written_here: row.get(2)?,
        head: DeviceHead {
            device: DeviceId(uuid::Uuid::from_bytes(row.get(1)?)),
            number: row.get::<_, i64>(3)?.max(0) as u64,
            hash: row.get(4)?,
        },
    })
}

/// A row that does not hold what a row must: somebody wrote to the file by other means, or it is damaged.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unreadable {
    pub(super) seq: u64,
    pub(super) device: i64,
    pub(super) number: u64,
    pub(super) id: EntryId,
    pub(super) column: &'static str,
}

/// A record with its places in this file.
pub(super) struct Placed<'r> {
    pub(super) seq: u64,
    pub(super) device: i64,
    pub(super) record: ChainedRecord<'r>,
}

/// Reads a row of [`COLUMNS`]. Only what is not a readable record is an error; nothing is copied.
pub(super) fn read<'r>(row: &'r Row<'_>, devices: &Devices) -> Result<Placed<'r>, Unreadable> {
    let mut column = "";
    fields(row, devices, &mut column).ok_or_else(|| Unreadable {
        seq: integer(row, 0).unwrap_or(0).max(0) as u64,
        device: integer(row, 2).unwrap_or(0),
        number: integer(row, 3).unwrap_or(0).max(0) as u64,
        id: EntryId(blob(row, 1).map(uuid::Uuid::from_bytes).unwrap_or_default()),
        column,
    })
}

fn fields<'r>(row: &'r Row<'_>, devices: &Devices, column: &mut &'static str) -> Option<Placed<'r>> {
    let mut at = |name| *column = name;
    at("seq");
    let seq = u64::try_from(integer(row, 0)?).ok()?;
    at("id");
    let id = EntryId(uuid::Uuid::from_bytes(blob(row, 1)?));
    at("device");
    let device = integer(row, 2)?;
    let device_id = devices.device(device)?;
    at("number");
    let number = u64::try_from(integer(row, 3)?).ok()?;
    at("happened");
    let happened = moment(row, 4)?;
    at("recorded");
    let recorded = moment(row, 7)?;
    at("written_by");
    let by = text(row, 10)?.into();
    at("kind");
    let kind = text(row, 11)?.into();
    at("version");
    let version = u16::try_from(integer(row, 12)?).ok()?;
    at("body");
    let body = text(row, 13)?.into();
    at("hash");
    let hash: Hash = blob(row, 14)?;
    let record = Record { id, happened, recorded, by, kind, version, body, device: device_id };
    Some(Placed { seq, device, record: ChainedRecord { record, number, hash } })
}

fn integer(row: &Row<'_>, column: usize) -> Option<i64> {
    match row.get_ref(column) {
        Ok(ValueRef::Integer(value)) => Some(value),
        _ => None,
    }
}

fn text<'r>(row: &'r Row<'_>, column: usize) -> Option<&'r str> {
    match row.get_ref(column) {
        Ok(ValueRef::Text(bytes)) => std::str::from_utf8(bytes).ok(),
        _ => None,
    }
}

fn blob<const N: usize>(row: &Row<'_>, column: usize) -> Option<[u8; N]> {
    match row.get_ref(column) {
        Ok(ValueRef::Blob(bytes)) => bytes.try_into().ok(),
        _ => None,
    }
}

/// Reads milliseconds, offset and precision from three columns.
fn moment(row: &Row<'_>, column: usize) -> Option<When> {
    let code = u8::try_from(integer(row, column + 2)?).ok()?;
    let precision = wire::precision_of(code);
    // A code that no precision has would be read as the coarsest; here it is a fault.
    (wire::precision_code(precision) == code).then_some(())?;
    Some(When {
        unix_ms: integer(row, column)?,
        offset_s: i32::try_from(integer(row, column + 1)?).ok()?,
        precision,
    })
}

impl Unreadable {
    /// Says so as an error of the whole file.
    pub(super) fn as_error(&self, file: &Path) -> StoreError {
        let (seq, column, id) = (self.seq, self.column, self.id);
        StoreError::Damaged {
            path: file.to_owned(),
            what: format!("the {column} of entry {id} (row {seq}) cannot be read"),
        }
    }
}
