//! Every measuring verb tried without a film: `sound make` writes what the verb is for, and the verb reads it back.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;
use tempfile::TempDir;

fn run(folder: &Path, args: &[&str]) -> std::process::Output {
    let mut command = Command::cargo_bin("boothwright").unwrap();
    command.current_dir(folder).env("BOOTHWRIGHT_DATA", folder.join("booth")).args(args).output().unwrap()
}

fn make(folder: &Path, name: &str, options: &[&str]) {
    let done = run(folder, &[&["sound", "make", name][..], options].concat());
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
}

fn measure(folder: &Path, verb: &str, name: &str, options: &[&str]) -> Value {
    let done = run(folder, &[&["sound", verb, name, "--json"][..], options].concat());
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    serde_json::from_slice(&done.stdout).unwrap()
}

fn near(value: &Value, wanted: f64, within: f64) {
    let found = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!((found - wanted).abs() <= within, "{found} is not {wanted} within {within}");
}

#[test]
fn a_multi_frequency_film_gives_back_its_slope() {
    let folder = TempDir::new().unwrap();
    make(folder.path(), "m.wav", &["--film", "multi-frequency", "--slope", "-3", "--noise", "45"]);
    let read = measure(folder.path(), "response", "m.wav", &[]);
    let tones = read["tones"].as_array().unwrap();
    assert_eq!(tones.len(), 13);
    for tone in tones {
        let wanted = -3.0 * (tone["hz"].as_f64().unwrap() / 1000.0).log2().max(0.0);
        near(&tone["level_db"], wanted, 0.2);
    }
}

#[test]
fn a_focus_film_gives_back_its_knock() {
    let folder = TempDir::new().unwrap();
    make(folder.path(), "f.wav", &["--film", "focus", "--knocked", "3", "--noise", "45"]);
    let read = measure(folder.path(), "focus", "f.wav", &[]);
    near(&read["tone_hz"], 7000.0, 1.0);
    near(&read["end_below_best_db"], 3.0, 0.3);
}

#[test]
fn a_buzz_track_gives_back_its_side() {
    let folder = TempDir::new().unwrap();
    make(folder.path(), "b.wav", &["--film", "buzz-track", "--heard", "1000:-30", "--noise", "60"]);
    let read = measure(folder.path(), "buzztrack", "b.wav", &["--first-lies", "edge"]);
    near(&read["louder_hz"], 1000.0, 1e-9);
    near(&read["second_dbfs"], -30.0, 0.3);
    assert_eq!(read["move_towards"], "edge");
}

#[test]
fn hum_is_given_back_line_by_line() {
    let folder = TempDir::new().unwrap();
    make(
        folder.path(),
        "h.wav",
        &["--film", "silence", "--noise", "60", "--hum", "50:-40", "--hum", "100:-35"],
    );
    let read = measure(folder.path(), "noise", "h.wav", &[]);
    near(&read["mains_hz"], 50.0, 0.1);
    let level = |multiple: u64| {
        read["hum"].as_array().unwrap().iter().find(|line| line["multiple"] == multiple).unwrap()["level_dbfs"]
            .clone()
    };
    near(&level(1), -40.0, 0.3);
    near(&level(2), -35.0, 0.3);
}

#[test]
fn an_option_of_another_film_is_refused_with_what_would_be_right() {
    let folder = TempDir::new().unwrap();
    for (options, words) in [
        (&["--slope", "-2"][..], "--film multi-frequency"),
        (&["--film", "focus", "--heard", "300:-30"], "--film buzz-track"),
        (&["--film", "silence", "--knocked", "2"], "--film focus"),
        (&["--film", "multi-frequency", "--tone", "3000"], "leave --tone out"),
        (&["--hum", "50"], "two numbers"),
        (&["--hum", "50:6"], "at or below 0 dB"),
    ] {
        let done = run(folder.path(), &[&["sound", "make", "m.wav"][..], options].concat());
        let said = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(2), "{options:?}: {said}");
        assert!(said.contains(words), "{options:?}: {said}");
        assert!(!folder.path().join("m.wav").exists());
    }
}
