#![allow(clippy::unwrap_used)]

use super::*;
use crate::{EntryStore, SqliteStore, sqlite::layout};
use logbook::{
    DeviceId, Entry, EntryId, Fact, PersonId, Precision, When,
    fact::{Noted, PersonAdded, Role},
};
use tempfile::TempDir;
use uuid::Uuid;

const DEVICE: DeviceId = DeviceId(Uuid::from_u128(1));

fn entry(number: u64, fact: Fact) -> Entry {
    let at = When { unix_ms: number.cast_signed(), offset_s: 3_600, precision: Precision::Minute };
    Entry {
        id: EntryId(Uuid::from_u128(u128::from(number) + 1)),
        device: DEVICE,
        happened: at,
        recorded: at,
        by: PersonId::new("ines"),
        fact,
    }
}

fn note(number: u64) -> Entry {
    let words = format!("Trimmed the loop, {number}.");
    entry(number, Fact::Noted(Noted { about: None, words, photos: vec![] }))
}

fn person(number: u64) -> Entry {
    entry(
        number,
        Fact::PersonAdded(PersonAdded {
            person: "ines".into(),
            name: "Ines".to_owned(),
            role: Role::Technician,
        }),
    )
}

/// A logbook with a few entries that has been folded once, so that a snapshot lies beside it.
fn with_snapshot() -> (TempDir, SqliteStore) {
    let folder = tempfile::tempdir().unwrap();
    let store = open(&folder);
    let entries: Vec<_> = [person(0)].into_iter().chain((1..20).map(note)).collect();
    store.append(&entries).unwrap();
    store.folded().unwrap();
    (folder, store)
}

/// Opens the logbook as another program would.
fn open(folder: &TempDir) -> SqliteStore {
    SqliteStore::open_as(folder.path(), DEVICE).unwrap().snapshots_from(1)
}

fn key_of(store: &SqliteStore) -> Key {
    let heads: Vec<_> = store.verify().unwrap().heads;
    Key::new(layout::NEWEST, &heads, store.head().unwrap().seq)
}

fn truth(store: &SqliteStore) -> Folded {
    logbook::fold(store.entries().unwrap())
}

/// A booth that no logbook here adds up to: whoever sees it has read the snapshot.
fn mark(folder: &TempDir, key: &Key) -> Folded {
    let mut folded = Folded::default();
    folded.booth.settings.name = "from the snapshot".to_owned();
    write(folder.path(), key, &mut folded);
    folded
}

fn names(folder: &TempDir) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_snapshot_is_the_fold() {
    let (folder, store) = with_snapshot();
    assert_eq!(read(folder.path(), &key_of(&store)).unwrap(), truth(&store));
    assert_eq!(open(&folder).folded().unwrap(), truth(&store));
}

#[test]
fn another_program_reads_the_snapshot_and_not_the_entries() {
    let (folder, store) = with_snapshot();
    let marked = mark(&folder, &key_of(&store));
    assert_eq!(open(&folder).folded().unwrap(), marked);
    store.forget_snapshot();
    assert_eq!(open(&folder).folded().unwrap(), truth(&store));
}

#[test]
fn what_was_written_since_is_seen_by_everybody() {
    let (folder, store) = with_snapshot();
    mark(&folder, &key_of(&store));
    let other = open(&folder);
    other.append(&[note(50)]).unwrap();
    for store in [&store, &other] {
        let folded = store.folded().unwrap();
        assert_eq!(folded, truth(store));
        assert_eq!(folded.booth.notes.last().unwrap().words, "Trimmed the loop, 50.");
    }
}

#[test]
fn an_ordinary_booth_has_none() {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open_as(folder.path(), DEVICE).unwrap();
    store.append(&(0..200).map(note).collect::<Vec<_>>()).unwrap();
    assert_eq!(store.folded().unwrap().entries, 200);
    assert!(!names(&folder).iter().any(|name| name == FILE));
}

#[test]
fn any_damage_has_the_entries_folded_again() {
    let (folder, store) = with_snapshot();
    let (key, path) = (key_of(&store), folder.path().join(FILE));
    let whole = fs::read(&path).unwrap();
    let truth = truth(&store);
    for place in 0..whole.len() {
        let mut flipped = whole.clone();
        flipped[place] ^= 1 << (place % 8);
        assert!(decode(&flipped, &key).is_none(), "a bit flipped in byte {place}");
        assert!(decode(&whole[..place], &key).is_none(), "cut off after {place} bytes");
    }
    assert!(decode(&[whole.clone(), vec![0]].concat(), &key).is_none(), "a byte too many");
    fs::write(&path, &whole[..whole.len() - 1]).unwrap();
    assert_eq!(open(&folder).folded().unwrap(), truth);
    assert_eq!(fs::read(&path).unwrap(), whole, "whoever folds again leaves a sound one");
}

#[test]
fn other_code_another_layout_or_another_chain_is_another_key() {
    let head = |number, byte| DeviceHead { device: DEVICE, number, hash: [byte; 32] };
    let key = |code, layout, heads: &[_], seq| Key::of_code(code, layout, heads, seq);
    let this = key("a", 1, &[head(3, 7)], 3);
    assert_eq!(this, key("a", 1, &[head(3, 7)], 3));
    let others = [
        key("b", 1, &[head(3, 7)], 3),
        key("a", 2, &[head(3, 7)], 3),
        key("a", 1, &[head(4, 7)], 3),
        key("a", 1, &[head(3, 8)], 3),
        key("a", 1, &[head(3, 7)], 4),
        key("a", 1, &[], 3),
    ];
    let mut folded = Folded::default();
    let bytes = encode(&this, &mut folded).unwrap();
    assert_eq!(decode(&bytes, &this), Some(folded));
    for other in others {
        assert!(decode(&bytes, &other).is_none());
    }
}

#[test]
fn where_none_can_be_left_nothing_else_changes() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(&folder);
    store.append(&[note(0)]).unwrap();
    fs::create_dir(folder.path().join(FILE)).unwrap();
    assert_eq!(store.folded().unwrap(), truth(&store));
    assert_eq!(store.folded().unwrap(), truth(&store));
    assert!(!names(&folder).iter().any(|name| name.starts_with(".unfinished")), "{:?}", names(&folder));
    write(&folder.path().join("not there"), &key_of(&store), &mut Folded::default());
}

#[test]
fn a_store_that_folds_again_and_again_writes_one() {
    let (folder, store) = with_snapshot();
    let first = fs::read(folder.path().join(FILE)).unwrap();
    store.append(&[note(60)]).unwrap();
    store.folded().unwrap();
    assert_eq!(fs::read(folder.path().join(FILE)).unwrap(), first);
}

#[test]
fn neither_a_backup_nor_a_restored_logbook_has_one() {
    let (folder, store) = with_snapshot();
    let backup = folder.path().join("backup");
    store.backup_to(&backup, &mut |_| ()).unwrap();
    let opened = SqliteStore::open_to_verify(&backup).unwrap().snapshots_from(1);
    assert_eq!(opened.folded().unwrap(), truth(&store));
    assert!(!backup.join(FILE).exists());
    let key = key_of(&store);
    mark(&folder, &key);
    let truth = truth(&store);
    drop(store);
    crate::restore(&backup, folder.path(), true, &mut |_| ()).unwrap();
    assert!(!folder.path().join(FILE).exists());
    mark(&folder, &key);
    let restored = open(&folder);
    assert_eq!(
        restored.folded().unwrap().booth,
        truth.booth,
        "it writes as another device, so the old key is void"
    );
}
