//! What the file itself refuses, and what is refused as a file.
use crate::common::{device, note};
use rusqlite::Connection;
use std::{fs, path::Path};
use store::{EntryStore, SqliteStore, StoreError};

fn logbook(folder: &Path) -> SqliteStore {
    let store = SqliteStore::open_as(folder, device(1)).unwrap();
    store.append(&(0..3).map(|number| note(number, device(1))).collect::<Vec<_>>()).unwrap();
    store
}

fn raw(folder: &Path) -> Connection {
    Connection::open(folder.join("logbook.db")).unwrap()
}

#[test]
fn entries_cannot_be_changed_removed_or_replaced_by_any_statement() {
    let folder = tempfile::tempdir().unwrap();
    let store = logbook(folder.path());
    let connection = raw(folder.path());
    let row = "SELECT seq, record, hash FROM entry WHERE seq = 2";
    let same_id =
        "SELECT 77, CAST(substr(record, 1, 16) || zeroblob(70) AS BLOB), hash FROM entry WHERE seq = 2";
    let same_number =
        "SELECT 77, CAST(zeroblob(16) || substr(record, 17) AS BLOB), hash FROM entry WHERE seq = 2";
    for statement in [
        "UPDATE entry SET record = zeroblob(90)",
        "UPDATE entry SET seq = 9 WHERE seq = 1",
        "UPDATE OR REPLACE entry SET seq = 1 WHERE seq = 2",
        "DELETE FROM entry WHERE seq = 2",
        "DELETE FROM entry",
        &format!("INSERT OR REPLACE INTO entry {row}"),
        &format!("REPLACE INTO entry (seq, record, hash) {row}"),
        &format!("INSERT INTO entry {row}"),
        &format!("INSERT OR REPLACE INTO entry {same_id}"),
        &format!("INSERT OR REPLACE INTO entry {same_number}"),
        &format!("INSERT INTO entry {row} ON CONFLICT DO UPDATE SET hash = zeroblob(32)"),
    ] {
        let refused = connection.execute(statement, []).unwrap_err().to_string();
        assert!(refused.contains("an entry is never"), "{statement}: {refused}");
    }
    drop(connection);
    assert_eq!(store.entries().unwrap().len(), 3);
    assert!(store.verify().unwrap().is_sound());
}

#[test]
fn the_file_is_written_ahead_and_synced_in_full() {
    let folder = tempfile::tempdir().unwrap();
    let store = logbook(folder.path());
    let mode: String = raw(folder.path()).query_row("PRAGMA journal_mode", [], |row| row.get(0)).unwrap();
    assert_eq!(mode, "wal");
    assert!(folder.path().join("logbook.db-wal").exists());
    drop(store);
    assert!(!folder.path().join("logbook.db-wal").exists(), "closed, it is one file");
}

#[test]
fn the_view_for_people_says_what_the_records_say() {
    let folder = tempfile::tempdir().unwrap();
    let store = logbook(folder.path());
    let mut old = note(9, device(1));
    old.happened.unix_ms = -86_400_000;
    old.by = "Inês".into();
    store.append(&[old]).unwrap();
    let connection = raw(folder.path());
    let mut statement = connection
        .prepare("SELECT id, number, happened_utc, recorded_utc, written_by, kind, body FROM entry_in_words ORDER BY seq")
        .unwrap();
    let lines: Vec<[String; 7]> = statement
        .query_map([], |row| {
            let number: i64 = row.get(1)?;
            Ok([
                row.get(0)?,
                number.to_string(),
                row.get(2)?,
                row.get(3)?,
                row.get(4)?,
                row.get(5)?,
                row.get(6)?,
            ])
        })
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    for (entry, line) in store.entries().unwrap().iter().zip(&lines) {
        let record = logbook::wire::encode(entry);
        let utc = |when: logbook::When| when.timestamp().strftime("%Y-%m-%d %H:%M:%S").to_string();
        assert_eq!(line[0], entry.id.0.simple().to_string());
        assert_eq!(line[2..4], [utc(entry.happened), utc(entry.recorded)]);
        assert_eq!(line[4..], [record.by.to_string(), record.kind.to_string(), record.body.to_string()]);
    }
    assert_eq!(lines.iter().map(|line| line[1].as_str()).collect::<Vec<_>>(), ["1", "2", "3", "4"]);
}

#[test]
fn a_file_of_another_program_is_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let connection = raw(folder.path());
    connection.execute_batch("CREATE TABLE recipes (name TEXT); PRAGMA user_version = 1").unwrap();
    connection.close().unwrap();
    let before = fs::read(folder.path().join("logbook.db")).unwrap();
    let refused = SqliteStore::open(folder.path()).unwrap_err();
    assert!(matches!(&refused, StoreError::NotALogbook { .. }), "{refused}");
    assert!(refused.to_string().contains("another program's SQLite file"), "{refused}");
    assert_eq!(fs::read(folder.path().join("logbook.db")).unwrap(), before);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn a_file_that_is_no_database_is_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let text = "Dear diary, the lamp died again. ".repeat(100);
    fs::write(folder.path().join("logbook.db"), &text).unwrap();
    let refused = SqliteStore::open(folder.path()).unwrap_err();
    assert!(matches!(&refused, StoreError::NotALogbook { .. }), "{refused}");
    assert_eq!(fs::read_to_string(folder.path().join("logbook.db")).unwrap(), text);
}

#[test]
fn a_file_of_no_bytes_is_never_begun_anew() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("logbook.db");
    fs::write(&file, "").unwrap();
    let refused = SqliteStore::open(folder.path()).unwrap_err();
    assert!(matches!(&refused, StoreError::Empty { .. }), "{refused}");
    for words in ["restore the latest backup", "move the empty file away"] {
        assert!(refused.to_string().contains(words), "{refused}");
    }
    assert_eq!(fs::metadata(&file).unwrap().len(), 0);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    fs::rename(&file, folder.path().join("logbook.empty")).unwrap();
    assert_eq!(SqliteStore::open(folder.path()).unwrap().head().unwrap().count, 0);
}

#[test]
fn a_newer_layout_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    drop(logbook(folder.path()));
    raw(folder.path()).execute_batch("PRAGMA user_version = 99").unwrap();
    let before = fs::read(folder.path().join("logbook.db")).unwrap();
    let refused = SqliteStore::open(folder.path()).unwrap_err();
    assert!(matches!(&refused, StoreError::NewerLayout { found: 99, .. }), "{refused}");
    assert!(refused.to_string().contains("use the newer program"), "{refused}");
    assert_eq!(fs::read(folder.path().join("logbook.db")).unwrap(), before);
}

#[test]
fn a_folder_without_a_logbook_is_told_and_not_filled() {
    let folder = tempfile::tempdir().unwrap();
    let refused = SqliteStore::open_existing(folder.path()).unwrap_err();
    assert!(matches!(&refused, StoreError::NoLogbook { .. }), "{refused}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn the_device_stays_the_same_when_a_logbook_is_opened_again() {
    let folder = tempfile::tempdir().unwrap();
    let first = SqliteStore::open(folder.path()).unwrap().device();
    assert_eq!(first.0.get_version_num(), 7);
    assert_eq!(SqliteStore::open(folder.path()).unwrap().device(), first);
    assert_eq!(SqliteStore::open_as(folder.path(), device(9)).unwrap().device(), first);
}

#[test]
fn another_process_is_noticed_by_the_head() {
    let folder = tempfile::tempdir().unwrap();
    let (here, there) = (logbook(folder.path()), SqliteStore::open(folder.path()).unwrap());
    let before = here.head().unwrap();
    there.append(&[note(50, device(1))]).unwrap();
    let after = here.head().unwrap();
    assert_eq!((after.count, after.seq), (before.count + 1, before.seq + 1));
    assert_eq!(here.entries_since(before.seq).unwrap(), [note(50, device(1))]);
    here.append(&[note(51, device(1))]).unwrap();
    assert!(there.verify().unwrap().is_sound());
}

#[test]
fn two_programs_may_begin_a_logbook_at_the_same_moment() {
    for _ in 0..10 {
        let folder = tempfile::tempdir().unwrap();
        let devices: Vec<_> = std::thread::scope(|scope| {
            let openers: Vec<_> =
                (0..4).map(|_| scope.spawn(|| SqliteStore::open(folder.path()).unwrap().device())).collect();
            openers.into_iter().map(|opener| opener.join().unwrap()).collect()
        });
        assert!(devices.windows(2).all(|pair| pair[0] == pair[1]), "{devices:?}");
    }
}
