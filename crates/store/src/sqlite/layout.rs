//! The layout of the file and how an older one is brought forward.

use crate::{StoreError, error::Doing};
use logbook::DeviceId;
use rusqlite::{Connection, ErrorCode, OptionalExtension, Transaction, TransactionBehavior, params};
use std::{
    path::Path,
    thread,
    time::{Duration, Instant},
};

/// Marks the file as a logbook of this program, for SQLite (`PRAGMA application_id`) and for `file`: "Bwlb".
const APPLICATION_ID: i64 = 0x4277_6C62;

/// Each step from one layout to the next; the layout's number is how many were taken.
const STEPS: &[&str] = &[include_str!("../schema/0001.sql")];

/// The layout that this program writes.
pub(crate) const NEWEST: i64 = STEPS.len().cast_signed() as i64;

/// What the head of a file says.
struct Label {
    application_id: i64,
    layout: i64,
    n_objects: i64,
}

impl Label {
    fn read(connection: &Connection) -> rusqlite::Result<Self> {
        let pragma = |name: &str| connection.pragma_query_value(None, name, |row| row.get(0));
        Ok(Self {
            application_id: pragma("application_id")?,
            layout: pragma("user_version")?,
            n_objects: connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?,
        })
    }

    /// Refuses what is not ours or newer than this program.
    fn check(&self, file: &Path) -> Result<(), StoreError> {
        let path = file.to_owned();
        if self.is_empty() {
            return Ok(());
        }
        if self.application_id != APPLICATION_ID {
            let what = "it is another program's SQLite file".to_owned();
            return Err(StoreError::NotALogbook { path, what });
        }
        if self.layout > NEWEST {
            return Err(StoreError::NewerLayout { path, found: self.layout, known: NEWEST });
        }
        Ok(())
    }

    fn is_empty(&self) -> bool {
        self.application_id == 0 && self.layout == 0 && self.n_objects == 0
    }
}

/// Makes sure that the file is a logbook in the newest layout, and returns the device as which it writes.
///
/// A file that holds nothing is begun as the device, or refused where there is none.
pub(super) fn prepare(
    connection: &mut Connection,
    file: &Path,
    begin_as: Option<DeviceId>,
) -> Result<DeviceId, StoreError> {
    let label = Label::read(connection).doing("open", file)?;
    label.check(file)?;
    if label.is_empty() && begin_as.is_none() {
        return Err(StoreError::Empty { path: file.to_owned() });
    }
    if label.is_empty() {
        // Larger pages than usual: entries are read from one end to the other.
        connection.execute_batch("PRAGMA page_size = 8192").doing("begin", file)?;
    }
    write_ahead(connection).doing("open", file)?;
    if label.layout < NEWEST {
        bring_forward(connection, file, begin_as.unwrap_or_else(|| DeviceId(uuid::Uuid::now_v7())))?;
    }
    written_as(connection, file)
}

/// Makes sure that a file that may not be written is a logbook in the newest layout, and returns its device.
pub(super) fn as_it_is(connection: &Connection, file: &Path) -> Result<DeviceId, StoreError> {
    let label = Label::read(connection).doing("open", file)?;
    label.check(file)?;
    if label.is_empty() {
        return Err(StoreError::Empty { path: file.to_owned() });
    }
    if label.layout < NEWEST {
        // It would have to be brought forward first.
        return Err(StoreError::ReadOnly { path: file.to_owned() });
    }
    written_as(connection, file)
}

fn written_as(connection: &Connection, file: &Path) -> Result<DeviceId, StoreError> {
    own_device(connection).doing("open", file)?.ok_or_else(|| StoreError::Damaged {
        path: file.to_owned(),
        what: "it does not say as which device it writes".to_owned(),
    })
}

/// Has the file write ahead (`journal_mode = WAL`), so that reading and writing do not wait for each other.
///
/// SQLite does not wait by itself when two programs open a new file at the same moment.
fn write_ahead(connection: &Connection) -> rusqlite::Result<()> {
    let began = Instant::now();
    loop {
        let mode: rusqlite::Result<String> =
            connection.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0));
        match mode {
            Err(error)
                if error.sqlite_error_code() == Some(ErrorCode::DatabaseBusy)
                    && began.elapsed() < super::PATIENCE =>
            {
                thread::sleep(Duration::from_millis(20));
            }
            Err(error) => return Err(error),
            Ok(_) => break,
        }
    }
    // After a great import the log file is cut back to this many bytes.
    connection.pragma_update(None, "journal_size_limit", 16 << 20)
}

fn bring_forward(connection: &mut Connection, file: &Path, device: DeviceId) -> Result<(), StoreError> {
    let doing = "bring forward";
    let transaction =
        connection.transaction_with_behavior(TransactionBehavior::Immediate).doing(doing, file)?;
    // Another program may have done it while this one waited.
    let label = Label::read(&transaction).doing(doing, file)?;
    label.check(file)?;
    take_steps(&transaction, label.layout).doing(doing, file)?;
    if own_device(&transaction).doing(doing, file)?.is_none() {
        write_as(&transaction, device).doing(doing, file)?;
    }
    transaction.commit().doing(doing, file)
}

fn take_steps(transaction: &Transaction<'_>, from: i64) -> rusqlite::Result<()> {
    for step in STEPS.iter().skip(from as usize) {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.pragma_update(None, "user_version", NEWEST)
}

fn own_device(connection: &Connection) -> rusqlite::Result<Option<DeviceId>> {
    connection
        .query_row("SELECT own_device FROM logbook", [], |row| {
            row.get(0).map(|bytes: [u8; 16]| DeviceId(uuid::Uuid::from_bytes(bytes)))
        })
        .optional()
}

/// Has the logbook write as a device from here on; the devices it wrote as before are only kept.
pub(crate) fn write_as(connection: &Connection, device: DeviceId) -> rusqlite::Result<()> {
    connection.execute("UPDATE device SET written_here = 0", [])?;
    connection.execute(
        "INSERT INTO device (device, written_here) VALUES (?1, 1)
         ON CONFLICT (device) DO UPDATE SET written_here = 1",
        params![device.0.as_bytes()],
    )?;
    connection.execute(
        "INSERT INTO logbook (the_one, own_device) VALUES (1, ?1)
         ON CONFLICT (the_one) DO UPDATE SET own_device = excluded.own_device",
        params![device.0.as_bytes()],
    )?;
    Ok(())
}

/// Returns the names of tables, indexes and triggers that are not as this program made them.
pub(super) fn altered_guards(connection: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut as_made = Connection::open_in_memory()?;
    let transaction = as_made.transaction()?;
    take_steps(&transaction, 0)?;
    let made = objects(&transaction)?;
    let there = objects(connection)?;
    let mut altered: Vec<_> = made.iter().filter(|object| !there.contains(object)).collect();
    altered.extend(there.iter().filter(|object| !made.contains(object)));
    let mut names: Vec<_> = altered.into_iter().map(|(name, _)| name.clone()).collect();
    names.sort_unstable();
    names.dedup();
    Ok(names)
}

/// Returns name and definition of everything in a file but SQLite's own.
fn objects(connection: &Connection) -> rusqlite::Result<Vec<(String, String)>> {
    let mut statement = connection.prepare(
        "SELECT name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'",
    )?;
    let objects = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    objects.collect()
}

/// Returns what SQLite finds wrong with the file, or nothing.
pub(super) fn file_damage(connection: &Connection) -> rusqlite::Result<Option<String>> {
    let said: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    Ok((said != "ok").then_some(said))
}
