//! A backup is a folder: `logbook.db` as one plain file, `attachments/`, and `manifest.json` that lists every file with
//! its size and SHA-256 and the head of every device. It gets its name only when it is whole and has been read again.

mod manifest;
mod restoring;
mod stage;

pub use restoring::{RestoreReport, restore};

use crate::{
    AttachmentId, DeviceHead, EntryStore, SqliteStore, StoreError, Verification, attachments::sync_folder,
    error::Doing, sqlite,
};
use manifest::{FileLine, Manifest};
use rusqlite::{Connection, OpenFlags, backup::Backup};
use std::{
    fs,
    path::{Path, PathBuf},
    thread,
    time::Duration,
};

/// The file that lists the others.
pub(crate) const MANIFEST: &str = "manifest.json";

/// What is being done in a backup or a restore.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Stage {
    /// Entries are copied; counted in pages of the file.
    Entries,
    /// Photos and recordings are copied; counted in files.
    Attachments,
    /// Everything is read again; counted in entries.
    Check,
}

/// How far a backup or restore has come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Progress {
    /// What is being done.
    pub stage: Stage,
    /// How much of it is done.
    pub done: u64,
    /// How much there is.
    pub total: u64,
}

/// What a backup holds.
#[derive(Clone, PartialEq, Debug)]
pub struct BackupReport {
    /// Where it is.
    pub folder: PathBuf,
    /// What reading its chains again found: its heads, and anything that was wrong in the logbook already.
    pub verification: Verification,
    /// How many photos and recordings it holds.
    pub attachments: u64,
    /// Photos and recordings that were altered in the data folder; they were copied as they are.
    pub altered: Vec<AttachmentId>,
    /// Its size in bytes.
    pub bytes: u64,
}

impl SqliteStore {
    /// Backs the logbook and its attachments up into a new folder, while others go on writing.
    ///
    /// What is written after it began is not in it. A logbook with faults is backed up as it is, and the report says
    /// so.
    pub fn backup_to(
        &self,
        target: impl AsRef<Path>,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<BackupReport, StoreError> {
        let target = target.as_ref();
        if target.symlink_metadata().is_ok() {
            return Err(StoreError::AlreadyThere { path: target.to_owned() });
        }
        let stage = stage::beside(target)?;
        self.copy_entries(stage.path(), progress)?;
        let verification = read_again(stage.path(), &[], progress)?;
        let (lines, altered) = self.copy_attachments(stage.path(), progress)?;
        let manifest = Manifest::of(stage.path(), &verification, lines)?;
        manifest.write(stage.path())?;
        stage::put_in_place(stage, target)?;
        Ok(BackupReport {
            folder: target.to_owned(),
            verification,
            attachments: manifest.files.len() as u64 - 1,
            altered,
            bytes: manifest.files.iter().map(|file| file.bytes).sum(),
        })
    }

    /// Copies the entries as they are now into a file of their own.
    fn copy_entries(&self, stage: &Path, progress: &mut dyn FnMut(Progress)) -> Result<(), StoreError> {
        /// Pages between two reports.
        const PAGES: i32 = 1024;
        let file = stage.join(sqlite::FILE);
        let doing = "back up into";
        let reader = self.reader()?;
        // A view that is held open: writers go on, and the copy need not begin again when they do.
        let view = reader.unchecked_transaction().doing("read", self.file())?;
        view.query_row("SELECT count(*) FROM device", [], |_| Ok(())).doing("read", self.file())?;
        let mut copy = Connection::open(&file).doing(doing, &file)?;
        let backup = Backup::new(&view, &mut copy).doing(doing, &file)?;
        loop {
            let step = backup.step(PAGES).doing(doing, &file)?;
            let pages = backup.progress();
            let total = u64::try_from(pages.pagecount).unwrap_or(0);
            let left = u64::try_from(pages.remaining).unwrap_or(0);
            progress(Progress { stage: Stage::Entries, done: total.saturating_sub(left), total });
            match step {
                rusqlite::backup::StepResult::Done => return Ok(()),
                rusqlite::backup::StepResult::More => {}
                _ => thread::sleep(Duration::from_millis(5)),
            }
        }
    }

    /// Copies the attachments; returns a line for each, and the names of those that were altered.
    fn copy_attachments(
        &self,
        stage: &Path,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<(Vec<FileLine>, Vec<AttachmentId>), StoreError> {
        let attachments = self.attachments();
        let ids = attachments.list()?;
        let total = ids.len() as u64;
        let (mut lines, mut altered) = (Vec::with_capacity(ids.len()), Vec::new());
        for (id, done) in ids.into_iter().zip(1..) {
            let path = manifest::attachment_path(id);
            stage::copy(&attachments.path_of(id), &stage.join(&path))?;
            let line = FileLine::of(stage, path)?;
            if line.sha256 != id.to_string() {
                altered.push(id);
            }
            lines.push(line);
            progress(Progress { stage: Stage::Attachments, done, total });
        }
        Ok((lines, altered))
    }
}

/// Reads the copied entries again, and leaves the copy as one plain file that is on disk.
fn read_again(
    folder: &Path,
    known: &[DeviceHead],
    progress: &mut dyn FnMut(Progress),
) -> Result<Verification, StoreError> {
    let file = folder.join(sqlite::FILE);
    let store = SqliteStore::open_existing(folder)?;
    let total = store.head()?.count;
    progress(Progress { stage: Stage::Check, done: 0, total });
    let verification = store.verify_against(known)?;
    progress(Progress { stage: Stage::Check, done: total, total });
    drop(store);
    make_plain(&file)?;
    Ok(verification)
}

/// Makes a logbook that nobody has open into one plain file, and sees it on to the disk.
fn make_plain(file: &Path) -> Result<(), StoreError> {
    let doing = "finish";
    let connection = sqlite::connect(file, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    connection.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(())).doing(doing, file)?;
    connection.close().map_err(|(_, error)| error).doing(doing, file)?;
    fs::File::open(file).and_then(|file| file.sync_all()).doing(doing, file)?;
    sync_folder(file.parent().expect("the logbook lies in a folder"))
}
