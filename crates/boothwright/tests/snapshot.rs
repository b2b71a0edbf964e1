//! A great logbook is answered from its snapshot with the same words as from its entries, by one process after another.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use std::{fs, path::Path};
use store::{EntryStore, SqliteStore};

/// More than the number from which a snapshot is left.
const ENTRIES: usize = 52_000;
const MACHINES: usize = 300;

/// Asks a process of its own for everything that is due.
fn due(data: &Path) -> String {
    let done = Command::cargo_bin("boothwright")
        .unwrap()
        .args(["due", "--json", "--data"])
        .arg(data)
        .assert()
        .success();
    String::from_utf8(done.get_output().stdout.clone()).unwrap()
}

#[test]
fn processes_agree_with_and_without_a_snapshot() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let snapshot = data.join("folded.snapshot");
    let store = SqliteStore::open(data).unwrap();
    let today = jiff::civil::date(2026, 1, 31);
    let entries: Vec<_> = demo::big_log(MACHINES, ENTRIES, today, 3).collect();
    let (last, earlier) = entries.split_last().unwrap();
    store.append(earlier).unwrap();
    let truth = logbook::fold(store.entries().unwrap());

    let from_entries = due(data);
    assert!(snapshot.is_file(), "the first process leaves a snapshot");
    assert_eq!(store.folded().unwrap(), truth, "and this one reads it");
    // Answers are compared by length: what remains is counted from the clock, which goes on between two processes.
    let n_lines = from_entries.lines().count();
    assert!(n_lines > MACHINES, "{n_lines}");
    assert_eq!(due(data).lines().count(), n_lines);

    let whole = fs::read(&snapshot).unwrap();
    fs::write(&snapshot, &whole[..whole.len() / 2]).unwrap();
    assert_eq!(SqliteStore::open(data).unwrap().folded().unwrap(), truth);
    assert!(fs::read(&snapshot).unwrap() == whole, "what is damaged is replaced");

    store.append(std::slice::from_ref(last)).unwrap();
    let folded = SqliteStore::open(data).unwrap().folded().unwrap();
    assert_eq!(folded.entries, ENTRIES);
    assert_eq!(folded, logbook::fold(store.entries().unwrap()));
}
