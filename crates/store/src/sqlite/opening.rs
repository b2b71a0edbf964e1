//! What is looked at before a logbook is opened, and how one is read that may not be written.

use super::{ATTACHMENTS, FILE, connect_named, layout};
use crate::{
    StoreError,
    attachments::{self, sync_folder},
    backup,
    error::Doing,
};
use logbook::DeviceId;
use rusqlite::{Connection, OpenFlags};
use std::{
    fs, io,
    path::{Path, PathBuf},
    thread,
    time::{Duration, Instant, SystemTime},
};

/// How the names of what is being made begin; what is left behind is swept away.
const UNFINISHED: &str = ".unfinished-";

/// How the connections that only read are opened.
#[derive(Clone, Debug)]
pub(super) struct Source {
    name: PathBuf,
    how: OpenFlags,
}

impl Source {
    /// Others may be writing meanwhile; SQLite's files beside the logbook keep the two apart.
    pub(super) fn shared(file: &Path) -> Self {
        Self { name: file.to_owned(), how: OpenFlags::SQLITE_OPEN_READ_ONLY }
    }

    /// Nobody writes meanwhile: nothing is locked, and no file is made or changed.
    pub(super) fn unchanging(file: &Path) -> Result<Self, StoreError> {
        let full = std::path::absolute(file).doing("open", file)?;
        let text = full.to_str().ok_or_else(|| {
            let source = io::Error::new(io::ErrorKind::InvalidFilename, "its path is not UTF-8 text");
            StoreError::io("open", file, source)
        })?;
        let text = if cfg!(windows) { text.replace('\\', "/") } else { text.to_owned() };
        let text = text.replace('%', "%25").replace('?', "%3f").replace('#', "%23");
        let slash = if text.starts_with('/') { "" } else { "/" };
        let name = PathBuf::from(format!("file://{slash}{text}?immutable=1"));
        Ok(Self { name, how: OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI })
    }

    /// Chooses for a folder that may not be written: what stands in SQLite's log must not be passed over.
    pub(super) fn in_read_only_folder(file: &Path) -> Result<Self, StoreError> {
        let log = log_of(file);
        match fs::metadata(&log) {
            Ok(there) if there.len() > 0 => Ok(Self::shared(file)),
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                Err(StoreError::LogUnreadable { path: log })
            }
            _ => Self::unchanging(file),
        }
    }

    pub(super) fn connect(&self, file: &Path) -> Result<Connection, StoreError> {
        connect_named(&self.name, self.how, file)
    }
}

/// Begins a logbook beside the file and puts it in its place whole: if this is cut off, there is no logbook rather than
/// an empty one. If another program was quicker, its logbook stays.
pub(super) fn begin(folder: &Path, file: &Path, device: DeviceId) -> Result<(), StoreError> {
    let beside = folder.join(format!("{UNFINISHED}{}", uuid::Uuid::now_v7()));
    fs::create_dir(&beside).map_err(|error| StoreError::io("begin a logbook in", folder, error))?;
    let begun = begin_beside(&beside.join(FILE), file, device);
    // What stays is swept away another day.
    let _ = fs::remove_dir_all(&beside);
    begun?;
    sync_folder(folder)
}

fn begin_beside(new: &Path, file: &Path, device: DeviceId) -> Result<(), StoreError> {
    let how = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
    let mut connection = connect_named(new, how, file)?;
    layout::prepare(&mut connection, new, Some(device))?;
    connection.close().map_err(|(_, error)| error).doing("begin", file)?;
    match fs::hard_link(new, file) {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => {
            // A file system without links: the file is begun where it stands.
            let made = fs::OpenOptions::new().write(true).create_new(true).open(file);
            let made =
                made.and_then(|mut made| io::copy(&mut fs::File::open(new)?, &mut made).and(made.sync_all()));
            made.map_err(|error| StoreError::io("begin a logbook in", file, error))
        }
        _ => Ok(()),
    }
}

/// Refuses to begin a logbook where the log of another one lies: SQLite would play that into the new file, which would
/// be neither the one nor the other.
pub(super) fn refuse_log_left_behind(folder: &Path, file: &Path) -> Result<(), StoreError> {
    let journal = PathBuf::from(format!("{}-journal", file.display()));
    let left =
        [log_of(file), journal].into_iter().any(|log| fs::metadata(log).is_ok_and(|there| there.len() > 0));
    if left && !file.exists() {
        return Err(StoreError::LogLeftBehind { path: folder.to_owned() });
    }
    Ok(())
}

/// For so long one waits for another program that is just beginning the logbook.
const BEGINNING: Duration = Duration::from_secs(3);

/// Refuses a logbook of no bytes: it lost everything, or its beginning was interrupted. It is never begun anew in silence.
///
/// Another program may be beginning it at this moment, so one waits a little for the first bytes.
pub(super) fn refuse_empty(file: &Path) -> Result<(), StoreError> {
    let began = Instant::now();
    while fs::metadata(file).doing("open", file)?.len() == 0 {
        if began.elapsed() > BEGINNING {
            return Err(StoreError::Empty { path: file.to_owned() });
        }
        thread::sleep(Duration::from_millis(20));
    }
    Ok(())
}

/// Returns where SQLite keeps what it has not yet put into the file itself.
pub(super) fn log_of(file: &Path) -> PathBuf {
    let mut log = file.as_os_str().to_owned();
    log.push("-wal");
    log.into()
}

/// SQLite says of a log beside a file in a read-only folder only that it cannot open something; this says what.
pub(super) fn name_log_trouble(file: &Path, error: StoreError) -> StoreError {
    let log = log_of(file);
    if matches!(error, StoreError::Database { .. }) && log.exists() {
        return StoreError::LogUnreadable { path: log };
    }
    error
}

/// Refuses a backup: whatever opens it to work with it changes its file, and then it can no longer be restored.
pub(super) fn refuse_backup(folder: &Path) -> Result<(), StoreError> {
    if is_backup(folder) { Err(StoreError::IsABackup { path: folder.to_owned() }) } else { Ok(()) }
}

/// Returns whether a folder holds a backup.
pub(super) fn is_backup(folder: &Path) -> bool {
    folder.join(FILE).is_file() && folder.join(backup::MANIFEST).is_file()
}

/// How old something half-made is before nobody can be at work on it.
const LEFT_BEHIND: Duration = Duration::from_hours(24);

/// Takes away what a program that was ended left half-made in a data folder.
pub(super) fn sweep(folder: &Path) {
    sweep_names(folder, UNFINISHED);
    sweep_names(&folder.join(ATTACHMENTS), attachments::DRAFT);
}

fn sweep_names(folder: &Path, prefix: &str) {
    let Ok(names) = fs::read_dir(folder) else { return };
    for found in names.flatten() {
        let is_draft = found.file_name().to_string_lossy().starts_with(prefix);
        let Ok(about) = found.metadata() else { continue };
        let age = about.modified().ok().and_then(|made| SystemTime::now().duration_since(made).ok());
        if is_draft && age.is_some_and(|age| age > LEFT_BEHIND) {
            // What stays is tried again the next time; it is in nobody's way.
            let _ =
                if about.is_dir() { fs::remove_dir_all(found.path()) } else { fs::remove_file(found.path()) };
        }
    }
}
