//! Whatever a file holds, the reader answers in good time and never panics.
#![allow(clippy::unwrap_used)]

use machine::{LARGEST_FILE, MOST_LINES, Report, read, read_bytes};
use proptest::prelude::*;
use std::time::{Duration, Instant};

/// Far more than a reader needs for 1 MiB even in a debug build on a busy machine; a reader that goes over the
/// text once for each fault would need minutes.
const PATIENCE: Duration = Duration::from_secs(20);

fn refused(text: &str) -> Report {
    let start = Instant::now();
    let report = read("hostile.toml", text).expect_err("this is no machine type");
    assert!(start.elapsed() < PATIENCE, "took {:?}", start.elapsed());
    report
}

#[test]
fn a_file_of_ten_megabytes_is_refused_by_its_size() {
    let report = refused(&"# a comment\n".repeat(900_000));
    assert_eq!(report.findings.len(), 1);
    assert!(report.to_string().contains("1 MiB"), "{report}");
}

#[test]
fn bytes_that_are_no_text_are_refused_with_their_place() {
    let report = read_bytes("photo.toml", b"id = \"a\"\n\xff\xd8\xff\xe0").unwrap_err();
    assert_eq!((report.findings[0].line, report.findings[0].column), (2, 1));
    assert!(report.to_string().contains("UTF-8"));
    let report = read_bytes("photo.toml", b"PK\x03\x04\n\n\0\0\0").unwrap_err();
    assert_eq!(report.findings[0].line, 3);
    assert!(report.to_string().contains("binary"));
}

#[test]
fn a_mark_of_byte_order_is_no_fault() {
    let text = format!("\u{feff}{}", include_str!("valid/smallest.toml"));
    assert!(read("smallest.toml", &text).is_ok());
}

#[test]
fn lines_may_end_as_on_another_system() {
    let text = include_str!("valid/smallest.toml").replace('\n', "\r\n");
    assert!(read("smallest.toml", &text).is_ok());
    let broken = text.replace("minutes = 2", "minutes = -2");
    let other = read("smallest.toml", &broken.replace("\r\n", "\n")).unwrap_err();
    assert_eq!(read("smallest.toml", &broken).unwrap_err(), other);
}

#[test]
fn deep_brackets_do_not_overflow() {
    for open in ["[", "{ a = ", "[["] {
        let report = refused(&format!("x = {}", open.repeat(200_000)));
        assert!(!report.findings.is_empty());
    }
    refused(&format!("{}x = 1", "a.".repeat(100_000)));
    refused(&format!("[{}a]", "a.".repeat(100_000)));
}

#[test]
fn large_junk_is_answered_in_good_time() {
    let pieces = [
        "a = 1\n",
        "[[part]]\n",
        "\"",
        "=\n",
        "a = [\n",
        "[[care]]\nid = \"x\"\n",
        "\u{fc}\n",
        "x = \"\\u00\"\n",
        "[a]\n",
    ];
    for piece in pieces {
        // As large as is read at all: by bytes for long lines, by lines for short ones.
        let lines = piece.matches('\n').count().max(1);
        let text = piece.repeat((LARGEST_FILE / piece.len()).min((MOST_LINES - 1) / lines));
        let report = refused(&text);
        assert!(report.findings.len() <= machine::MOST_SHOWN);
    }
    let keys = (1..MOST_LINES).map(|n| format!("k{n} = 1")).collect::<Vec<_>>().join("\n");
    let report = refused(&keys);
    assert!(report.left_out > 1000, "{}", report.left_out);
    let line = format!("id = \"{}\"", "x".repeat(LARGEST_FILE - 10));
    assert!(refused(&line).to_string().len() < 10_000);
    assert!(refused(&"\n".repeat(MOST_LINES)).to_string().contains("lines"));
}

#[test]
fn many_parts_and_references_stay_quick() {
    let one = include_str!("valid/smallest.toml");
    let part = &one[one.find("[[part]]").unwrap()..one.find("[[care]]").unwrap()];
    let mut text = one.to_owned();
    for n in 0..1000 {
        text.push_str(
            &part
                .replace("id = \"roller\"", &format!("id = \"roller-{n}\""))
                .replace("id = \"lamp\"", &format!("id = \"lamp-{n}\"")),
        );
    }
    let start = Instant::now();
    let report = read("smallest.toml", &text).unwrap_err();
    assert!(report.findings.iter().all(|fault| fault.what.contains("stands after")), "{report}");
    assert!(start.elapsed() < PATIENCE);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(512) })]

    #[test]
    fn arbitrary_text_never_panics(text in ".{0,400}") {
        let _ = read("any.toml", &text);
    }

    #[test]
    fn arbitrary_bytes_never_panic(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        let _ = read_bytes("any.toml", &bytes);
    }

    #[test]
    fn lines_of_a_type_in_any_order_never_panic(
        picks in proptest::collection::vec(0_usize..140, 0..80),
    ) {
        let lines: Vec<&str> = include_str!("valid/smallest.toml").lines().collect();
        let text: String = picks.iter().filter_map(|n| lines.get(*n)).fold(String::new(), |all, l| all + l + "\n");
        let _ = read("any.toml", &text);
    }

    #[test]
    fn a_mutated_type_gives_a_type_or_faults_in_its_lines(
        edits in proptest::collection::vec((any::<prop::sample::Index>(), 0_usize..12, "[ -~\u{e9}\n]{0,6}"), 1..4),
    ) {
        let mut text: Vec<char> = include_str!("valid/smallest.toml").chars().collect();
        for (at, cut, put) in edits {
            let at = at.index(text.len().max(1)).min(text.len());
            let end = (at + cut).min(text.len());
            text.splice(at..end, put.chars());
        }
        let text: String = text.into_iter().collect();
        if let Err(report) = read("smallest.toml", &text) {
            prop_assert!(!report.findings.is_empty());
            let lines = text.split('\n').count();
            for fault in &report.findings {
                prop_assert!((1..=lines + 1).contains(&fault.line), "{fault} of {lines} lines");
                prop_assert!(!fault.what.is_empty() && !fault.would_be_right.is_empty());
            }
            let places: Vec<_> = report.findings.iter().map(|f| (f.line, f.column)).collect();
            prop_assert!(places.is_sorted());
        }
    }
}
