//! Every file in `fuzz/seeds/` goes through the door that the fuzzer knocks on, on every run of the tests.
//! `docs/fuzzing.md` tells how to look for more of them.

#![allow(clippy::unwrap_used)]

#[path = "../../../fuzz/src/lib.rs"]
mod doors;

use std::{fs, path::Path};

/// Feeds all files of a folder to a door and returns how many there were.
fn feed(folder: &str, door: fn(&[u8])) -> usize {
    let seeds =
        Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap().join("fuzz/seeds").join(folder);
    let mut count = 0;
    for file in fs::read_dir(seeds).unwrap() {
        let path = file.unwrap().path();
        // The name of the file is printed only if the door falls.
        println!("{}", path.display());
        door(&fs::read(path).unwrap());
        count += 1;
    }
    count
}

#[test]
fn hostile_type_files() {
    assert!(feed("type_file", doors::type_file) >= 15);
}

#[test]
fn hostile_sheets() {
    assert!(feed("sheet", doors::sheet) >= 27);
}

#[test]
fn hostile_json_lines() {
    assert!(feed("json_lines", doors::json_lines) >= 26);
}

#[test]
fn hostile_facts() {
    assert!(feed("wire_fact", doors::wire_fact) >= 40);
}

#[test]
fn hostile_recordings() {
    assert!(feed("recording", doors::recording) >= 24);
}

#[test]
fn hostile_tones() {
    assert!(feed("tone", doors::tone) >= 10);
}

/// Sizes that no seed should have: refused, and at once.
#[test]
fn hostile_sizes() {
    let one_line = vec![b'7'; 200 << 20];
    let table = exchange::sheet::Table::read(&one_line).unwrap_err();
    assert!(table.to_string().contains("200 MB"), "{table}");
    let errors = exchange::jsonl::read(&one_line).unwrap_err();
    assert!(errors[0].to_string().starts_with("line 1: the line is 209715200 bytes long"), "{}", errors[0]);
    let report = machine::read_bytes("large.toml", &one_line[..10 << 20]).unwrap_err();
    assert_eq!(report.findings.len(), 1, "{report}");
}
