//! Restoring from a backup.

use super::{Manifest, Progress, Stage, make_plain, read_again, stage};
use crate::{
    AttachmentId, Attachments, StoreError,
    attachments::sync_folder,
    error::Doing,
    snapshot,
    sqlite::{self, layout},
};
use logbook::DeviceId;
use rusqlite::{Connection, OpenFlags};
use std::{
    fs,
    path::{Path, PathBuf},
    time::Duration,
};

/// The folder in a data folder that keeps logbooks that were replaced.
const SET_ASIDE: &str = "set-aside";

/// What a restore did.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RestoreReport {
    /// How many entries the logbook has now.
    pub entries: u64,
    /// How many photos and recordings came with it.
    pub attachments: u64,
    /// Photos and recordings that were altered already when the backup was made; they were left out.
    pub left_out: Vec<AttachmentId>,
    /// Where the logbook that was there before lies now.
    pub set_aside: Option<PathBuf>,
    /// The device as which the restored logbook writes from here on.
    pub device: DeviceId,
}

/// Restores a backup into a data folder.
///
/// The backup is checked first. A logbook that is there is replaced only if `replace` says so; it is set aside, never
/// destroyed, and stays in place until the restored one is whole. Photos and recordings that are there stay.
pub fn restore(
    backup: impl AsRef<Path>,
    folder: impl AsRef<Path>,
    replace: bool,
    progress: &mut dyn FnMut(Progress),
) -> Result<RestoreReport, StoreError> {
    let (backup, folder) = (backup.as_ref(), folder.as_ref());
    if !replace && folder.join(sqlite::FILE).exists() {
        return Err(StoreError::WouldReplace { path: folder.to_owned() });
    }
    let manifest = Manifest::read_and_check(backup)?;
    let stage = stage::inside(folder, ".unfinished-restore-")?;
    let (entries, device) = stage_entries(backup, &manifest, stage.path(), progress)?;
    let (attachments, left_out) = bring_attachments(backup, &manifest, folder, progress)?;
    let set_aside = put_in_place(stage.path(), folder)?;
    Ok(RestoreReport { entries, attachments, left_out, set_aside, device })
}

/// Copies and checks the entries, and has the copy write as a new device.
fn stage_entries(
    backup: &Path,
    manifest: &Manifest,
    stage: &Path,
    progress: &mut dyn FnMut(Progress),
) -> Result<(u64, DeviceId), StoreError> {
    let faulty = |what: String| StoreError::FaultyBackup { path: backup.to_owned(), what };
    let file = stage.join(sqlite::FILE);
    stage::copy(&backup.join(sqlite::FILE), &file)?;
    let heads = manifest.heads().ok_or_else(|| faulty("a head in its list is not a hash".to_owned()))?;
    let verification = read_again(stage, &heads, progress)?;
    if let Some(finding) = verification.findings.first() {
        return Err(faulty(format!("its logbook is not sound: {finding}")));
    }
    if verification.entries != manifest.entries {
        let (there, listed) = (verification.entries, manifest.entries);
        return Err(faulty(format!("it holds {there} entries, and its list says {listed}")));
    }
    let device = DeviceId(uuid::Uuid::now_v7());
    let mut connection = sqlite::connect(&file, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    let transaction = connection.transaction().doing("write to", &file)?;
    layout::write_as(&transaction, device).and_then(|()| transaction.commit()).doing("write to", &file)?;
    drop(connection);
    make_plain(&file)?;
    Ok((verification.entries, device))
}

/// Puts the photos and recordings into the data folder, beside those that are there.
fn bring_attachments(
    backup: &Path,
    manifest: &Manifest,
    folder: &Path,
    progress: &mut dyn FnMut(Progress),
) -> Result<(u64, Vec<AttachmentId>), StoreError> {
    let attachments = Attachments::in_folder(folder.join(sqlite::ATTACHMENTS));
    let lines: Vec<_> = manifest.files.iter().filter_map(|line| Some((line.attachment()?, line))).collect();
    let total = lines.len() as u64;
    let mut left_out = Vec::new();
    for ((id, line), done) in lines.into_iter().zip(1..) {
        if line.sha256 == id.to_string() {
            let path = backup.join(&line.path);
            attachments.put_from(&mut fs::File::open(&path).doing("read", &path)?)?;
        } else {
            left_out.push(id);
        }
        progress(Progress { stage: Stage::Attachments, done, total });
    }
    Ok((total - left_out.len() as u64, left_out))
}

/// Puts the restored logbook in the place of the one that is there, if any; returns where that one lies now.
fn put_in_place(stage: &Path, folder: &Path) -> Result<Option<PathBuf>, StoreError> {
    snapshot::remove(folder);
    let file = folder.join(sqlite::FILE);
    if !file.exists() {
        // What an SQLite log without its file holds cannot be used, but it must not be taken for the new one's.
        move_logs(&file, || new_aside(folder))?;
        fs::rename(stage.join(sqlite::FILE), &file).doing("write", &file)?;
        sync_folder(folder)?;
        return Ok(None);
    }
    let log = beside(&file, "-wal");
    // A damaged logbook's log would be thrown away when SQLite lets go of it.
    let kept_log = stage.join("kept-log");
    if log.exists() {
        link(&log, &kept_log)?;
    }
    let alone = have_alone(&file)?;
    let aside = new_aside(folder)?;
    link(&file, &aside.join(sqlite::FILE))?;
    sync_folder(&aside)?;
    move_logs(&file, || Ok(aside.clone()))?;
    if alone.is_none() && kept_log.exists() {
        let log = beside(&aside.join(sqlite::FILE), "-wal");
        fs::rename(&kept_log, &log).doing("set aside", &log)?;
    }
    // Held until the new file stands there, so that nobody begins to write to the old one. Some systems cannot
    // replace a file that is open; there it has to be let go just before.
    let held = alone.filter(|_| cfg!(unix));
    fs::rename(stage.join(sqlite::FILE), &file).doing("write", &file)?;
    sync_folder(folder)?;
    drop(held);
    Ok(Some(aside))
}

/// Makes sure that no other program has a logbook open, and makes it one plain file.
///
/// Returns the connection that keeps others out; `None` if the file is too damaged to be opened.
fn have_alone(file: &Path) -> Result<Option<Connection>, StoreError> {
    let alone = sqlite::connect(file, OpenFlags::SQLITE_OPEN_READ_WRITE).and_then(|connection| {
        connection
            .busy_timeout(Duration::from_secs(1))
            .and_then(|()| connection.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(())))
            .and_then(|()| connection.execute_batch("BEGIN EXCLUSIVE"))
            .doing("set aside", file)?;
        Ok(connection)
    });
    match alone {
        Ok(connection) => Ok(Some(connection)),
        Err(StoreError::Busy { path }) => Err(StoreError::InUse { path }),
        Err(StoreError::Damaged { .. } | StoreError::NotALogbook { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}

/// Makes the next folder for a logbook that is replaced.
fn new_aside(folder: &Path) -> Result<PathBuf, StoreError> {
    let asides = folder.join(SET_ASIDE);
    fs::create_dir_all(&asides).doing("make", &asides)?;
    let mut number = 1_u32;
    while asides.join(number.to_string()).exists() {
        number += 1;
    }
    let aside = asides.join(number.to_string());
    fs::create_dir(&aside).doing("make", &aside)?;
    sync_folder(&asides)?;
    Ok(aside)
}

/// Moves SQLite's log files beside a logbook, if there are any, where they cannot be taken for another's.
fn move_logs(file: &Path, aside: impl FnOnce() -> Result<PathBuf, StoreError>) -> Result<(), StoreError> {
    let endings = ["-wal", "-shm", "-journal"];
    let logs: Vec<_> =
        endings.map(|ending| beside(file, ending)).into_iter().filter(|log| log.exists()).collect();
    if logs.is_empty() {
        return Ok(());
    }
    let aside = aside()?;
    for log in logs {
        let name = log.file_name().expect("a log file has a name");
        fs::rename(&log, aside.join(name)).doing("set aside", &log)?;
    }
    sync_folder(&aside)
}

/// Returns the path with something added to the file's name, as SQLite names the files beside its own.
fn beside(file: &Path, ending: &str) -> PathBuf {
    let mut path = file.as_os_str().to_owned();
    path.push(ending);
    PathBuf::from(path)
}

/// Gives a file a second name, or a copy where the file system has no second names.
///
/// The file itself is not opened if that can be helped: on Unix, closing it would let go of SQLite's locks on it.
fn link(file: &Path, second: &Path) -> Result<(), StoreError> {
    match fs::hard_link(file, second) {
        Ok(()) => Ok(()),
        Err(_) => stage::copy(file, second),
    }
}
