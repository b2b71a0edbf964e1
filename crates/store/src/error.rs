//! What can go wrong when entries are kept, and what to do about it.

use logbook::{DeviceId, EntryId};
use std::{
    io,
    path::{Path, PathBuf},
};

/// Why something could not be kept, read, backed up or restored. Whatever it was, nothing is half-written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// There is no room left.
    #[error("the disk that holds {} is full; nothing of this was written: free some space and do it again", path.display())]
    DiskFull {
        /// The file or folder.
        path: PathBuf,
    },
    /// The folder or file may not be written.
    #[error("{} cannot be written; make the folder writable for this user, or choose another data folder", path.display())]
    ReadOnly {
        /// The file or folder.
        path: PathBuf,
    },
    /// Another program writes for longer than one waits.
    #[error("another program is writing to {}; wait until it has finished (or end it) and do it again", path.display())]
    Busy {
        /// The logbook.
        path: PathBuf,
    },
    /// Each time something was judged, somebody else wrote before it could be written.
    #[error(
        "others wrote each of the {tries} times that this was about to be written; nothing of it was written: do it again when they have finished"
    )]
    NeverStill {
        /// How often it was tried.
        tries: usize,
    },
    /// Another program has the logbook open, and this needs it alone.
    #[error("another program has {} open; end it first, then do this again", path.display())]
    InUse {
        /// The logbook.
        path: PathBuf,
    },
    /// There is no logbook in the folder.
    #[error("there is no logbook in {}; name the folder that holds logbook.db, or begin a new logbook there", path.display())]
    NoLogbook {
        /// The folder.
        path: PathBuf,
    },
    /// The file is there and holds nothing at all.
    #[error("{} is empty: what it held is gone, or its beginning was interrupted; restore the latest backup, or move the empty file away to begin a new logbook", path.display())]
    Empty {
        /// The file.
        path: PathBuf,
    },
    /// The file is gone and what was written last lies beside it, where a new file would have it for its own.
    #[error("the logbook in {} is gone and its log, with what was written last, is still there; put logbook.db back beside it, or restore the latest backup into another folder: nothing was touched", path.display())]
    LogLeftBehind {
        /// The folder.
        path: PathBuf,
    },
    /// The file was taken away, or another put in its place, while it was open.
    #[error("{} was taken away or replaced while this program had it open; nothing of this was written: end the program, put the file back, and begin again", path.display())]
    TakenAway {
        /// The file.
        path: PathBuf,
    },
    /// The folder is a backup, which opening would change.
    #[error("{} is a backup (manifest.json lists what it holds); restore it into a folder of its own and work there", path.display())]
    IsABackup {
        /// The folder.
        path: PathBuf,
    },
    /// The folder may not be written, and the latest entries stand in SQLite's log.
    #[error("{} holds the latest entries and can only be read in a folder that may be written; copy the whole folder to one", path.display())]
    LogUnreadable {
        /// The log.
        path: PathBuf,
    },
    /// The file is something else.
    #[error("{} is not a logbook of this program ({what}); it was left as it is: choose another data folder", path.display())]
    NotALogbook {
        /// The file.
        path: PathBuf,
        /// What it is instead.
        what: String,
    },
    /// The logbook was written by a newer program.
    #[error("{} has layout {found}, this program knows up to {known}; use the newer program that wrote it", path.display())]
    NewerLayout {
        /// The file.
        path: PathBuf,
        /// Its layout.
        found: i64,
        /// The newest that this program knows.
        known: i64,
    },
    /// The file is damaged.
    #[error("{} is damaged: {what}; copy the folder away as it is, then restore the latest backup", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What was met.
        what: String,
    },
    /// An id stands for something else already.
    #[error(
        "entry {id} is already written and says something else (number {number} of device {device}); a new entry needs a new id"
    )]
    SaysOtherwise {
        /// The id.
        id: EntryId,
        /// The device of the entry that is there.
        device: DeviceId,
        /// Its number there.
        number: u64,
    },
    /// The device's chain is written elsewhere.
    #[error("device {device} writes its entries elsewhere; write here as device {own}")]
    ForeignDevice {
        /// The device that the entry names.
        device: DeviceId,
        /// The device that writes here.
        own: DeviceId,
    },
    /// Records from another logbook do not fit what is here.
    #[error("entry {id}, number {number} of device {device}, does not fit: {what}; nothing was taken in")]
    ChainBroken {
        /// The device.
        device: DeviceId,
        /// The number at which it breaks.
        number: u64,
        /// The entry.
        id: EntryId,
        /// What is wrong.
        what: String,
    },
    /// An attachment is larger than allowed.
    #[error("the attachment is larger than {limit} bytes; make it shorter or smaller")]
    AttachmentTooLarge {
        /// The limit in bytes.
        limit: u64,
    },
    /// An attachment's name is not the SHA-256 of anything.
    #[error("'{text}' does not name an attachment; a name is 64 hexadecimal digits")]
    BadAttachmentId {
        /// What was given.
        text: String,
    },
    /// The attachment is not there.
    #[error("attachment {id} is not in {}; restore it from a backup", path.display())]
    NoAttachment {
        /// Its name.
        id: String,
        /// Where it was looked for.
        path: PathBuf,
    },
    /// A backup is not whole.
    #[error("the backup {} cannot be used: {what}; use another backup", path.display())]
    FaultyBackup {
        /// The backup.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
    },
    /// A restore would replace a logbook.
    #[error("there is already a logbook in {}; say that it is to be replaced, or restore into another folder", path.display())]
    WouldReplace {
        /// The folder.
        path: PathBuf,
    },
    /// A backup would replace something.
    #[error("{} is already there; choose another name for the backup", path.display())]
    AlreadyThere {
        /// The path.
        path: PathBuf,
    },
    /// The operating system refused.
    #[error("could not {doing} {}: {source}", path.display())]
    Io {
        /// What was being done.
        doing: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The database refused for a reason of its own.
    #[error("could not {doing} {}: {source}", path.display())]
    Database {
        /// What was being done.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// What it said.
        source: rusqlite::Error,
    },
}

impl StoreError {
    /// Turns what the operating system said into what to do.
    pub(crate) fn io(doing: &'static str, path: &Path, source: io::Error) -> Self {
        let path = path.to_owned();
        match source.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::DiskFull { path },
            io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            io::ErrorKind::PermissionDenied if !matches!(doing, "read" | "copy") => Self::ReadOnly { path },
            _ => Self::Io { doing, path, source },
        }
    }

    /// Turns what the database said into what to do.
    pub(crate) fn database(doing: &'static str, path: &Path, source: rusqlite::Error) -> Self {
        use rusqlite::Error;
        use rusqlite::ErrorCode as Code;
        let path = path.to_owned();
        if matches!(source, Error::FromSqlConversionFailure(..) | Error::InvalidColumnType(..)) {
            return Self::Damaged { path, what: source.to_string() };
        }
        match source.sqlite_error_code() {
            Some(Code::DiskFull) => Self::DiskFull { path },
            Some(Code::ReadOnly | Code::PermissionDenied) => Self::ReadOnly { path },
            Some(Code::DatabaseBusy | Code::DatabaseLocked) => Self::Busy { path },
            Some(Code::NotADatabase) => {
                Self::NotALogbook { path, what: "it is not an SQLite file".to_owned() }
            }
            Some(Code::DatabaseCorrupt) => Self::Damaged { path, what: source.to_string() },
            Some(Code::SystemIoFailure) if is_out_of_room(&source) => Self::DiskFull { path },
            _ => Self::Database { doing, path, source },
        }
    }
}

/// Returns whether an I/O failure of the database means that there was no room: the shared-memory file beside the
/// logbook could not grow.
fn is_out_of_room(error: &rusqlite::Error) -> bool {
    error.sqlite_error().is_some_and(|error| error.extended_code == rusqlite::ffi::SQLITE_IOERR_SHMSIZE)
}

/// Adds what was being done and where to a database result.
pub(crate) trait Doing<T> {
    /// Names the deed and the file.
    fn doing(self, doing: &'static str, path: &Path) -> Result<T, StoreError>;
}

impl<T> Doing<T> for Result<T, rusqlite::Error> {
    fn doing(self, doing: &'static str, path: &Path) -> Result<T, StoreError> {
        self.map_err(|source| StoreError::database(doing, path, source))
    }
}

impl<T> Doing<T> for io::Result<T> {
    fn doing(self, doing: &'static str, path: &Path) -> Result<T, StoreError> {
        self.map_err(|source| StoreError::io(doing, path, source))
    }
}
