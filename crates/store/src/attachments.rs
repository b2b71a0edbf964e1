//! Photos and recordings beside the logbook, each in a file named by its SHA-256.

use crate::{Hash, MediaType, StoreError, chain::hex, error::Doing};
use sha2::{Digest, Sha256};
use std::{
    fmt, fs,
    io::{self, Read, Write},
    path::{Path, PathBuf},
    str::FromStr,
};

/// The largest attachment that is taken, in bytes: an hour of stereo at 48 kHz and 24 bits (1.04 GB) fits.
pub const LARGEST_ATTACHMENT: u64 = 2 << 30;

/// An attachment's name: the SHA-256 of its bytes, written as 64 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct AttachmentId(pub Hash);

impl fmt::Display for AttachmentId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex(&self.0))
    }
}

impl fmt::Debug for AttachmentId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "AttachmentId({self})")
    }
}

impl FromStr for AttachmentId {
    type Err = StoreError;

    fn from_str(text: &str) -> Result<Self, StoreError> {
        let bad = || StoreError::BadAttachmentId { text: text.to_owned() };
        let digits = text.as_bytes();
        let mut hash = [0; 32];
        if digits.len() != 2 * hash.len() {
            return Err(bad());
        }
        for (byte, pair) in hash.iter_mut().zip(digits.chunks_exact(2)) {
            let digit = |at: usize| pair.get(at).and_then(|digit| char::from(*digit).to_digit(16));
            let (Some(high), Some(low)) = (digit(0), digit(1)) else { return Err(bad()) };
            *byte = (high * 16 + low) as u8;
        }
        Ok(Self(hash))
    }
}

/// An attachment that is kept.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Attachment {
    /// Its name.
    pub id: AttachmentId,
    /// Its size in bytes.
    pub bytes: u64,
    /// What it seems to be.
    pub media: MediaType,
}

/// What is wrong with an attachment.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum AttachmentFault {
    /// Its bytes are not those that its name stands for.
    #[error("attachment {id} was altered")]
    Altered {
        /// Its name.
        id: AttachmentId,
    },
    /// An entry names it, and it is not there.
    #[error("attachment {id}, named by entry {entry}, is missing")]
    Missing {
        /// Its name.
        id: AttachmentId,
        /// The entry.
        entry: logbook::EntryId,
    },
    /// A file that does not belong there.
    #[error("{} is not an attachment", path.display())]
    Stray {
        /// The file.
        path: PathBuf,
    },
}

/// An attachment that was taken in and is not kept yet; let go, it leaves nothing behind.
#[derive(Debug)]
pub struct Draft {
    attachments: Attachments,
    file: tempfile::NamedTempFile,
    taken: Attachment,
}

impl Draft {
    /// Opens it to be read from its beginning.
    pub fn open(&self) -> Result<fs::File, StoreError> {
        self.file.reopen().doing("read", self.file.path())
    }

    /// Keeps it, and returns its name once it is on disk.
    pub fn keep(self) -> Result<Attachment, StoreError> {
        self.file.as_file().sync_all().doing("write", self.file.path())?;
        self.attachments.file_away(self.file, self.taken)
    }
}

/// The attachments of a data folder.
#[derive(Clone, Debug)]
pub struct Attachments {
    folder: PathBuf,
    largest: u64,
}

impl Attachments {
    /// Looks after the attachments in a folder; the folder is made when the first one comes.
    pub fn in_folder(folder: impl Into<PathBuf>) -> Self {
        Self { folder: folder.into(), largest: LARGEST_ATTACHMENT }
    }

    /// Takes attachments of at most so many bytes.
    #[must_use]
    pub fn up_to(self, largest: u64) -> Self {
        Self { largest, ..self }
    }

    /// Returns the folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Keeps some bytes and returns their name once they are on disk; the same bytes are kept once.
    pub fn put(&self, bytes: &[u8]) -> Result<Attachment, StoreError> {
        self.put_from(&mut &*bytes)
    }

    /// Keeps what a reader gives, without holding it in memory.
    pub fn put_from(&self, reader: &mut dyn Read) -> Result<Attachment, StoreError> {
        self.draft_from(reader)?.keep()
    }

    /// Takes in what a reader gives, without holding it in memory and without keeping it yet: so that it can be looked
    /// at first.
    pub fn draft_from(&self, reader: &mut dyn Read) -> Result<Draft, StoreError> {
        fs::create_dir_all(&self.folder).doing("make", &self.folder)?;
        let mut file = tempfile::Builder::new()
            .prefix(DRAFT)
            .tempfile_in(&self.folder)
            .doing("write in", &self.folder)?;
        let taken = self.copy(reader, file.as_file_mut())?;
        Ok(Draft { attachments: self.clone(), file, taken })
    }

    fn copy(&self, reader: &mut dyn Read, file: &mut fs::File) -> Result<Attachment, StoreError> {
        let mut sha = Sha256::new();
        let mut beginning = Vec::with_capacity(MediaType::ENOUGH);
        let mut bytes = 0_u64;
        let mut buffer = vec![0; 64 * 1024];
        loop {
            let n_read = match reader.read(&mut buffer) {
                Ok(0) => break,
                Ok(n_read) => n_read,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(StoreError::io("take in an attachment for", &self.folder, error)),
            };
            let piece = buffer.get(..n_read).expect("a reader never reads more than it is given room for");
            bytes += n_read as u64;
            if bytes > self.largest {
                return Err(StoreError::AttachmentTooLarge { limit: self.largest });
            }
            let wanted = MediaType::ENOUGH.saturating_sub(beginning.len());
            beginning.extend(piece.iter().take(wanted));
            sha.update(piece);
            file.write_all(piece).doing("write in", &self.folder)?;
        }
        Ok(Attachment { id: AttachmentId(sha.finalize().into()), bytes, media: MediaType::of(&beginning) })
    }

    /// Gives a written draft its name, unless those bytes are kept already and whole.
    fn file_away(&self, draft: tempfile::NamedTempFile, taken: Attachment) -> Result<Attachment, StoreError> {
        let path = self.path_of(taken.id);
        if self.is_whole(taken.id).unwrap_or(false) {
            return Ok(taken);
        }
        let shelf = path.parent().expect("an attachment lies on a shelf inside the folder");
        fs::create_dir_all(shelf).doing("make", shelf)?;
        draft.persist(&path).map_err(|error| StoreError::io("write", &path, error.error))?;
        sync_folder(shelf)?;
        sync_folder(&self.folder)?;
        Ok(taken)
    }

    /// Returns an attachment's bytes.
    pub fn get(&self, id: AttachmentId) -> Result<Vec<u8>, StoreError> {
        let mut bytes = Vec::new();
        self.open(id)?.read_to_end(&mut bytes).doing("read", &self.path_of(id))?;
        Ok(bytes)
    }

    /// Opens an attachment to read it piece by piece.
    pub fn open(&self, id: AttachmentId) -> Result<fs::File, StoreError> {
        let path = self.path_of(id);
        fs::File::open(&path).map_err(|error| match error.kind() {
            io::ErrorKind::NotFound => {
                StoreError::NoAttachment { id: id.to_string(), path: self.folder.clone() }
            }
            _ => StoreError::io("read", &path, error),
        })
    }

    /// Returns what is known of an attachment without reading all of it.
    pub fn describe(&self, id: AttachmentId) -> Result<Attachment, StoreError> {
        let path = self.path_of(id);
        let file = self.open(id)?;
        let bytes = file.metadata().doing("read", &path)?.len();
        let mut beginning = Vec::new();
        file.take(MediaType::ENOUGH as u64).read_to_end(&mut beginning).doing("read", &path)?;
        Ok(Attachment { id, bytes, media: MediaType::of(&beginning) })
    }

    /// Returns the names of all attachments, sorted.
    pub fn list(&self) -> Result<Vec<AttachmentId>, StoreError> {
        Ok(self.shelves()?.0)
    }

    /// Returns names and stray files, both sorted.
    fn shelves(&self) -> Result<(Vec<AttachmentId>, Vec<PathBuf>), StoreError> {
        let (mut ids, mut strays) = (Vec::new(), Vec::new());
        for shelf in files_in(&self.folder)? {
            if !shelf.is_dir() {
                if !is_draft(&shelf) {
                    strays.push(shelf);
                }
                continue;
            }
            for file in files_in(&shelf)? {
                match id_of(&shelf, &file) {
                    Some(id) => ids.push(id),
                    None => strays.push(file),
                }
            }
        }
        ids.sort_unstable();
        strays.sort_unstable();
        Ok((ids, strays))
    }

    /// Reads every attachment again and returns what is wrong with them.
    ///
    /// Whether all are there that entries name is checked by [`crate::SqliteStore::verify_attachments`].
    pub fn verify(&self) -> Result<Vec<AttachmentFault>, StoreError> {
        let (ids, strays) = self.shelves()?;
        let mut faults: Vec<_> = strays.into_iter().map(|path| AttachmentFault::Stray { path }).collect();
        for id in ids {
            if !self.is_whole(id)? {
                faults.push(AttachmentFault::Altered { id });
            }
        }
        Ok(faults)
    }

    fn is_whole(&self, id: AttachmentId) -> Result<bool, StoreError> {
        Ok(file_hash(&mut self.open(id)?).doing("read", &self.path_of(id))? == id.0)
    }

    /// Returns where an attachment lies or would lie.
    pub(crate) fn path_of(&self, id: AttachmentId) -> PathBuf {
        let name = id.to_string();
        let (shelf, rest) = name.split_at(2);
        self.folder.join(shelf).join(rest)
    }
}

/// How the name of a file begins that is still being written.
pub(crate) const DRAFT: &str = ".draft-";

fn is_draft(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(DRAFT))
}

fn id_of(shelf: &Path, file: &Path) -> Option<AttachmentId> {
    let name = format!("{}{}", shelf.file_name()?.to_str()?, file.file_name()?.to_str()?);
    let id: AttachmentId = name.parse().ok()?;
    (id.to_string() == name).then_some(id)
}

/// Returns what lies in a folder; nothing if it is not there.
fn files_in(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let listing = match fs::read_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        listing => listing.doing("read", folder)?,
    };
    listing.map(|file| file.map(|file| file.path())).collect::<io::Result<_>>().doing("read", folder)
}

/// Returns the SHA-256 of what is left in a reader.
pub(crate) fn file_hash(reader: &mut dyn Read) -> io::Result<Hash> {
    let mut sha = Sha256::new();
    let mut buffer = vec![0; 64 * 1024];
    loop {
        match reader.read(&mut buffer) {
            Ok(0) => return Ok(sha.finalize().into()),
            Ok(n_read) => sha.update(buffer.get(..n_read).unwrap_or_default()),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}

/// Makes the names in a folder last through a power cut.
///
/// Only Unix systems let a program do so; elsewhere the file system sees to it by itself.
pub(crate) fn sync_folder(folder: &Path) -> Result<(), StoreError> {
    if cfg!(unix) {
        fs::File::open(folder).and_then(|folder| folder.sync_all()).doing("write", folder)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const WAV: &[u8] = b"RIFF\x24\0\0\0WAVEfmt \x10\0\0\0";

    fn attachments() -> (tempfile::TempDir, Attachments) {
        let folder = tempfile::tempdir().unwrap();
        let attachments = Attachments::in_folder(folder.path().join("attachments"));
        (folder, attachments)
    }

    #[test]
    fn names_agree_with_fips_180_4() {
        // NIST, "SHA-256 example", FIPS 180-4 companion examples: the one-block message "abc".
        let (_folder, attachments) = attachments();
        let kept = attachments.put(b"abc").unwrap();
        assert_eq!(kept.id.to_string(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert!(attachments.folder().join("ba").join(&kept.id.to_string()[2..]).is_file());
    }

    #[test]
    fn the_same_bytes_are_kept_once_and_come_back_as_they_were() {
        let (_folder, attachments) = attachments();
        let first = attachments.put(WAV).unwrap();
        let second = attachments.put_from(&mut io::Cursor::new(WAV)).unwrap();
        assert_eq!(first, second);
        assert_eq!(first.media, MediaType::Wav);
        assert_eq!(attachments.list().unwrap(), [first.id]);
        assert_eq!(attachments.get(first.id).unwrap(), WAV);
        assert_eq!(attachments.describe(first.id).unwrap(), first);
        assert!(attachments.verify().unwrap().is_empty());
    }

    #[test]
    fn too_large_is_refused_and_leaves_nothing_behind() {
        let (_folder, attachments) = attachments();
        let attachments = attachments.up_to(8);
        assert!(attachments.put(b"12345678").is_ok());
        let refused = attachments.put(b"123456789").unwrap_err();
        assert!(refused.to_string().contains("larger than 8 bytes"), "{refused}");
        assert_eq!(attachments.list().unwrap().len(), 1);
        assert_eq!(fs::read_dir(attachments.folder()).unwrap().count(), 1, "no draft is left");
    }

    #[test]
    fn a_draft_can_be_looked_at_and_leaves_nothing_behind_unless_it_is_kept() {
        let (_folder, attachments) = attachments();
        let mut bytes = Vec::new();
        let draft = attachments.draft_from(&mut &*WAV).unwrap();
        draft.open().unwrap().read_to_end(&mut bytes).unwrap();
        assert_eq!(bytes, WAV);
        drop(draft);
        assert_eq!(fs::read_dir(attachments.folder()).unwrap().count(), 0);
        let kept = attachments.draft_from(&mut &*WAV).unwrap().keep().unwrap();
        assert_eq!(attachments.list().unwrap(), [kept.id]);
    }

    #[test]
    fn altered_and_stray_files_are_found_and_mended_by_putting_the_bytes_again() {
        let (_folder, attachments) = attachments();
        let kept = attachments.put(WAV).unwrap();
        fs::write(attachments.path_of(kept.id), b"RIFF").unwrap();
        let stray = attachments.folder().join("notes.txt");
        fs::write(&stray, "hello").unwrap();
        assert_eq!(
            attachments.verify().unwrap(),
            [AttachmentFault::Stray { path: stray.clone() }, AttachmentFault::Altered { id: kept.id }]
        );
        attachments.put(WAV).unwrap();
        assert_eq!(attachments.verify().unwrap(), [AttachmentFault::Stray { path: stray }]);
    }

    #[test]
    fn a_name_that_could_leave_the_folder_is_no_name() {
        for text in ["", "../../etc/passwd", &"g".repeat(64), &"é".repeat(32), &"a".repeat(63)] {
            let refused = text.parse::<AttachmentId>().unwrap_err();
            assert!(refused.to_string().contains("64 hexadecimal digits"));
        }
    }

    #[test]
    fn a_missing_attachment_is_named() {
        let (_folder, attachments) = attachments();
        let id = AttachmentId([7; 32]);
        let error = attachments.get(id).unwrap_err().to_string();
        assert!(error.contains(&id.to_string()) && error.contains("backup"), "{error}");
    }
}
