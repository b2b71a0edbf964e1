//! A snapshot of the folded booth beside a great logbook: disposable, never the truth.
//!
//! It says what it was made of (the code that folded, the layout, every device's head), and where anything about it is
//! not as it should be, the entries are folded again and nobody hears of it. An ordinary booth never has one.
//!
//! ```text
//! magic (8)  key (32): SHA-256 over code key, layout, heads, latest arrival number
//! number of sections (4), then for each: length (8), SHA-256 (32); a SHA-256 (32) over all of this
//! the sections: machines in several, each decoded by a thread of its own; the last holds everything else
//! ```

use crate::{DeviceHead, Hash};
use logbook::{CODE_KEY, Folded, MachineId, booth::Machine};
use serde::{Serialize, de::DeserializeOwned};
use sha2::{Digest, Sha256};
use std::{fs, io::Write, path::Path, thread};

/// The snapshot's file in the data folder.
pub(crate) const FILE: &str = "folded.snapshot";

/// From this many entries on a snapshot is worth its file: fewer are folded within a twentieth of a second.
pub(crate) const WORTH_A_SNAPSHOT: usize = 50_000;

const MAGIC: &[u8; 8] = b"BwFold\x00\x01";
const HASH: usize = size_of::<Hash>();
/// Length and hash of one section.
const SECTION: usize = 8 + HASH;
/// What comes before the list of sections.
const BEFORE_SECTIONS: usize = MAGIC.len() + HASH + 4;

/// Machines are dealt out to so many sections; a computer with fewer cores decodes several in one thread's time.
const MACHINE_SECTIONS: usize = 8;

/// What a logbook holds, in so far as it decides what the fold gives.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Key(Hash);

impl Key {
    pub(crate) fn new(layout: i64, heads: &[DeviceHead], latest_seq: u64) -> Self {
        Self::of_code(CODE_KEY, layout, heads, latest_seq)
    }

    fn of_code(code: &str, layout: i64, heads: &[DeviceHead], latest_seq: u64) -> Self {
        let mut sha = Sha256::new();
        sha.update((code.len() as u64).to_be_bytes());
        sha.update(code);
        sha.update(layout.to_be_bytes());
        sha.update(latest_seq.to_be_bytes());
        for head in heads {
            sha.update(head.device.0.as_bytes());
            sha.update(head.number.to_be_bytes());
            sha.update(head.hash);
        }
        Self(sha.finalize().into())
    }
}

/// Reads the snapshot in a folder, if there is one that is whole and was made of just this.
pub(crate) fn read(folder: &Path, key: &Key) -> Option<Folded> {
    let bytes = fs::read(folder.join(FILE)).ok()?;
    decode(&bytes, key)
}

/// Leaves a snapshot in a folder, or none if that cannot be done.
///
/// It gets its name when it is complete; it is not seen on to the disk, because its hashes tell whether it got there.
pub(crate) fn write(folder: &Path, key: &Key, folded: &mut Folded) {
    let Ok(bytes) = encode(key, folded) else { return };
    // A folder that cannot be written, or a disk that is full, costs nothing but the time to fold again.
    let _ =
        tempfile::Builder::new().prefix(".unfinished-snapshot-").tempfile_in(folder).and_then(|mut file| {
            file.write_all(&bytes)?;
            file.persist(folder.join(FILE)).map_err(|error| error.error)
        });
}

/// Takes the snapshot away, if there is one.
pub(crate) fn remove(folder: &Path) {
    // One that stays is found out by its key.
    let _ = fs::remove_file(folder.join(FILE));
}

/// Writes a folded booth; it is the same again when this returns.
fn encode(key: &Key, folded: &mut Folded) -> postcard::Result<Vec<u8>> {
    let machines = std::mem::take(&mut folded.booth.machines);
    let sections = sections(folded, &machines.iter().collect::<Vec<_>>());
    folded.booth.machines = machines;
    let sections = sections?;
    let mut head = MAGIC.to_vec();
    head.extend(key.0);
    head.extend((sections.len() as u32).to_le_bytes());
    for section in &sections {
        head.extend((section.len() as u64).to_le_bytes());
        head.extend(sha(section));
    }
    head.extend(sha(&head));
    head.extend(sections.iter().flatten());
    Ok(head)
}

fn sections(rest: &Folded, machines: &[(&MachineId, &Machine)]) -> postcard::Result<Vec<Vec<u8>>> {
    let n_each = machines.len().div_ceil(MACHINE_SECTIONS).max(1);
    thread::scope(|scope| {
        let chunks: Vec<_> =
            machines.chunks(n_each).map(|chunk| scope.spawn(move || section(chunk))).collect();
        let rest = section(rest);
        chunks.into_iter().map(join).chain([rest]).collect()
    })
}

fn section(value: &(impl Serialize + ?Sized)) -> postcard::Result<Vec<u8>> {
    postcard::to_stdvec(value)
}

/// Reads a folded booth, if the bytes are whole and were made of just this.
fn decode(bytes: &[u8], key: &Key) -> Option<Folded> {
    let (machines, rest) = split(bytes, key)?;
    let (chunks, folded) = thread::scope(|scope| {
        let chunks: Vec<_> = machines
            .into_iter()
            .map(|part| scope.spawn(move || read_section::<Vec<(MachineId, Machine)>>(part)))
            .collect();
        let folded = read_section::<Folded>(rest);
        (chunks.into_iter().map(join).collect::<Option<Vec<_>>>(), folded)
    });
    let (chunks, mut folded) = (chunks?, folded?);
    folded.booth.machines.reserve(chunks.iter().map(Vec::len).sum());
    folded.booth.machines.extend(chunks.into_iter().flatten());
    Some(folded)
}

/// A section as it stands in the file, and the hash it should have.
type Part<'b> = (&'b [u8], &'b [u8]);

/// Finds the sections: those of machines, and the rest.
fn split<'b>(bytes: &'b [u8], key: &Key) -> Option<(Vec<Part<'b>>, Part<'b>)> {
    let after_key = bytes.strip_prefix(MAGIC)?.strip_prefix(&key.0)?;
    let n_sections = u32::from_le_bytes(*after_key.first_chunk()?) as usize;
    let n_head = n_sections.checked_mul(SECTION)?.checked_add(BEFORE_SECTIONS)?;
    let (head, after_head) = bytes.split_at_checked(n_head)?;
    let (head_hash, mut left) = after_head.split_at_checked(HASH)?;
    if head_hash != sha(head) {
        return None;
    }
    let mut parts = Vec::with_capacity(n_sections);
    for line in head[BEFORE_SECTIONS..].chunks_exact(SECTION) {
        let (length, hash) = line.split_first_chunk()?;
        let (section, after) = left.split_at_checked(usize::try_from(u64::from_le_bytes(*length)).ok()?)?;
        parts.push((section, hash));
        left = after;
    }
    let rest = parts.pop()?;
    left.is_empty().then_some((parts, rest))
}

/// Reads a section once its hash was checked: only bytes of our own making reach the decoder.
fn read_section<T: DeserializeOwned>((section, hash): Part<'_>) -> Option<T> {
    if sha(section) != hash {
        return None;
    }
    let (value, left) = postcard::take_from_bytes(section).ok()?;
    left.is_empty().then_some(value)
}

fn sha(bytes: &[u8]) -> Hash {
    Sha256::digest(bytes).into()
}

fn join<T>(thread: thread::ScopedJoinHandle<'_, T>) -> T {
    thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

#[cfg(test)]
mod tests;
