//! The recordings that the invented booth kept.
#![allow(clippy::unwrap_used)]

use demo::{TestRecording, booth};
use jiff::civil::{Date, date};
use logbook::{Entry, Fact, fact::Noted};
use std::collections::HashSet;

const TODAY: Date = date(2026, 11, 25);

fn note(words: &str) -> Fact {
    Noted { about: None, words: words.to_owned(), photos: Vec::new() }.into()
}

fn notes_of(recording: &TestRecording) -> Vec<Entry> {
    recording.entries(vec![note("one"), note("two")])
}

#[test]
fn the_same_date_and_seed_give_the_same_recordings() {
    let log = booth(TODAY, 5);
    assert_eq!(log.recordings, booth(TODAY, 5).recordings);
    assert_ne!(log.recordings, booth(TODAY, 6).recordings);
    let wavs = [5, 5].map(|seed| booth(TODAY, seed).recordings[0].made.wav().unwrap());
    assert!(wavs[0] == wavs[1], "the same bytes");
    assert!(wavs[0].len() < 2_000_000, "{} bytes", wavs[0].len());
}

#[test]
fn three_recordings_make_a_baseline_after_the_crossing_and_the_drum_gets_worse_in_the_others() {
    for today in [TODAY, date(2026, 3, 30), date(2027, 7, 4)] {
        let log = booth(today, 16);
        let baseline: Vec<_> = log.recordings.iter().filter(|one| one.baseline).collect();
        assert_eq!(baseline.len(), 3);
        let at = |one: &&TestRecording| notes_of(one)[0].happened.date();
        assert!(baseline.iter().all(|one| at(one) > log.truth.crossing));
        let depth = |one: &TestRecording| one.made.lines[0].depth;
        let later: Vec<_> = log.recordings.iter().filter(|one| !one.baseline).map(depth).collect();
        assert!(later.windows(2).all(|two| two[0] < two[1]), "{later:?}");
        assert!(baseline.iter().all(|one| depth(one) < later[0]));
    }
}

#[test]
fn what_a_recording_says_has_ids_and_times_of_its_own() {
    let log = booth(TODAY, 5);
    let mut seen: HashSet<_> = log.entries.iter().map(|entry| entry.id).collect();
    let devices: HashSet<_> = log.entries.iter().map(|entry| entry.device).collect();
    let newest = log.entries.iter().map(|entry| entry.recorded.unix_ms).max().unwrap();
    for entry in log.recordings.iter().flat_map(notes_of) {
        assert!(seen.insert(entry.id), "each id is written once");
        assert!(devices.contains(&entry.device));
        assert!(entry.happened.unix_ms <= entry.recorded.unix_ms && entry.recorded.unix_ms <= newest);
    }
}
