//! A logbook in a folder, in SQLite.

mod folding;
mod identity;
pub(crate) mod layout;
mod opening;
mod pages;
mod rows;
mod scan;
mod verifying;
mod writing;

use crate::{
    Attachments, EntryStore, Filter, Head, Merged, Page, Receipt, StoreError, Stored, Verification,
    error::Doing, ledger, snapshot,
};
use logbook::{DeviceId, Entry, EntryId, Folded, wire::ChainedRecord};
use rusqlite::{Connection, ErrorCode, MAIN_DB, OpenFlags, TransactionBehavior};
use std::{
    fs,
    ops::{ControlFlow, Deref},
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard, PoisonError, atomic::AtomicBool},
    time::Duration,
};

/// The file that holds the entries.
pub(crate) const FILE: &str = "logbook.db";
/// The folder beside it that holds the attachments.
pub(crate) const ATTACHMENTS: &str = "attachments";

/// How long one waits for another program to finish writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// A logbook in a data folder. Several programs may have it open at once; each write waits for the one before.
#[derive(Debug)]
pub struct SqliteStore {
    folder: PathBuf,
    file: PathBuf,
    device: DeviceId,
    /// Which file was opened, as the system tells files apart.
    opened: Option<identity::Identity>,
    /// How readers open the file.
    source: opening::Source,
    /// From this many entries on a snapshot of the folded booth is left beside them.
    snapshots_from: usize,
    /// This store has left a snapshot of the folded booth, or tried to, or may not.
    left_snapshot: AtomicBool,
    /// Closed before the writer: only a connection that may write can put SQLite's log away when it is the last.
    idle_readers: Mutex<Vec<Connection>>,
    writer: Mutex<Connection>,
}

impl SqliteStore {
    /// Opens the logbook in a folder, and begins one there if there is none.
    pub fn open(folder: impl AsRef<Path>) -> Result<Self, StoreError> {
        Self::open_as(folder, DeviceId(uuid::Uuid::now_v7()))
    }

    /// Opens the logbook in a folder; if it has to be begun, it writes as this device.
    ///
    /// A file of no bytes is no new logbook but one that lost everything: it is refused and left as it is.
    pub fn open_as(folder: impl AsRef<Path>, device: DeviceId) -> Result<Self, StoreError> {
        let folder = folder.as_ref();
        opening::refuse_backup(folder)?;
        fs::create_dir_all(folder).doing("make", folder)?;
        let file = folder.join(FILE);
        if !file.try_exists().doing("open", &file)? {
            opening::refuse_log_left_behind(folder, &file)?;
            opening::begin(folder, &file, device).map_err(|error| name_folder_trouble(folder, error))?;
        }
        opening::refuse_empty(&file)?;
        Self::open_file(folder, Some(device))
    }

    /// Opens the logbook in a folder, which must have one. A backup is refused: it would no longer be one.
    pub fn open_existing(folder: impl AsRef<Path>) -> Result<Self, StoreError> {
        let folder = folder.as_ref();
        if !folder.join(FILE).is_file() {
            return Err(StoreError::NoLogbook { path: folder.to_owned() });
        }
        opening::refuse_backup(folder)?;
        Self::open_file(folder, None)
    }

    /// Opens the logbook in a folder, which must have one, also where the folder may not be written.
    pub fn open_to_read(folder: impl AsRef<Path>) -> Result<Self, StoreError> {
        let folder = folder.as_ref();
        match Self::open_existing(folder) {
            Err(StoreError::ReadOnly { .. }) => {
                Self::open_source(folder, opening::Source::in_read_only_folder(&folder.join(FILE))?)
            }
            opened => opened,
        }
    }

    /// Opens the logbook in a folder, or in a backup, which is left as it is to the last byte.
    pub fn open_to_verify(folder: impl AsRef<Path>) -> Result<Self, StoreError> {
        let folder = folder.as_ref();
        if opening::is_backup(folder) {
            return Self::open_source(folder, opening::Source::unchanging(&folder.join(FILE))?);
        }
        Self::open_to_read(folder)
    }

    fn open_source(folder: &Path, source: opening::Source) -> Result<Self, StoreError> {
        let file = folder.join(FILE);
        let opened = source.connect(&file).and_then(|connection| {
            let device = layout::as_it_is(&connection, &file)?;
            Ok((connection, device))
        });
        let (connection, device) = opened.map_err(|error| opening::name_log_trouble(&file, error))?;
        // What is only read, such as a backup, gets no file put into it.
        let left_snapshot = AtomicBool::new(true);
        Ok(Self { left_snapshot, ..Self::opened(folder, source, connection, device) })
    }

    /// Opens the file to write, too; one that holds nothing is begun as this device, or refused.
    fn open_file(folder: &Path, begin_as: Option<DeviceId>) -> Result<Self, StoreError> {
        let file = folder.join(FILE);
        let opened = connect(&file, OpenFlags::SQLITE_OPEN_READ_WRITE).and_then(|mut connection| {
            let device = layout::prepare(&mut connection, &file, begin_as)?;
            Ok((connection, device))
        });
        let (connection, device) = opened.map_err(|error| name_folder_trouble(folder, error))?;
        opening::sweep(folder);
        Ok(Self::opened(folder, opening::Source::shared(&file), connection, device))
    }

    fn opened(folder: &Path, source: opening::Source, writer: Connection, device: DeviceId) -> Self {
        Self {
            folder: folder.to_owned(),
            file: folder.join(FILE),
            opened: identity::of(&folder.join(FILE)),
            device,
            source,
            snapshots_from: snapshot::WORTH_A_SNAPSHOT,
            left_snapshot: AtomicBool::new(false),
            writer: Mutex::new(writer),
            idle_readers: Mutex::default(),
        }
    }

    /// Leaves a snapshot of the folded booth from this many entries on, instead of 50,000.
    #[must_use]
    pub fn snapshots_from(mut self, entries: usize) -> Self {
        self.snapshots_from = entries;
        self
    }

    /// Takes the snapshot of the folded booth away, if there is one; the next fold reads the entries.
    ///
    /// Nothing needs this but measuring: a snapshot that does not fit is not used.
    pub fn forget_snapshot(&self) {
        snapshot::remove(&self.folder);
    }

    /// Returns the data folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Returns the photos and recordings beside this logbook.
    pub fn attachments(&self) -> Attachments {
        Attachments::in_folder(self.folder.join(ATTACHMENTS))
    }

    pub(crate) fn file(&self) -> &Path {
        &self.file
    }

    fn writer(&self) -> MutexGuard<'_, Connection> {
        // A thread that panicked while writing has rolled its transaction back when it let go of it.
        self.writer.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lends a connection that only reads; it goes back on the shelf when it is dropped.
    pub(crate) fn reader(&self) -> Result<Reader<'_>, StoreError> {
        let idle = self.idle_readers.lock().unwrap_or_else(PoisonError::into_inner).pop();
        let connection = match idle {
            Some(connection) => connection,
            None => self.source.connect(&self.file)?,
        };
        Ok(Reader { store: self, connection: Some(connection) })
    }

    /// Does something in one transaction, on disk when this returns, or undone.
    fn write<T>(
        &self,
        deed: impl FnOnce(&rusqlite::Transaction<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let mut connection = self.writer();
        // Written into a file that has no name any more, it would be gone with the program.
        if identity::of(&self.file) != self.opened {
            return Err(StoreError::TakenAway { path: self.file.clone() });
        }
        let done = connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .doing("write to", &self.file)
            .and_then(|transaction| {
                let done = deed(&transaction)?;
                transaction.commit().doing("write to", &self.file)?;
                Ok(done)
            });
        done.map_err(|error| name_folder_trouble(&self.folder, error))
    }
}

impl EntryStore for SqliteStore {
    fn device(&self) -> DeviceId {
        self.device
    }

    fn append(&self, entries: &[Entry]) -> Result<Vec<Receipt>, StoreError> {
        self.write(|transaction| {
            ledger::append(&mut writing::Book::open(transaction, &self.file)?, self.device, entries)
        })
    }

    fn append_at(&self, head: Head, entries: &[Entry]) -> Result<Option<Vec<Receipt>>, StoreError> {
        self.write(|transaction| {
            if pages::head_of(transaction, &self.file)? != head {
                return Ok(None);
            }
            let mut book = writing::Book::open(transaction, &self.file)?;
            ledger::append(&mut book, self.device, entries).map(Some)
        })
    }

    fn append_records(&self, records: &[ChainedRecord<'_>]) -> Result<Merged, StoreError> {
        self.write(|transaction| ledger::merge(&mut writing::Book::open(transaction, &self.file)?, records))
    }

    fn entries_since(&self, seq: u64) -> Result<Vec<Entry>, StoreError> {
        scan::entries_since(self, seq)
    }

    fn folded(&self) -> Result<Folded, StoreError> {
        folding::folded(self)
    }

    fn each_record(
        &self,
        visit: &mut dyn FnMut(&ChainedRecord<'_>) -> ControlFlow<()>,
    ) -> Result<(), StoreError> {
        scan::each_record(self, visit)
    }

    fn get(&self, id: EntryId) -> Result<Option<Stored>, StoreError> {
        pages::get(self, id)
    }

    fn page(&self, before_seq: Option<u64>, limit: usize, filter: &Filter) -> Result<Page, StoreError> {
        pages::page(self, before_seq, limit, filter)
    }

    fn head(&self) -> Result<Head, StoreError> {
        pages::head(self)
    }

    fn verify(&self) -> Result<Verification, StoreError> {
        verifying::verify(self)
    }
}

/// A lent connection.
pub(crate) struct Reader<'s> {
    store: &'s SqliteStore,
    connection: Option<Connection>,
}

impl Deref for Reader<'_> {
    type Target = Connection;

    fn deref(&self) -> &Connection {
        self.connection.as_ref().expect("a reader has its connection until it is dropped")
    }
}

impl Drop for Reader<'_> {
    fn drop(&mut self) {
        let mut idle = self.store.idle_readers.lock().unwrap_or_else(PoisonError::into_inner);
        idle.extend(self.connection.take());
    }
}

/// Opens a connection with the settings that every connection has.
pub(crate) fn connect(file: &Path, how: OpenFlags) -> Result<Connection, StoreError> {
    connect_named(file, how, file)
}

/// Opens a connection to a file by a name that SQLite understands; trouble is told by the file.
fn connect_named(name: &Path, how: OpenFlags, file: &Path) -> Result<Connection, StoreError> {
    // Each connection is used by one thread at a time, so its own locks are not needed.
    let connection = Connection::open_with_flags(name, how | OpenFlags::SQLITE_OPEN_NO_MUTEX)
        .and_then(|connection| {
            connection.busy_timeout(PATIENCE)?;
            connection.execute_batch(
                "PRAGMA synchronous = FULL; PRAGMA fullfsync = ON; PRAGMA foreign_keys = ON;
                 PRAGMA trusted_schema = OFF; PRAGMA cache_size = -32768;",
            )?;
            Ok(connection)
        })
        .doing("open", file)?;
    let meant_to_write = how.contains(OpenFlags::SQLITE_OPEN_READ_WRITE);
    if meant_to_write && connection.is_readonly(MAIN_DB).doing("open", file)? {
        return Err(StoreError::ReadOnly { path: file.to_owned() });
    }
    Ok(connection)
}

/// SQLite says of a folder in which it cannot make its files only that it cannot open one; this says why.
fn name_folder_trouble(folder: &Path, error: StoreError) -> StoreError {
    let vague = matches!(&error, StoreError::Database { source, .. }
        if matches!(source.sqlite_error_code(), Some(ErrorCode::CannotOpen | ErrorCode::SystemIoFailure)));
    if !vague {
        return error;
    }
    tempfile::tempfile_in(folder).err().map_or(error, |trouble| StoreError::io("write in", folder, trouble))
}

#[cfg(test)]
mod tests;
