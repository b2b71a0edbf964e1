//! The sound bench on the command line: signals of known truth go in, figures come out; what is no recording of a tone
//! is said plainly.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use serde_json::Value;
use std::{fs, path::Path};
use tempfile::TempDir;

fn program(folder: &Path) -> Command {
    let mut command = Command::cargo_bin("boothwright").unwrap();
    command
        .current_dir(folder)
        .env("BOOTHWRIGHT_NOW", "2026-11-25T18:00:00+00:00[Atlantic/Faroe]")
        .env("BOOTHWRIGHT_DATA", folder.join("booth"))
        .env_remove("BOOTHWRIGHT_WHO");
    command
}

fn run(folder: &Path, args: &[&str]) -> String {
    let done = program(folder).args(args).assert().success();
    String::from_utf8(done.get_output().stdout.clone()).unwrap()
}

fn json(folder: &Path, args: &[&str]) -> Value {
    serde_json::from_str(&run(folder, &[args, &["--json"]].concat())).unwrap()
}

/// What a refused command says, with its exit code.
fn refused(folder: &Path, args: &[&str], code: i32) -> String {
    let done = program(folder).args(args).assert().failure().code(code);
    String::from_utf8(done.get_output().stderr.clone()).unwrap()
}

fn near(value: &Value, wanted: f64, within: f64) {
    let found = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!((found - wanted).abs() <= within, "{found} is not {wanted} within {within}");
}

/// A 16-bit WAV file of one channel; the header may claim another size than it has.
fn wav(samples: &[i16], claimed_bytes: u32) -> Vec<u8> {
    let mut file = Vec::new();
    file.extend(b"RIFF");
    file.extend((claimed_bytes.saturating_add(36)).to_le_bytes());
    file.extend(b"WAVEfmt ");
    file.extend(16_u32.to_le_bytes());
    file.extend(1_u16.to_le_bytes());
    file.extend(1_u16.to_le_bytes());
    file.extend(48_000_u32.to_le_bytes());
    file.extend(96_000_u32.to_le_bytes());
    file.extend(2_u16.to_le_bytes());
    file.extend(16_u16.to_le_bytes());
    file.extend(b"data");
    file.extend(claimed_bytes.to_le_bytes());
    file.extend(samples.iter().flat_map(|sample| sample.to_le_bytes()));
    file
}

/// White noise from a congruential generator (Knuth's constants).
fn noise(count: usize) -> Vec<i16> {
    let mut state = 1_u64;
    let mut next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 50) as i16 - 8192
    };
    (0..count).map(|_| next()).collect()
}

/// The keys that scripts rely on.
const KEYS: [&str; 12] = [
    "tone_hz",
    "speed_error_percent",
    "fps",
    "drift_percent_per_minute",
    "weighted_quasi_peak_percent",
    "weighted_two_sigma_percent",
    "unweighted_rms_percent",
    "wow_rms_percent",
    "flutter_rms_percent",
    "noise_floor_percent",
    "left_out_seconds",
    "lines",
];
const LINE_KEYS: [&str; 6] =
    ["hz", "hz_uncertainty", "depth_peak_percent", "parts", "ambiguous", "to_separate"];

#[test]
fn a_made_signal_reads_as_it_was_made() {
    let folder = TempDir::new().unwrap();
    // The sound drum of this kind turns 1.92 times a second at sound speed; at 0.25 % more, 1.926.
    let lines = ["--line", "1.926:0.2%", "--line", "12:0.06"];
    let made = ["sound", "make", "m.wav", "--speed-error", "0.25", "--noise", "40", "--am", "24:20%"];
    run(folder.path(), &[&made[..], &lines[..]].concat());
    let read = json(folder.path(), &["sound", "flutter", "m.wav", "--type", "portable-16mm-halogen"]);
    for key in KEYS {
        assert!(read.get(key).is_some(), "{key} is missing");
    }
    near(&read["tone_hz"], 3150.0 * 1.0025, 0.16);
    near(&read["speed_error_percent"], 0.25, 0.005);
    near(&read["fps"], 24.06, 0.0012);
    near(&read["left_out_seconds"], 0.0, 0.1);
    let lines = read["lines"].as_array().unwrap();
    assert_eq!(lines.len(), 2, "{lines:?}");
    for (line, (hz, depth)) in lines.iter().zip([(1.926, 0.2), (12.0, 0.06)]) {
        for key in LINE_KEYS {
            assert!(line.get(key).is_some(), "{key} is missing");
        }
        near(&line["hz"], hz, 0.02);
        near(&line["depth_peak_percent"], depth, 0.02 * depth);
    }
    let first = &lines[0]["parts"][0];
    assert_eq!(first["part"], "drum");
    assert_eq!(first["harmonic"], 1);
    assert!(first["probability"].as_f64().unwrap() > 0.5, "{first}");
    assert!(!first["care"].as_array().unwrap().is_empty());
    let speed = run(folder.path(), &["sound", "speed", "m.wav", "--tone", "3150", "--plot", "m.svg"]);
    assert!(speed.contains("24.06"), "{speed}");
    run(folder.path(), &["sound", "flutter", "m.wav", "--plot", "m.PNG"]);
    let dots = fs::read(folder.path().join("m.PNG")).unwrap();
    assert_eq!(&dots[..8], b"\x89PNG\r\n\x1a\n");
    let width = u32::from_be_bytes(dots[16..20].try_into().unwrap());
    assert!(width >= 1000 && dots.len() > 8_000, "{width} dots wide, {} bytes", dots.len());
    let drawn = fs::read_to_string(folder.path().join("m.svg")).unwrap();
    assert!(
        drawn.contains("<svg") && drawn.trim_end().ends_with("</svg>") && drawn.contains("class=\"curve\"")
    );
}

#[test]
fn a_splice_and_a_drop_out_are_left_out_and_told() {
    let folder = TempDir::new().unwrap();
    run(
        folder.path(),
        &["sound", "make", "m.wav", "--seconds", "30", "--splice", "12.5", "--drop-out", "20:0.6"],
    );
    let read = json(folder.path(), &["sound", "flutter", "m.wav"]);
    let left_out = read["left_out_seconds"].as_f64().unwrap();
    assert!((0.6..1.2).contains(&left_out), "{left_out}");
    let spans = read["left_out"].as_array().unwrap();
    let covers = |at: f64| {
        spans.iter().any(|span| {
            span["from_seconds"].as_f64().unwrap() <= at && at <= span["to_seconds"].as_f64().unwrap()
        })
    };
    assert!(covers(12.503) && covers(20.3), "{spans:?}");
    assert_eq!(read["lines"].as_array().unwrap().len(), 0, "{}", read["lines"]);
}

#[test]
fn what_is_no_recording_of_a_tone_is_refused_in_plain_words() {
    let folder = TempDir::new().unwrap();
    let put = |name: &str, bytes: &[u8]| fs::write(folder.path().join(name), bytes).unwrap();
    let hiss = noise(48_000 * 12);
    put("hiss.wav", &wav(&hiss, 2 * hiss.len() as u32));
    put("silence.wav", &wav(&vec![0; 48_000 * 12], 2 * 48_000 * 12));
    put("empty.wav", &[]);
    put("words.wav", b"a list of reels, saved under the wrong name");
    put("cut.wav", &wav(&hiss, 0)[..30]);
    for (file, words) in [
        ("hiss.wav", "no steady tone"),
        ("silence.wav", "too quiet"),
        ("empty.wav", "empty"),
        ("words.wav", "no recording"),
        ("cut.wav", "header"),
    ] {
        let said = refused(folder.path(), &["sound", "flutter", file], 3);
        assert!(said.contains(file) && said.contains(words), "{file}: {said}");
        assert!(!said.contains("panicked"), "{said}");
    }
    let said = refused(folder.path(), &["sound", "flutter", "nowhere.wav"], 3);
    assert!(said.contains("nowhere.wav"), "{said}");
}

#[test]
fn a_header_that_claims_too_much_is_read_as_far_as_it_goes() {
    let folder = TempDir::new().unwrap();
    run(folder.path(), &["sound", "make", "m.wav", "--seconds", "20"]);
    let mut bytes = fs::read(folder.path().join("m.wav")).unwrap();
    let size = bytes.windows(4).position(|four| four == b"data").unwrap() + 4;
    bytes[size..size + 4].copy_from_slice(&0xFFFF_FFF0_u32.to_le_bytes());
    fs::write(folder.path().join("lying.wav"), &bytes).unwrap();
    let read = json(folder.path(), &["sound", "flutter", "lying.wav"]);
    near(&read["recorded_seconds"], 20.0, 0.01);
    near(&read["tone_hz"], 3150.0, 0.16);
    assert!(!read["caveats"].as_array().unwrap().is_empty());
}

#[test]
fn one_bad_file_does_not_keep_the_others_from_their_reading() {
    let folder = TempDir::new().unwrap();
    run(folder.path(), &["sound", "make", "m.wav", "--seconds", "20"]);
    fs::write(folder.path().join("empty.wav"), []).unwrap();
    let done =
        program(folder.path()).args(["sound", "flutter", "empty.wav", "m.wav", "--json"]).assert().code(3);
    let answer: Value = serde_json::from_slice(&done.get_output().stdout).unwrap();
    assert!(answer[0]["error"].as_str().unwrap().contains("empty"), "{answer}");
    near(&answer[1]["tone_hz"], 3150.0, 0.16);
}

#[test]
fn off_words_on_the_command_line_are_refused_with_what_would_be_right() {
    let folder = TempDir::new().unwrap();
    run(folder.path(), &["sound", "make", "m.wav", "--seconds", "12"]);
    for (args, words) in [
        (&["sound", "flutter", "m.wav", "--type", "steam"][..], "known are"),
        (&["sound", "flutter", "m.wav", "--fps", "400"], "frames a second"),
        (&["sound", "flutter", "m.wav", "--log"], "--machine"),
        (&["sound", "flutter", "m.wav", "--plot", "m.bmp"], ".svg"),
        (&["sound", "make", "n.wav", "--line", "two"], "1.9:0.2%"),
        (&["sound", "make", "n.wav", "--tone", "90000"], "tone"),
        (&["sound", "make", "n.wav", "--seconds", "0"], "length"),
    ] {
        let said = refused(folder.path(), args, 2);
        assert!(said.contains(words), "{args:?}: {said}");
    }
    assert!(!folder.path().join("n.wav").exists());
    assert!(refused(folder.path(), &["sound", "make", "m.wav"], 3).contains("there already"));
}

#[test]
fn readings_go_into_the_logbook_with_their_recording_and_make_a_trend() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    run(at, &["logbook", "begin", "An invented booth", "Wren", "--zone", "Atlantic/Faroe"]);
    let machine = r#"{"machine":"turnstone","name":"Turnstone","machine_type":"portable-16mm-halogen","hours_before":100}"#;
    run(at, &["logbook", "add", "--at", "2026-01-01T09:00", "entry", "machine-added", machine]);
    for n in 0..6 {
        let file = format!("m{n}.wav");
        let line = format!("1.92:{}", 0.18 + 0.012 * f64::from(n));
        run(at, &["sound", "make", &file, "--seconds", "30", "--line", &line]);
        let ran = format!("2026-0{}-01T15:00", n + 2);
        run(at, &["logbook", "add", "--at", &ran, "ran", "turnstone", "10"]);
        let moment = format!("2026-0{}-01T20:00", n + 2);
        let mut log = vec!["sound", "flutter", &file, "--machine", "turnstone", "--log", "--at", &moment];
        log.extend(["--condition", "lower loop=at the mark"]);
        if n == 0 {
            log.push("--baseline");
        }
        let answer = json(at, &log);
        assert_eq!(answer["recording"].as_str().unwrap().len(), 64);
        assert!(answer["entries"].as_array().unwrap().len() >= 2, "{answer}");
    }
    let trend = json(at, &["sound", "trend", "turnstone"]);
    let points = trend["points"].as_array().unwrap();
    assert_eq!(points.len(), 6);
    assert_eq!(points[0]["baseline"], true);
    assert!(points.iter().all(|point| point["recording"].as_str().is_some_and(|hash| hash.len() == 64)));
    assert!(trend["slope_per_hour"].as_f64().unwrap() > 0.0);
    let limit = &trend["forecast"]["limit"];
    near(limit, 0.4, 1e-12);
    let hours = trend["forecast"]["middle"]["in_hours"].as_f64().unwrap();
    // 0.012 % more with every ten hours, weighted by 0.9 at this rate: about 160 hours to 0.40 %.
    assert!((100.0..220.0).contains(&hours), "{hours}");
    run(at, &["logbook", "verify", "--attachments"]);
    let said = run(at, &["sound", "trend", "turnstone", "flutter-weighted", "--plot", "t.svg"]);
    assert!(said.contains("The limit of 0.4 %"), "{said}");
    assert!(fs::read_to_string(at.join("t.svg")).unwrap().contains("class=\"limit\""));
}
