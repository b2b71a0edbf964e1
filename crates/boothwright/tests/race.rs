//! Several commands that write at one moment.

#![allow(clippy::unwrap_used)]

use std::{
    path::Path,
    process::{Command, Output},
    thread,
};

/// So many commands at a time, so many times: where the judgement stood apart from the writing, two of eight rounds let
/// more than one in.
const HANDS: usize = 4;
const ROUNDS: usize = 12;

fn run(data: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_boothwright"))
        .args(words)
        .env("BOOTHWRIGHT_NOW", "2026-03-07T18:30:00+00:00[Europe/Lisbon]")
        .env("BOOTHWRIGHT_DATA", data)
        .env_remove("BOOTHWRIGHT_WHO")
        .output()
        .unwrap()
}

/// Runs the same words from several hands at once and returns how many were accepted; the others must be refused as what
/// is there already.
fn accepted(data: &Path, words: &[&str]) -> usize {
    let done: Vec<Output> = thread::scope(|scope| {
        let hands: Vec<_> = (0..HANDS).map(|_| scope.spawn(|| run(data, words))).collect();
        hands.into_iter().map(|hand| hand.join().unwrap()).collect()
    });
    for refused in done.iter().filter(|done| !done.status.success()) {
        let said = String::from_utf8_lossy(&refused.stderr);
        assert!(refused.status.code() == Some(3) && said.contains("already"), "{:?}: {said}", refused.status);
    }
    done.iter().filter(|done| done.status.success()).count()
}

#[test]
fn of_commands_that_add_the_same_machine_at_one_moment_one_is_accepted() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    assert!(run(data, &["logbook", "begin", "Harbour Cinema", "Ines Prado"]).status.success());
    for round in 0..ROUNDS {
        let name = format!("machine-{round}");
        let n = accepted(data, &["logbook", "add", "machine", &name, "portable-16mm-halogen"]);
        assert_eq!(n, 1, "round {round}");
    }
    let listed = run(data, &["--json", "logbook", "list", "--kind", "machine-added"]);
    let listed = String::from_utf8(listed.stdout).unwrap();
    assert_eq!(listed.matches("\"machine-added\"").count(), ROUNDS, "{listed}");
}

/// A sheet is read over what the logbook holds when it is written: of two that bring the same one is new.
#[test]
fn of_imports_of_the_same_sheet_at_one_moment_one_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    assert!(run(data, &["logbook", "begin", "Harbour Cinema", "Ines Prado"]).status.success());
    assert!(run(data, &["logbook", "add", "machine", "Left", "portable-16mm-halogen"]).status.success());
    let sheet = data.join("sheet.csv");
    std::fs::write(&sheet, "Date,Machine,Hours run\n2026-03-01,Left,2\n2026-03-02,Left,3\n").unwrap();
    let words = ["logbook", "import", sheet.to_str().unwrap(), "--yes"];
    let done: Vec<Output> = thread::scope(|scope| {
        let hands: Vec<_> = (0..HANDS).map(|_| scope.spawn(|| run(data, &words))).collect();
        hands.into_iter().map(|hand| hand.join().unwrap()).collect()
    });
    let ran = run(data, &["--json", "logbook", "list", "--kind", "ran"]);
    let ran = String::from_utf8(ran.stdout).unwrap();
    assert_eq!(ran.matches("\"kind\"").count(), 2, "{done:?} {ran}");
}
