//! What the command line refuses, and what it says then.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use std::{fs, path::Path};

/// Runs the program in a data folder and returns its exit code, output and errors.
fn run(data: &Path, words: &[&str]) -> (i32, String, String) {
    run_at(data, words, "2026-03-07T18:30:00+00:00[Europe/Lisbon]")
}

fn run_at(data: &Path, words: &[&str], now: &str) -> (i32, String, String) {
    let done = Command::cargo_bin("boothwright")
        .unwrap()
        .args(words)
        .env("BOOTHWRIGHT_NOW", now)
        .env("BOOTHWRIGHT_DATA", data)
        .env_remove("BOOTHWRIGHT_WHO")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (done.status.code().unwrap(), text(done.stdout), text(done.stderr))
}

/// Runs the program, which must end with a code and say some words on the error stream.
fn refused(data: &Path, words: &[&str], code: i32, says: &[&str]) {
    let (ended, _, errors) = run(data, words);
    assert_eq!(ended, code, "{words:?}: {errors}");
    for word in says {
        assert!(errors.contains(word), "{words:?}: {errors}");
    }
}

fn begun() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let (code, _, errors) =
        run(folder.path(), &["logbook", "begin", "Harbour Cinema", "Ines Prado", "--zone", "Europe/Lisbon"]);
    assert_eq!(code, 0, "{errors}");
    folder
}

#[test]
fn a_withdrawal_of_an_entry_that_is_not_there_is_refused() {
    let folder = begun();
    let nobody = r#"{"entry":"01990000-0000-7000-8000-000000000099","why":"x"}"#;
    refused(
        folder.path(),
        &["logbook", "add", "entry", "withdraws", nobody],
        3,
        &["there is no entry 01990000"],
    );
}

/// What an entry rests on must be here when it is written; what it named before may have stayed behind.
#[test]
fn a_photo_that_is_not_here_is_refused_but_not_in_what_was_written_before() {
    use store::{EntryStore, SqliteStore};
    let folder = begun();
    let data = folder.path();
    let store = SqliteStore::open_existing(data).unwrap();
    let (here, gone) = (store.attachments().put(b"a photo").unwrap().id.to_string(), "ab".repeat(32));
    let note = |photos: &str| format!(r#"{{"words":"Splice","photos":["{photos}"]}}"#);
    let add = |words: &str| run(data, &["--json", "logbook", "add", "entry", "noted", words]);
    let (code, said, errors) = add(&note(&here));
    assert_eq!(code, 0, "{errors}");
    refused(data, &["logbook", "add", "entry", "noted", &note(&gone)], 3, &["`photos`", "no file abab"]);
    // Written elsewhere, and taken in without its files.
    let entry: serde_json::Value = serde_json::from_str(&said).unwrap();
    let mut written =
        store.get(entry["entry"].as_str().unwrap().parse().unwrap()).unwrap().unwrap().chained.entry;
    written.id = logbook::EntryId(uuid::Uuid::now_v7());
    let logbook::Fact::Noted(noted) = &mut written.fact else { panic!("{written:?}") };
    noted.photos = vec![gone.clone()];
    store.append(std::slice::from_ref(&written)).unwrap();
    let correction = |photos: &str| {
        let (id, with) = (written.id, note(photos));
        format!(r#"{{"entry":"{id}","kind":"noted","version":1,"with":{with},"why":"a slip"}}"#)
    };
    let correct = |photos: &str| run(data, &["logbook", "add", "entry", "corrects", &correction(photos)]);
    let (code, _, errors) = correct(&gone);
    assert_eq!(code, 0, "{errors}");
    let (code, _, errors) = correct(&"cd".repeat(32));
    assert!(code == 3 && errors.contains("no file cdcd"), "{errors}");
}

/// Nobody but a technician takes a dangerous machine out of the booth, also not by correcting a correction.
#[test]
fn a_quarantine_is_not_lifted_by_way_of_corrections() {
    let folder = begun();
    let data = folder.path();
    let written = |words: &[&str]| {
        let (code, said, errors) = run(data, &[&["--json", "--who", "ines"], words].concat());
        assert_eq!(code, 0, "{words:?}: {errors}");
        let said: serde_json::Value = serde_json::from_str(&said).unwrap();
        said["entry"].as_str().unwrap().to_owned()
    };
    let added = written(&["logbook", "add", "machine", "Left", "portable-16mm-halogen"]);
    let entry = |kind: &str, body: &str| written(&["logbook", "add", "entry", kind, body]);
    entry("person-added", r#"{"person":"op","name":"Op","role":"operator"}"#);
    let correction = |target: &str, machine: &str| {
        format!(
            r#"{{"entry":"{target}","kind":"machine-added","version":1,"with":{{"machine":"{machine}","name":"Left","machine_type":"portable-16mm-halogen"}},"why":"x"}}"#
        )
    };
    let renamed = entry("corrects", &correction(&added, "Left"));
    entry("fitness-set", r#"{"machine":"Left","fitness":"danger","why":"a shock"}"#);
    for target in [&added, &renamed] {
        for machine in ["Left", "Other"] {
            let body = correction(target, machine);
            refused(
                data,
                &["--who", "op", "logbook", "add", "entry", "corrects", &body],
                3,
                &["quarantined"],
            );
        }
        let body = format!(r#"{{"entry":"{target}","why":"x"}}"#);
        refused(data, &["--who", "op", "logbook", "add", "entry", "withdraws", &body], 3, &["quarantined"]);
    }
}

/// A trailer of half a minute, parts that hardly age in it: the chance of a stoppage is next to nothing, and is told.
#[test]
fn a_showing_of_half_a_minute_is_answered() {
    let folder = begun();
    let data = folder.path();
    for words in [
        &["logbook", "add", "machine", "Left", "portable-16mm-halogen"][..],
        &["logbook", "add", "showing", "trailer", "2026-03-07T20:00", "30 s", "Trailer", "--machine", "Left"],
        &["tonight"],
        &["tonight", "--json"],
    ] {
        let (code, _, errors) = run(data, words);
        assert_eq!(code, 0, "{words:?}: {errors}");
    }
}

#[test]
fn names_days_and_files_that_cannot_be_are_refused_with_what_would_be_right() {
    let folder = begun();
    let data = folder.path();
    refused(data, &["logbook", "list", "--kind", "x"], 2, &["--kind `x`", "booth-named"]);
    refused(data, &["logbook", "list", "--by", "nobody"], 2, &["--by `nobody`", "ines"]);
    refused(data, &["logbook", "list", "--machine", "nosuch"], 2, &["--machine `nosuch`", "none yet"]);
    refused(data, &["logbook", "list", "--from", "x"], 2, &["2026-03-07"]);
    refused(data, &["due", "--as-of", "foo"], 2, &["2026-03-07"]);
    refused(data, &["logbook", "export", "x.xlsx"], 2, &[".jsonl", "--form"]);
    refused(data, &["serve", "--address", "somewhere"], 2, &["localhost"]);
    let sheet = data.join("sheet.csv");
    fs::write(&sheet, "Date,Machine,Work\n2026-13-45,Left,Cleaned the gate\n").unwrap();
    refused(
        data,
        &["logbook", "import", sheet.to_str().unwrap(), "--dry-run"],
        3,
        &["would not be imported"],
    );
}

/// A file that cannot be read is refused by every verb that reads one, like one that is not what it should be.
#[test]
fn a_file_that_cannot_be_read_ends_every_verb_alike() {
    let folder = begun();
    let (data, gone) = (folder.path(), folder.path().join("gone"));
    let gone = gone.to_str().unwrap();
    for words in [
        &["lives", "fit", gone][..],
        &["plan", "solve", gone],
        &["fault", "posterior", "--network", gone],
        &["logbook", "import", gone, "--yes"],
        &["types", "check", gone],
        &["sound", "flutter", gone],
    ] {
        refused(data, words, 3, &["cannot read", gone]);
    }
    let not_text = data.join("not-text");
    fs::write(&not_text, [b'{', 0xff, b'}']).unwrap();
    let not_text = not_text.to_str().unwrap();
    for words in [&["plan", "solve", not_text][..], &["fault", "posterior", "--network", not_text]] {
        refused(data, words, 3, &["not UTF-8 text", not_text]);
    }
    refused(data, &["plan", "unpin", "zz"], 2, &["id of its entry", "plan unpin"]);
}

/// People say "Heron" where the logbook has `m-1`.
#[test]
fn a_machine_goes_by_what_people_call_it_too() {
    let folder = begun();
    let data = folder.path();
    let written = |words: &[&str]| {
        let (code, said, errors) = run(data, words);
        assert_eq!(code, 0, "{words:?}: {errors}");
        said
    };
    let add = ["logbook", "add"];
    for (id, name) in [("m-1", "Heron"), ("m-2", "Curlew"), ("m-3", "Curlew")] {
        written(&[&add[..], &["machine", id, "portable-16mm-halogen", "--name", name]].concat());
    }
    written(&[&add[..], &["ran", "heron", "2 h"]].concat());
    let said = written(&["--json", "logbook", "list", "--machine", "HERON", "--kind", "ran"]);
    assert!(said.contains(r#""machine":"m-1""#), "{said}");
    assert!(written(&["due", "Heron"]).contains("Heron"));
    let fault = written(&["fault", "start", "Heron", "--symptom", "no-light-at-start"]);
    assert!(fault.contains("Fault m-1-"), "{fault}");
    let listed = written(&["fault", "list", "--machine", "Heron"]);
    assert!(listed.contains("m-1-"), "{listed}");
    refused(data, &["due", "curlew"], 2, &["m-2", "m-3", "name one of these"]);
    refused(data, &["logbook", "add", "ran", "Curlew", "2 h"], 2, &["m-2", "m-3", "name one of these"]);
    refused(data, &["logbook", "add", "ran", "Dunlin", "2 h"], 3, &["Dunlin"]);
}

/// Two names that look the same must not be two machines (U+202E turns the direction of writing, U+200B is a space of
/// no width).
#[test]
fn a_short_name_with_characters_that_nobody_sees_is_refused() {
    let folder = begun();
    for (name, told) in [("Le\u{200b}ft", "U+200B"), ("\u{202e}tfeL", "U+202E"), ("Le\u{ad}ft", "U+00AD")] {
        let words = ["logbook", "add", "machine", name, "portable-16mm-halogen"];
        refused(folder.path(), &words, 3, &["that nobody sees", told, "typed anew"]);
    }
    let words = ["logbook", "add", "machine", "Gauche-é-左", "portable-16mm-halogen"];
    assert_eq!(run(folder.path(), &words).0, 0);
}

/// An entry that was altered behind the program's back: the chain tells, and a script hears of it.
#[test]
fn a_broken_chain_ends_verify_with_its_own_code() {
    let folder = begun();
    let data = folder.path();
    assert_eq!(run(data, &["logbook", "add", "note", "Trimmed the loop"]).0, 0);
    assert_eq!(run(data, &["logbook", "verify"]).0, 0);
    let file = data.join("logbook.db");
    let (mut bytes, was) = (fs::read(&file).unwrap(), b"Trimmed the loop");
    let places: Vec<usize> =
        (0..bytes.len() - was.len()).filter(|at| bytes[*at..].starts_with(was)).collect();
    assert!(!places.is_empty(), "the note lies in the file");
    for at in places {
        bytes[at..at + was.len()].copy_from_slice(b"Trimmed the lamp");
    }
    fs::write(&file, bytes).unwrap();
    refused(data, &["logbook", "verify"], 1, &["not as it was written", "logbook restore"]);
}

#[test]
fn a_stand_in_for_the_clock_that_cannot_be_read_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let (code, _, errors) = run_at(folder.path(), &["types", "list"], "garbage");
    assert_eq!(code, 2);
    assert!(errors.contains("`garbage`") && errors.contains("[Europe/Lisbon]"), "{errors}");
}

#[test]
fn a_clock_before_the_last_entry_is_doubted_when_writing() {
    let folder = begun();
    let note = ["logbook", "add", "note", "Trimmed the loop"];
    let (code, _, errors) = run_at(folder.path(), &note, "2026-03-07T09:00:00+00:00[Europe/Lisbon]");
    assert!(code == 0 && !errors.contains("is it right?"), "{errors}");
    let (_, _, errors) = run_at(folder.path(), &note, "2026-03-01T09:00:00+00:00[Europe/Lisbon]");
    assert!(
        errors.contains("clock says 2026-03-01") && errors.contains("2026-03-07: is it right?"),
        "{errors}"
    );
}

#[test]
fn a_backup_is_verified_as_it_is_and_restored_afterwards() {
    let folder = begun();
    let elsewhere = tempfile::tempdir().unwrap();
    let backup = elsewhere.path().join("backup");
    assert_eq!(run(folder.path(), &["logbook", "backup", backup.to_str().unwrap()]).0, 0);
    refused(&backup, &["logbook", "list"], 4, &["is a backup", "logbook restore"]);
    assert_eq!(run(&backup, &["logbook", "verify"]).0, 0);
    let (code, _, errors) =
        run(&elsewhere.path().join("new"), &["logbook", "restore", backup.to_str().unwrap()]);
    assert_eq!(code, 0, "{errors}");
}

#[test]
fn a_logbook_of_no_bytes_is_not_begun_anew() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("logbook.db"), "").unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let lines = elsewhere.path().join("log.jsonl");
    let begun = begun();
    assert_eq!(run(begun.path(), &["logbook", "export", lines.to_str().unwrap()]).0, 0);
    let import = ["logbook", "import", lines.to_str().unwrap()];
    for words in [
        &["due"][..],
        &["tonight"],
        &["logbook", "list"],
        &["logbook", "verify"],
        &["logbook", "begin", "A booth", "Ada", "--zone", "Europe/Lisbon"],
        &["serve"],
        &import,
    ] {
        refused(folder.path(), words, 4, &["is empty", "restore", "move the empty file away"]);
    }
    assert_eq!(fs::metadata(folder.path().join("logbook.db")).unwrap().len(), 0);
}

#[test]
fn a_spool_that_a_time_fills_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let length = |time| run(folder.path(), &["film", "length", time, "--gauge", "16mm", "--fps", "24"]).1;
    assert!(length("11:06.7").contains("fits a 400 ft spool"), "{}", length("11:06.7"));
    assert!(length("20 min").contains("fits an 800 ft spool"), "{}", length("20 min"));
}

#[cfg(unix)]
#[test]
fn nobody_reading_the_errors_is_no_panic() {
    use std::process::{Command, Stdio};
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let folder = tempfile::tempdir().unwrap();
    let status = Command::new(assert_cmd::cargo::cargo_bin("boothwright"))
        .args(["logbook", "verify", "--data"])
        .arg(folder.path())
        .stdout(Stdio::null())
        .stderr(writer)
        .status()
        .unwrap();
    assert_eq!(status.code(), Some(4), "the exit code is that of the error, not of a panic");
}
