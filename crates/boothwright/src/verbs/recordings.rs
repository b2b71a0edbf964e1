//! The demo's recordings: their sound is made, kept, and measured as any other, and what it says comes into the logbook.

use crate::failure::{Failure, Kind};
use booth::sound::{Bench, Measured, Noted, facts};
use demo::TestRecording;
use logbook::Entry;
use machine::Library;
use std::io::Cursor;
use store::Attachments;

/// Keeps every recording and returns the entries that their readings make, in the order of the recordings.
pub fn keep(recordings: &[TestRecording], attachments: &Attachments) -> Result<Vec<Entry>, Failure> {
    let library = machine::shipped();
    // Each takes a fraction of a second to make; a thread for each costs little and shortens the wait.
    let kept: Vec<Result<Vec<Entry>, Failure>> = std::thread::scope(|scope| {
        let library = &library;
        let threads: Vec<_> = recordings
            .iter()
            .map(|recording| scope.spawn(move || keep_one(recording, library, attachments)))
            .collect();
        threads
            .into_iter()
            .map(|one| one.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
            .collect()
    });
    Ok(kept.into_iter().collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

fn keep_one(
    recording: &TestRecording,
    library: &Library,
    attachments: &Attachments,
) -> Result<Vec<Entry>, Failure> {
    let cannot =
        |error: sound::SoundError| Failure::new(Kind::World, format!("cannot make a recording: {error}"));
    let kind = library.get(&recording.machine_type).expect("the demo's machines are of shipped types");
    let wav = recording.made.wav().map_err(cannot)?;
    let kept = attachments.put(&wav)?;
    let report = Bench::new(Some(kind)).flutter(&mut Cursor::new(wav)).map_err(cannot)?;
    let noted = Noted {
        machine: recording.machine.clone(),
        recording: Some(kept.id.to_string()),
        baseline: recording.baseline,
        conditions: recording.conditions.clone(),
    };
    let (facts, _) = facts(&Measured::of_flutter(&report), kind, &noted);
    Ok(recording.entries(facts))
}
