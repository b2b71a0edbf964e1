//! Folders and files that get their names only when they are whole.

use crate::{StoreError, attachments::sync_folder, error::Doing};
use std::{
    fs,
    path::{Path, PathBuf},
};
use tempfile::TempDir;

/// Makes a folder beside the one that is meant, on the same file system; it vanishes if it is not put in place.
pub(super) fn beside(target: &Path) -> Result<TempDir, StoreError> {
    inside(&parent_of(target), ".unfinished-backup-")
}

/// Makes a folder for unfinished work inside another.
pub(super) fn inside(folder: &Path, prefix: &str) -> Result<TempDir, StoreError> {
    fs::create_dir_all(folder).doing("make", folder)?;
    tempfile::Builder::new().prefix(prefix).tempdir_in(folder).doing("write in", folder)
}

/// Gives a whole folder its name.
pub(super) fn put_in_place(stage: TempDir, target: &Path) -> Result<(), StoreError> {
    if target.symlink_metadata().is_ok() {
        return Err(StoreError::AlreadyThere { path: target.to_owned() });
    }
    open_to_its_owner_like(stage.path(), &parent_of(target));
    fs::rename(stage.path(), target).doing("write", target)?;
    // It has another name now, so there is nothing left to remove.
    let _ = stage.keep();
    sync_folder(&parent_of(target))
}

/// Gives a folder, made for this user only, the permissions of another; where that cannot be done it stays private.
fn open_to_its_owner_like(folder: &Path, model: &Path) {
    if let Ok(model) = fs::metadata(model) {
        let _ = fs::set_permissions(folder, model.permissions());
    }
}

/// Copies a file and sees it on to the disk, making its folder.
pub(super) fn copy(from: &Path, to: &Path) -> Result<(), StoreError> {
    let shelf = parent_of(to);
    fs::create_dir_all(&shelf).doing("make", &shelf)?;
    fs::copy(from, to).doing("copy", from)?;
    fs::File::open(to).and_then(|file| file.sync_all()).doing("write", to)?;
    sync_folder(&shelf)
}

/// Returns the folder that holds a path.
pub(super) fn parent_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}
