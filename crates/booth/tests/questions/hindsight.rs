//! Chances that would have been given before past showings, held against what came.

use crate::kit::{Log, at};
use booth::{Hindsight, hindsight};
use logbook::{Entry, When, fact::Stoppage};
use machine::Library;
use std::sync::OnceLock;
use units::Seconds;

fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(machine::shipped)
}

/// Forty evenings of one machine, of which the fifth stopped.
fn forty() -> Log {
    let mut log = Log::new();
    log.machine_of("2025-12-01 09:00", "heron", "portable-16mm-halogen", Some(100.0));
    for n in 0..40 {
        let (id, day) = (format!("s{n}"), booth::Day::on("2026-02-01".parse().unwrap()).plus(n).date());
        log.planned(&id, &format!("{day} 19:30"), 120.0, &["heron"]);
        if n == 4 {
            log.write(
                &format!("{day} 20:00"),
                Stoppage {
                    showing: Some(id.as_str().into()),
                    machine: Some("heron".into()),
                    dark_seconds: Seconds::new(120.0),
                    what: "a loop lost".into(),
                },
            );
        }
        log.held(&format!("{day} 19:30"), &id, 120.0);
    }
    log
}

fn look<R>(log: &Log, entries: &[Entry], most: usize, read: impl Fn(Hindsight<'_>) -> R) -> R {
    let booth = log.fold();
    read(hindsight(&booth, entries, library(), &at("2026-04-01 12:00"), most).value)
}

#[test]
fn each_showing_is_judged_by_what_was_known_before_it() {
    let log = forty();
    let (chances, stopped): (Vec<f64>, Vec<bool>) = look(&log, &log.entries, 300, |found| {
        assert_eq!((found.older, found.not_foretold, found.record.came), (0, 0, 1));
        assert!((found.record.expected - found.calibration.as_ref().unwrap().mean_given * 40.0).abs() < 1e-9);
        found.showings.iter().map(|one| (one.chance.value(), one.stopped)).unzip()
    });
    assert_eq!(stopped.iter().position(|stopped| *stopped), Some(4));
    // What came later tells nothing of the showings before it, and something of those after it.
    let mut quiet = forty();
    quiet.entries.retain(|entry| !matches!(entry.fact, logbook::Fact::Stoppage(_)));
    let without: Vec<f64> = look(&quiet, &quiet.entries, 300, |found| {
        found.showings.iter().map(|one| one.chance.value()).collect()
    });
    assert_eq!(chances[..5], without[..5]);
    assert!(chances[5..].iter().zip(&without[5..]).all(|(with, without)| with > without));
}

#[test]
fn showings_that_nobody_foretold_and_older_ones_are_counted_and_left_out() {
    let log = forty();
    // The last ten were written into the diary the day after.
    let mut entries = log.entries.clone();
    for entry in &mut entries {
        if let logbook::Fact::ShowingPlanned(planned) = &entry.fact
            && planned.showing.as_str().trim_start_matches('s').parse::<u32>().is_ok_and(|n| n >= 30)
        {
            entry.recorded = When::from_zoned(&at("2026-04-01 09:00"));
        }
    }
    look(&log, &entries, 300, |found| assert_eq!((found.showings.len(), found.not_foretold), (30, 10)));
    look(&log, &log.entries, 15, |found| {
        assert_eq!((found.showings.len(), found.older), (15, 25));
        assert!(found.calibration.is_some_and(|calibration| calibration.steps.len() == 1));
    });
    let empty = Log::new();
    look(&empty, &empty.entries, 300, |found| {
        assert!(found.calibration.is_none() && !found.sentence.is_empty());
    });
}
