//! Trouble with the disk: a clear message, and nothing lost.
//!
//! Where this user may mount a small file system, a real full disk and a real read-only disk are tried. The same
//! refusals without a mount are tried in `src/sqlite/tests.rs`, so they are tried everywhere.

use crate::common::{device, note};
use logbook::Entry;
use std::{
    path::{Path, PathBuf},
    process::Command,
};
use store::{AttachmentId, EntryStore, SqliteStore, StoreError};

/// A small file system in memory, taken down at the end.
struct SmallDisk {
    folder: tempfile::TempDir,
}

impl SmallDisk {
    /// Mounts one; `None` where this user may not.
    fn mount(size: &str) -> Option<Self> {
        let disk = Self { folder: tempfile::tempdir().unwrap() };
        let mounted = disk.mount_with(&["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"]);
        mounted.then_some(disk)
    }

    fn mount_with(&self, options: &[&str]) -> bool {
        let mount = Command::new("mount").args(options).arg(self.path()).output();
        mount.is_ok_and(|mount| mount.status.success())
    }

    fn remount(&self, options: &str) {
        assert!(self.mount_with(&["-o", &format!("remount,{options}")]), "remount with {options}");
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.path()).output();
    }
}

/// Appends until the disk is full; returns what was acknowledged and the refusal.
fn fill(store: &SqliteStore, from: u64) -> (Vec<Entry>, StoreError) {
    let mut acknowledged = Vec::new();
    for first in (from..).step_by(10) {
        let batch: Vec<_> = (first..first + 10).map(|number| note(number, device(1))).collect();
        match store.append(&batch) {
            Ok(_) => acknowledged.extend(batch),
            Err(error) => return (acknowledged, error),
        }
    }
    unreachable!("a disk of a few hundred kilobytes is never full");
}

fn assert_tells_full(error: &StoreError) {
    assert!(matches!(error, StoreError::DiskFull { .. }), "{error:?}");
    let text = error.to_string();
    assert!(text.contains("is full") && text.contains("free some space"), "{text}");
}

fn assert_tells_read_only(error: &StoreError) {
    assert!(matches!(error, StoreError::ReadOnly { .. }), "{error:?}");
    assert!(error.to_string().contains("make the folder writable"), "{error}");
}

#[test]
fn a_full_disk_is_told_and_loses_nothing() {
    let Some(disk) = SmallDisk::mount("1m") else { return without_a_mount() };
    let store = SqliteStore::open_as(disk.path(), device(1)).unwrap();
    let (mut kept, error) = fill(&store, 0);
    assert_tells_full(&error);
    assert!(kept.len() > 100, "{}", kept.len());
    assert_eq!(store.entries().unwrap(), kept);
    assert!(store.verify().unwrap().is_sound());
    let error = store.attachments().put(&vec![7; 400_000]).unwrap_err();
    assert_tells_full(&error);
    assert!(store.attachments().list().unwrap().is_empty());
    let backup = disk.path().join("backup");
    assert_tells_full(&store.backup_to(&backup, &mut |_| ()).unwrap_err());
    assert!(!backup.exists());
    drop(store);
    // Opening needs no room to speak of, so that one can look before one clears up.
    disk.remount("size=8m");
    let store = SqliteStore::open_as(disk.path(), device(1)).unwrap();
    assert_eq!(store.entries().unwrap(), kept);
    let more = note(9_999_999, device(1));
    store.append(std::slice::from_ref(&more)).unwrap();
    kept.push(more);
    assert_eq!(store.entries().unwrap(), kept);
    assert!(store.verify().unwrap().is_sound());
}

#[test]
fn a_disk_too_small_for_a_logbook_is_told() {
    let Some(disk) = SmallDisk::mount("16k") else { return without_a_mount() };
    assert_tells_full(&SqliteStore::open(disk.path()).unwrap_err());
    disk.remount("size=1m");
    assert!(SqliteStore::open(disk.path()).unwrap().entries().unwrap().is_empty());
}

#[test]
fn a_read_only_disk_is_told_and_loses_nothing() {
    let Some(disk) = SmallDisk::mount("4m") else { return without_a_mount() };
    let store = SqliteStore::open_as(disk.path(), device(1)).unwrap();
    let kept = [note(1, device(1))];
    store.append(&kept).unwrap();
    drop(store);
    disk.remount("ro");
    assert_tells_read_only(&SqliteStore::open(disk.path()).unwrap_err());
    assert_tells_read_only(&SqliteStore::open_existing(disk.path()).unwrap_err());
    assert_tells_read_only(&SqliteStore::open(disk.path().join("new")).unwrap_err());
    let looked = SqliteStore::open_to_read(disk.path()).unwrap();
    assert_eq!(looked.entries().unwrap(), kept);
    assert!(looked.verify().unwrap().is_sound());
    assert_tells_read_only(&looked.append(&[note(2, device(1))]).unwrap_err());
    drop(looked);
    disk.remount("rw");
    let store = SqliteStore::open_existing(disk.path()).unwrap();
    assert_eq!(store.entries().unwrap(), kept);
    assert!(store.verify().unwrap().is_sound());
}

/// Without a mount the same is tried with a folder that this user may not write; a user who may write everything can
/// also mount, or is fenced in so that neither says anything.
fn without_a_mount() {
    let folder = tempfile::tempdir().unwrap();
    drop(SqliteStore::open_as(folder.path(), device(1)).unwrap());
    let mut permissions = std::fs::metadata(folder.path()).unwrap().permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(folder.path(), permissions.clone()).unwrap();
    let may_write_anyway = tempfile::tempfile_in(folder.path()).is_ok();
    if !may_write_anyway {
        assert_tells_read_only(&SqliteStore::open(folder.path()).unwrap_err());
        assert!(SqliteStore::open_to_read(folder.path()).unwrap().entries().unwrap().is_empty());
    }
    #[expect(clippy::permissions_set_readonly_false, reason = "a temporary folder, about to be removed")]
    permissions.set_readonly(false);
    std::fs::set_permissions(folder.path(), permissions).unwrap();
}

#[test]
fn a_folder_that_cannot_be_made_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    std::fs::write(&file, "in the way").unwrap();
    let error = SqliteStore::open(file.join("booth")).unwrap_err();
    assert!(error.to_string().contains("could not make"), "{error}");
    let error = SqliteStore::open(&file).unwrap_err();
    assert!(error.to_string().contains(&file.display().to_string()), "{error}");
}

#[test]
fn a_missing_attachment_that_an_entry_names_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open_as(folder.path(), device(1)).unwrap();
    let kept = store.attachments().put(b"\x89PNG\r\n\x1A\n and a picture").unwrap();
    let lost = AttachmentId([9; 32]);
    let photos = vec![kept.id.to_string(), lost.to_string()];
    let words = "The gate before and after".to_owned();
    let note = crate::common::entry(1, device(1), logbook::fact::Noted { about: None, words, photos }.into());
    store.append(std::slice::from_ref(&note)).unwrap();
    let its = AttachmentId([8; 32]);
    let inspected = format!(r#"{{"print":"feature","reel":1,"how":"bench","photos":["{its}"]}}"#);
    let inspected = logbook::wire::decode_fact("print-inspected", 1, &inspected);
    assert_eq!(inspected.files().len(), 1, "{inspected:?}");
    let inspection = crate::common::entry(2, device(1), inspected);
    store.append(std::slice::from_ref(&inspection)).unwrap();
    let faults = store.verify_attachments().unwrap();
    let missing = |id, entry: &logbook::Entry| store::AttachmentFault::Missing { id, entry: entry.id };
    assert_eq!(faults, [missing(lost, &note), missing(its, &inspection)]);
    let path: PathBuf = store.attachments().folder().join(&kept.id.to_string()[..2]);
    std::fs::remove_dir_all(path).unwrap();
    assert_eq!(store.verify_attachments().unwrap().len(), 3);
}

#[test]
fn an_emptied_file_is_told_and_not_begun_anew() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("logbook.db");
    std::fs::write(&file, "").unwrap();
    for opened in [SqliteStore::open_existing(folder.path()), SqliteStore::open_to_read(folder.path())] {
        let refused = opened.unwrap_err();
        assert!(matches!(refused, StoreError::Empty { .. }), "{refused:?}");
        assert!(refused.to_string().contains("restore the latest backup"), "{refused}");
    }
    assert_eq!(std::fs::metadata(&file).unwrap().len(), 0);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn what_was_left_half_made_is_swept_after_a_day() {
    let folder = tempfile::tempdir().unwrap();
    drop(SqliteStore::open_as(folder.path(), device(1)).unwrap());
    let attachments = folder.path().join("attachments");
    std::fs::create_dir_all(&attachments).unwrap();
    let (old, new) = (attachments.join(".draft-old"), attachments.join(".draft-new"));
    let unfinished = folder.path().join(".unfinished-snapshot-old");
    for path in [&old, &new, &unfinished] {
        std::fs::write(path, "half of it").unwrap();
    }
    let long_ago = std::time::SystemTime::now() - std::time::Duration::from_hours(25);
    for path in [&old, &unfinished] {
        let file = std::fs::File::options().write(true).open(path).unwrap();
        file.set_modified(long_ago).unwrap();
    }
    drop(SqliteStore::open_existing(folder.path()).unwrap());
    assert!(!old.exists() && !unfinished.exists());
    assert!(new.exists(), "somebody may be at work on it");
}
