//! Every broken sample gives exactly the faults that its first lines promise, with place and remedy.
//!
//! A sample begins with lines `#! …`, one for each fault: what `Finding` shows. They count as lines of the file.
#![allow(clippy::unwrap_used)]

use std::path::{Path, PathBuf};

fn samples(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder);
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

fn faults_of(file: &Path, text: &str) -> Vec<String> {
    let name = file.file_name().unwrap().to_str().unwrap();
    match machine::read(name, text) {
        Ok(_) => vec!["no fault at all".to_owned()],
        Err(report) => report.findings.iter().map(ToString::to_string).collect(),
    }
}

#[test]
fn every_broken_sample_gives_the_faults_that_it_promises() {
    let files = samples("invalid");
    assert!(files.len() >= 80, "only {} samples", files.len());
    let mut wrong = Vec::new();
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        let promised: Vec<String> =
            text.lines().map_while(|line| line.strip_prefix("#! ")).map(str::to_owned).collect();
        let found = faults_of(&file, &text);
        if found != promised {
            let lines: Vec<String> = found.iter().map(|fault| format!("#! {fault}")).collect();
            wrong.push(format!("{}\n{}\n", file.display(), lines.join("\n")));
        }
    }
    assert!(wrong.is_empty(), "these samples gave other faults:\n\n{}", wrong.join("\n"));
}

#[test]
fn the_valid_samples_read() {
    for file in samples("valid") {
        let text = std::fs::read_to_string(&file).unwrap();
        let name = file.file_name().unwrap().to_str().unwrap().to_owned();
        if let Err(report) = machine::read(&name, &text) {
            panic!("{report}");
        }
    }
}
