//! Trouble that can be made anywhere, without a disk that is really full or read-only.
#![allow(clippy::unwrap_used)]

use super::*;
use logbook::{Fact, PersonId, Precision, When, fact::Noted};
use uuid::Uuid;

fn note(number: u64) -> Entry {
    let at = When { unix_ms: number.cast_signed(), offset_s: 0, precision: Precision::Second };
    Entry {
        id: EntryId(Uuid::from_u128(u128::from(number) + 1)),
        device: DeviceId(Uuid::from_u128(1)),
        happened: at,
        recorded: at,
        by: PersonId::new("ines"),
        fact: Fact::Noted(Noted { about: None, words: "Trimmed the loop. ".repeat(20), photos: vec![] }),
    }
}

fn logbook() -> (tempfile::TempDir, SqliteStore) {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open_as(folder.path(), DeviceId(Uuid::from_u128(1))).unwrap();
    (folder, store)
}

fn assert_kept(store: &SqliteStore, kept: &[Entry]) {
    assert_eq!(store.entries().unwrap(), kept);
    assert!(store.verify().unwrap().is_sound());
}

#[test]
fn a_file_that_may_not_grow_is_a_full_disk() {
    let (_folder, store) = logbook();
    let n_pages: i64 = store.writer().pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    let limit = |pages: i64| {
        store.writer().query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(())).unwrap();
    };
    limit(n_pages + 4);
    let mut kept = Vec::new();
    let error = loop {
        let batch: Vec<_> = (0..5).map(|number| note(kept.len() as u64 + number)).collect();
        match store.append(&batch) {
            Ok(_) => kept.extend(batch),
            Err(error) => break error,
        }
        assert!(kept.len() < 10_000, "four pages cannot hold so much");
    };
    assert!(matches!(error, StoreError::DiskFull { .. }), "{error:?}");
    assert!(error.to_string().contains("free some space"), "{error}");
    assert!(!kept.is_empty());
    assert_kept(&store, &kept);
    limit(1_000_000);
    let next = note(kept.len() as u64);
    assert_eq!(store.append(std::slice::from_ref(&next)).unwrap()[0].number, kept.len() as u64 + 1);
    kept.push(next);
    assert_kept(&store, &kept);
}

#[test]
fn a_connection_that_may_only_read_is_a_read_only_folder() {
    let (_folder, store) = logbook();
    let kept = [note(0)];
    store.append(&kept).unwrap();
    store.writer().pragma_update(None, "query_only", true).unwrap();
    let error = store.append(&[note(1)]).unwrap_err();
    assert!(matches!(error, StoreError::ReadOnly { .. }), "{error:?}");
    assert!(error.to_string().contains("make the folder writable"), "{error}");
    assert_kept(&store, &kept);
}

#[test]
fn a_logbook_that_another_program_writes_for_too_long_is_busy() {
    let (folder, store) = logbook();
    store.writer().busy_timeout(Duration::from_millis(50)).unwrap();
    let other = Connection::open(folder.path().join(FILE)).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = store.append(&[note(0)]).unwrap_err();
    assert!(matches!(error, StoreError::Busy { .. }), "{error:?}");
    assert!(error.to_string().contains("another program is writing"), "{error}");
    assert_kept(&store, &[]);
    other.execute_batch("ROLLBACK").unwrap();
    store.append(&[note(0)]).unwrap();
    assert_kept(&store, &[note(0)]);
}

#[test]
fn every_connection_syncs_in_full() {
    let (_folder, store) = logbook();
    let synchronous: i64 = store.writer().pragma_query_value(None, "synchronous", |row| row.get(0)).unwrap();
    assert_eq!(synchronous, 2, "FULL");
}

#[test]
fn a_great_logbook_is_read_in_parts_and_comes_out_whole() {
    let (_folder, store) = logbook();
    let entries: Vec<_> = (0..25_000)
        .map(|number| Entry {
            fact: Fact::Noted(Noted { about: None, words: String::new(), photos: vec![] }),
            ..note(number)
        })
        .collect();
    store.append(&entries).unwrap();
    assert!(store.entries().unwrap() == entries);
    assert!(store.entries_since(1_234).unwrap() == entries[1_234..]);
    assert_eq!(store.verify().unwrap().entries, 25_000);
}

#[test]
fn parts_cover_everything_once() {
    for (after, last) in [(0, 0), (5, 3), (0, 1), (7, 45_000), (0, 1_000_001), (3, i64::MAX.unsigned_abs())] {
        let parts = scan::parts(after, last);
        let mut next = after.cast_signed() + 1;
        for part in &parts {
            assert_eq!(*part.start(), next);
            next = part.end().wrapping_add(1);
        }
        assert_eq!(parts.is_empty(), last <= after);
        assert!(parts.last().is_none_or(|part| part.end().cast_unsigned() == last));
    }
}

#[test]
#[cfg(unix)]
fn a_logbook_that_was_taken_away_or_replaced_is_not_written_any_more() {
    let (folder, store) = logbook();
    let first = note(0);
    store.append(std::slice::from_ref(&first)).unwrap();
    let file = folder.path().join(FILE);
    let aside = folder.path().join("aside.db");
    fs::rename(&file, &aside).unwrap();
    let error = store.append(&[note(1)]).unwrap_err();
    assert!(matches!(error, StoreError::TakenAway { .. }), "{error:?}");
    // Another file under the name is no better.
    fs::copy(&aside, &file).unwrap();
    assert!(matches!(store.append(&[note(1)]).unwrap_err(), StoreError::TakenAway { .. }));
    fs::remove_file(&file).unwrap();
    fs::rename(&aside, &file).unwrap();
    assert_kept(&store, &[first]);
    store.append(&[note(1)]).unwrap();
}

#[test]
fn no_logbook_is_begun_where_the_log_of_another_lies() {
    for log in ["logbook.db-wal", "logbook.db-journal"] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(log), b"what was written last").unwrap();
        let error = SqliteStore::open(folder.path()).unwrap_err();
        assert!(matches!(error, StoreError::LogLeftBehind { .. }), "{error:?}");
        assert_eq!(fs::read(folder.path().join(log)).unwrap(), b"what was written last");
        assert!(!folder.path().join(FILE).exists());
    }
    // An empty log is no log.
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("logbook.db-wal"), b"").unwrap();
    SqliteStore::open(folder.path()).unwrap();
}
