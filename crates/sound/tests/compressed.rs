//! Compressed recordings, written by general-purpose encoders (see `recordings/make.py`), read what was put into them.
#![allow(clippy::unwrap_used)]

use sound::{FlutterReport, FlutterRequest, SoundError, measure_flutter};
use std::io::Cursor;

const FLAC: &[u8] = include_bytes!("recordings/tone.flac");
const OGG: &[u8] = include_bytes!("recordings/tone.ogg");
const MP3: &[u8] = include_bytes!("recordings/tone.mp3");
const M4A: &[u8] = include_bytes!("recordings/tone.m4a");

fn measure(bytes: &[u8]) -> Result<FlutterReport, SoundError> {
    measure_flutter(&mut Cursor::new(bytes.to_vec()), &FlutterRequest::default())
}

fn check(name: &str, bytes: &[u8], depth_tolerance: f64) {
    let report = measure(bytes).unwrap();
    let error = report.speed_error_percent.unwrap().percent();
    assert!((error - 0.8).abs() < 0.01, "{name}: speed {error}");
    assert!((report.recorded_seconds.seconds() - 12.0).abs() < 0.2, "{name}: {}", report.recorded_seconds);
    for (hz, depth) in [(2.0, 0.2), (24.0, 0.1)] {
        let line = report.lines.iter().find(|l| (l.hz.hertz() - hz).abs() < 0.02);
        let line = line.unwrap_or_else(|| panic!("{name}: no line at {hz} Hz in {:?}", report.lines));
        let ratio = line.depth_peak_percent.percent() / (depth / 1.008);
        assert!((ratio - 1.0).abs() < depth_tolerance, "{name}: {hz} Hz is {ratio:.4} of its depth");
    }
}

#[test]
fn flac_loses_nothing() {
    check("FLAC", FLAC, 0.005);
}

#[test]
fn lossy_coding_keeps_speed_and_flutter() {
    // A coder of sound for ears may alter what an ear does not hear; two per cent of the depth is what these left.
    check("Ogg Vorbis", OGG, 0.02);
    check("MP3", MP3, 0.02);
    check("AAC", M4A, 0.02);
}

#[test]
fn cut_and_damaged_files_give_a_reading_or_an_error() {
    for (name, whole) in [("FLAC", FLAC), ("OGG", OGG), ("MP3", MP3), ("M4A", M4A)] {
        for share in [1, 3, 7, 9] {
            let _ = measure(&whole[..whole.len() * share / 10]);
            let mut holed = whole.to_vec();
            let at = whole.len() * share / 10;
            holed[at..at + 200].fill(0xA5);
            if let Err(error) = measure(&holed) {
                assert!(!error.to_string().is_empty(), "{name}");
            }
        }
    }
}
