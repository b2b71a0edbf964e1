//! Backing up while others write, and restoring without destroying anything.

use crate::common::{device, note};
use std::{
    fs,
    path::Path,
    sync::atomic::{AtomicBool, Ordering},
};
use store::{EntryStore, Progress, SqliteStore, Stage, StoreError, Trouble, restore};

fn quiet(_: Progress) {}

fn logbook(folder: &Path, numbers: std::ops::Range<u64>) -> SqliteStore {
    let store = SqliteStore::open_as(folder, device(1)).unwrap();
    let own = store.device();
    store.append(&numbers.map(|number| note(number, own)).collect::<Vec<_>>()).unwrap();
    store
}

/// Returns the names in a folder, sorted.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|file| file.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort_unstable();
    names
}

#[test]
fn a_restored_backup_holds_the_same_entries_and_attachments() {
    let folder = tempfile::tempdir().unwrap();
    let store = logbook(&folder.path().join("booth"), 0..20);
    let photo = store.attachments().put(b"\xFF\xD8\xFF a photo").unwrap();
    let backup = folder.path().join("backup");
    let mut stages = Vec::new();
    let report = store
        .backup_to(&backup, &mut |progress| {
            assert!(progress.done <= progress.total);
            stages.push(progress.stage);
        })
        .unwrap();
    stages.dedup();
    assert_eq!(stages, [Stage::Entries, Stage::Check, Stage::Attachments]);
    assert!(report.verification.is_sound() && report.altered.is_empty());
    assert_eq!((report.verification.entries, report.attachments), (20, 1));
    assert_eq!(names(&backup), ["attachments", "logbook.db", "manifest.json"]);
    assert_eq!(names(folder.path()), ["backup", "booth"], "nothing unfinished is left");

    let elsewhere = folder.path().join("elsewhere");
    let restored = restore(&backup, &elsewhere, false, &mut quiet).unwrap();
    assert_eq!((restored.entries, restored.attachments, restored.set_aside), (20, 1, None));
    assert_eq!(names(&elsewhere), ["attachments", "logbook.db"]);
    let copy = SqliteStore::open_existing(&elsewhere).unwrap();
    assert_eq!(copy.entries().unwrap(), store.entries().unwrap());
    assert_eq!(copy.verify().unwrap().heads, store.verify().unwrap().heads);
    assert_eq!(copy.attachments().get(photo.id).unwrap(), b"\xFF\xD8\xFF a photo");
    assert_eq!(names(&backup), ["attachments", "logbook.db", "manifest.json"], "the backup is only read");
}

#[test]
fn a_restored_logbook_and_its_original_can_both_go_on_and_be_merged() {
    let folder = tempfile::tempdir().unwrap();
    let store = logbook(&folder.path().join("booth"), 0..3);
    store.backup_to(folder.path().join("backup"), &mut quiet).unwrap();
    let restored =
        restore(folder.path().join("backup"), folder.path().join("copy"), false, &mut quiet).unwrap();
    let copy = SqliteStore::open_existing(folder.path().join("copy")).unwrap();
    assert_eq!(copy.device(), restored.device);
    assert_ne!(copy.device(), store.device());
    let refused = copy.append(&[note(50, device(1))]).unwrap_err();
    assert!(matches!(refused, StoreError::ForeignDevice { .. }), "{refused}");
    copy.append(&[note(50, copy.device())]).unwrap();
    store.append(&[note(60, store.device())]).unwrap();
    let mut records = Vec::new();
    copy.each_record(&mut |record| {
        // Only what is new there; the rest is known here.
        if record.record.device == copy.device() {
            let bytes = logbook::wire::encode(&logbook::wire::decode(&record.record));
            records.push(logbook::wire::ChainedRecord {
                record: bytes,
                number: record.number,
                hash: record.hash,
            });
        }
        std::ops::ControlFlow::Continue(())
    })
    .unwrap();
    assert_eq!(store.append_records(&records).unwrap().added, 1);
    assert_eq!(store.head().unwrap().count, 5);
    assert!(store.verify().unwrap().is_sound());
}

#[test]
fn backing_up_works_while_others_write() {
    let folder = tempfile::tempdir().unwrap();
    let store = logbook(&folder.path().join("booth"), 0..2_000);
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let there = SqliteStore::open_existing(folder.path().join("booth")).unwrap();
            for number in 10_000.. {
                if done.load(Ordering::Relaxed) {
                    break;
                }
                there.append(&[note(number, there.device())]).unwrap();
            }
        });
        for number in 0..5 {
            let backup = folder.path().join(format!("backup-{number}"));
            let before = store.head().unwrap().count;
            let report = store.backup_to(&backup, &mut quiet).unwrap();
            assert!(report.verification.is_sound(), "{:?}", report.verification.findings);
            assert!((before..=store.head().unwrap().count).contains(&report.verification.entries));
        }
        done.store(true, Ordering::Relaxed);
    });
    assert!(store.head().unwrap().count > 2_000, "something was written meanwhile");
    restore(folder.path().join("backup-4"), folder.path().join("copy"), false, &mut quiet).unwrap();
    assert!(SqliteStore::open_existing(folder.path().join("copy")).unwrap().verify().unwrap().is_sound());
}

#[test]
fn nothing_is_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let booth = folder.path().join("booth");
    let store = logbook(&booth, 0..3);
    let backup = folder.path().join("backup");
    store.backup_to(&backup, &mut quiet).unwrap();
    let refused = store.backup_to(&backup, &mut quiet).unwrap_err();
    assert!(matches!(refused, StoreError::AlreadyThere { .. }), "{refused}");
    let refused = restore(&backup, &booth, false, &mut quiet).unwrap_err();
    assert!(matches!(refused, StoreError::WouldReplace { .. }), "{refused}");
    assert_eq!(store.head().unwrap().count, 3);
}

#[test]
fn a_replaced_logbook_is_set_aside_whole() {
    let folder = tempfile::tempdir().unwrap();
    let booth = folder.path().join("booth");
    let store = logbook(&booth, 0..3);
    let backup = folder.path().join("backup");
    store.backup_to(&backup, &mut quiet).unwrap();
    store.append(&[note(7, device(1))]).unwrap();
    let in_use = restore(&backup, &booth, true, &mut quiet).unwrap_err();
    assert!(matches!(in_use, StoreError::InUse { .. }), "{in_use}");
    assert_eq!(store.head().unwrap().count, 4, "the one in use goes on");
    store.append(&[note(8, device(1))]).unwrap();
    drop(store);

    let report = restore(&backup, &booth, true, &mut quiet).unwrap();
    assert_eq!(SqliteStore::open_existing(&booth).unwrap().head().unwrap().count, 3);
    let aside = report.set_aside.unwrap();
    assert!(aside.starts_with(booth.join("set-aside")));
    let old = SqliteStore::open_existing(&aside).unwrap();
    assert_eq!(old.head().unwrap().count, 5);
    assert!(old.verify().unwrap().is_sound());
    drop(old);
    let again = restore(&backup, &booth, true, &mut quiet).unwrap();
    assert_ne!(again.set_aside.unwrap(), aside);
}

#[test]
fn a_logbook_damaged_beyond_opening_can_be_replaced_and_is_set_aside_too() {
    let folder = tempfile::tempdir().unwrap();
    let booth = folder.path().join("booth");
    let backup = folder.path().join("backup");
    logbook(&booth, 0..3).backup_to(&backup, &mut quiet).unwrap();
    let rubbish = vec![0xA5; 20_000];
    fs::write(booth.join("logbook.db"), &rubbish).unwrap();
    fs::write(booth.join("logbook.db-wal"), b"what is left of a log").unwrap();
    let report = restore(&backup, &booth, true, &mut quiet).unwrap();
    let aside = report.set_aside.unwrap();
    assert_eq!(fs::read(aside.join("logbook.db")).unwrap(), rubbish);
    assert_eq!(fs::read(aside.join("logbook.db-wal")).unwrap(), b"what is left of a log");
    let store = SqliteStore::open_existing(&booth).unwrap();
    assert_eq!(store.head().unwrap().count, 3);
    assert!(store.verify().unwrap().is_sound());
}

/// Damages a backup, and returns what a restore says; the data folder must not have changed.
fn restore_after(deed: impl FnOnce(&Path)) -> String {
    let folder = tempfile::tempdir().unwrap();
    let store = logbook(&folder.path().join("booth"), 0..3);
    store.attachments().put(b"a recording").unwrap();
    let backup = folder.path().join("backup");
    store.backup_to(&backup, &mut quiet).unwrap();
    deed(&backup);
    let target = folder.path().join("target");
    let old = logbook(&target, 30..31);
    drop(old);
    let refused = restore(&backup, &target, true, &mut quiet).unwrap_err();
    assert!(matches!(refused, StoreError::FaultyBackup { .. }), "{refused}");
    assert_eq!(SqliteStore::open_existing(&target).unwrap().head().unwrap().count, 1);
    assert_eq!(names(&target), ["logbook.db"]);
    refused.to_string()
}

fn edit(file: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(file).unwrap();
    assert!(text.contains(from), "{text}");
    fs::write(file, text.replacen(from, to, 1)).unwrap();
}

#[test]
fn a_faulty_backup_is_refused_and_changes_nothing() {
    let manifest = |backup: &Path| backup.join("manifest.json");
    let said = restore_after(|backup| {
        let file = backup.join("logbook.db");
        let mut bytes = fs::read(&file).unwrap();
        bytes[9_000] ^= 1;
        fs::write(file, bytes).unwrap();
    });
    assert!(said.contains("'logbook.db' was altered"), "{said}");
    let said = restore_after(|backup| fs::remove_dir_all(backup.join("attachments")).unwrap());
    assert!(said.contains("cannot be read"), "{said}");
    let said = restore_after(|backup| fs::remove_file(manifest(backup)).unwrap());
    assert!(said.contains("manifest.json cannot be read"), "{said}");
    let said = restore_after(|backup| edit(&manifest(backup), "\"format\": 1", "\"format\": 2"));
    assert!(said.contains("format 2"), "{said}");
    let said = restore_after(|backup| edit(&manifest(backup), "attachments/", "../attachments/"));
    assert!(said.contains("which no backup holds"), "{said}");
    let said = restore_after(|backup| edit(&manifest(backup), "\"entries\": 3", "\"entries\": 4"));
    assert!(said.contains("holds 3 entries"), "{said}");
    let said = restore_after(|backup| edit(&manifest(backup), "\"number\": 3", "\"number\": 4"));
    assert!(said.contains("cut off"), "{said}");
}

#[test]
fn a_logbook_with_faults_is_backed_up_as_it_is_and_said_so() {
    let folder = tempfile::tempdir().unwrap();
    let booth = folder.path().join("booth");
    let store = logbook(&booth, 0..3);
    let photo = store.attachments().put(b"a photo").unwrap();
    let shelf = store.attachments().folder().join(&photo.id.to_string()[..2]);
    fs::write(shelf.join(&photo.id.to_string()[2..]), b"another").unwrap();
    crate::common::behind_its_back(&booth).execute("DELETE FROM entry WHERE seq = 2", []).unwrap();
    let report = store.backup_to(folder.path().join("backup"), &mut quiet).unwrap();
    assert!(report.verification.findings.iter().any(|finding| finding.trouble == Trouble::Missing));
    assert_eq!(report.altered, [photo.id]);
    let refused =
        restore(folder.path().join("backup"), folder.path().join("copy"), false, &mut quiet).unwrap_err();
    assert!(refused.to_string().contains("not sound"), "{refused}");
}

#[test]
fn looking_into_a_backup_leaves_it_a_backup() {
    let folder = tempfile::tempdir().unwrap();
    let backup = folder.path().join("100% of it - yes#1");
    logbook(&folder.path().join("booth"), 0..20).backup_to(&backup, &mut quiet).unwrap();
    let opened =
        [SqliteStore::open(&backup), SqliteStore::open_existing(&backup), SqliteStore::open_to_read(&backup)];
    for refused in opened.map(Result::unwrap_err) {
        assert!(matches!(refused, StoreError::IsABackup { .. }), "{refused}");
        assert!(refused.to_string().contains("restore it into a folder of its own"), "{refused}");
    }
    let before = fs::read(backup.join("logbook.db")).unwrap();
    let looked = SqliteStore::open_to_verify(&backup).unwrap();
    assert!(looked.verify().unwrap().is_sound());
    assert_eq!(looked.verify().unwrap().entries, 20);
    let refused = looked.append(&[note(50, looked.device())]).unwrap_err();
    assert!(matches!(refused, StoreError::ReadOnly { .. }), "{refused:?}");
    drop(looked);
    assert_eq!(fs::read(backup.join("logbook.db")).unwrap(), before);
    assert_eq!(names(&backup), ["logbook.db", "manifest.json"]);
    let restored = restore(&backup, folder.path().join("restored"), false, &mut quiet).unwrap();
    assert_eq!(restored.entries, 20);
}
