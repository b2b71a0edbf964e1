//! The list of what a backup holds.

use super::MANIFEST;
use crate::{
    AttachmentId, DeviceHead, Hash, StoreError, Verification,
    attachments::{file_hash, sync_folder},
    chain::hex,
    error::Doing,
    sqlite,
};
use serde::{Deserialize, Serialize};
use std::{fs, io::Write, path::Path};

/// The layout of backups that this program writes.
const FORMAT: u32 = 1;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Manifest {
    format: u32,
    pub(super) entries: u64,
    heads: Vec<HeadLine>,
    /// The logbook first, then the attachments.
    pub(super) files: Vec<FileLine>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct HeadLine {
    device: logbook::DeviceId,
    number: u64,
    hash: String,
}

#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FileLine {
    /// Relative to the backup, with `/`.
    pub(super) path: String,
    pub(super) bytes: u64,
    pub(super) sha256: String,
}

impl FileLine {
    pub(super) fn of(folder: &Path, path: String) -> Result<Self, StoreError> {
        let full = folder.join(&path);
        let mut file = fs::File::open(&full).doing("read", &full)?;
        let bytes = file.metadata().doing("read", &full)?.len();
        let sha256 = hex(&file_hash(&mut file).doing("read", &full)?);
        Ok(Self { path, bytes, sha256 })
    }

    /// Returns the attachment that this line is about; `None` for any other file.
    pub(super) fn attachment(&self) -> Option<AttachmentId> {
        let id: AttachmentId = self.path.strip_prefix("attachments/")?.replacen('/', "", 1).parse().ok()?;
        (attachment_path(id) == self.path).then_some(id)
    }
}

/// Returns where an attachment lies in a backup.
pub(super) fn attachment_path(id: AttachmentId) -> String {
    let name = id.to_string();
    let (shelf, rest) = name.split_at(2);
    format!("{}/{shelf}/{rest}", sqlite::ATTACHMENTS)
}

impl Manifest {
    pub(super) fn of(
        folder: &Path,
        verification: &Verification,
        attachments: Vec<FileLine>,
    ) -> Result<Self, StoreError> {
        let heads = verification.heads.iter().map(|head| HeadLine {
            device: head.device,
            number: head.number,
            hash: hex(&head.hash),
        });
        let mut files = vec![FileLine::of(folder, sqlite::FILE.to_owned())?];
        files.extend(attachments);
        Ok(Self { format: FORMAT, entries: verification.entries, heads: heads.collect(), files })
    }

    pub(super) fn write(&self, folder: &Path) -> Result<(), StoreError> {
        let path = folder.join(MANIFEST);
        let text = serde_json::to_string_pretty(self).expect("a manifest holds only texts and numbers");
        let mut file = fs::File::create_new(&path).doing("write", &path)?;
        file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).doing("write", &path)?;
        sync_folder(folder)
    }

    /// Reads a backup's manifest and checks that every file it lists is there, byte for byte.
    pub(super) fn read_and_check(folder: &Path) -> Result<Self, StoreError> {
        let faulty = |what: String| StoreError::FaultyBackup { path: folder.to_owned(), what };
        let text = fs::read_to_string(folder.join(MANIFEST))
            .map_err(|error| faulty(format!("its {MANIFEST} cannot be read: {error}")))?;
        let manifest: Self = serde_json::from_str(&text)
            .map_err(|error| faulty(format!("its {MANIFEST} is not as it should be: {error}")))?;
        if manifest.format != FORMAT {
            let found = manifest.format;
            return Err(faulty(format!("it has format {found}, this program knows {FORMAT}")));
        }
        let (logbook, attachments) =
            manifest.files.split_first().ok_or_else(|| faulty("it lists no files".to_owned()))?;
        let stranger = attachments.iter().find(|file| file.attachment().is_none());
        if let Some(line) = stranger.or((logbook.path != sqlite::FILE).then_some(logbook)) {
            return Err(faulty(format!("it lists '{}', which no backup holds", line.path)));
        }
        for line in &manifest.files {
            match FileLine::of(folder, line.path.clone()) {
                Ok(there) if there == *line => {}
                Ok(_) => return Err(faulty(format!("'{}' was altered", line.path))),
                Err(error) => return Err(faulty(format!("'{}' cannot be read: {error}", line.path))),
            }
        }
        Ok(manifest)
    }

    /// Returns the heads, or `None` if one is not written as it should be.
    pub(super) fn heads(&self) -> Option<Vec<DeviceHead>> {
        let hash = |text: &str| -> Option<Hash> { text.parse::<AttachmentId>().ok().map(|id| id.0) };
        let head = |line: &HeadLine| {
            Some(DeviceHead { device: line.device, number: line.number, hash: hash(&line.hash)? })
        };
        self.heads.iter().map(head).collect()
    }
}
