//! Readings and what they say.

use crate::kit::{Log, types};
use booth::{CaveatKind, Verdict, readings_of, verdict};

fn judge(value: f64, uncertainty: Option<f64>) -> Verdict {
    let kind = types().get("bench-16mm").unwrap();
    verdict(value, uncertainty, None, kind.limit("flutter").unwrap())
}

#[test]
fn a_reading_is_good_to_watch_to_act_on_or_to_stop_at() {
    assert_eq!(judge(0.20, None), Verdict::Good);
    assert_eq!(judge(0.30, None), Verdict::Watch);
    assert_eq!(judge(0.50, None), Verdict::Act);
    assert_eq!(judge(0.70, None), Verdict::Stop);
}

/// Twice the standard uncertainty is taken as the doubt (JCGM 100:2008, G.6.6, from memory).
#[test]
fn a_limit_is_passed_or_failed_by_more_than_the_doubt() {
    assert_eq!(judge(0.50, Some(0.04)), Verdict::Act);
    assert_eq!(judge(0.50, Some(0.06)), Verdict::CannotTell);
    assert_eq!(judge(0.24, Some(0.02)), Verdict::CannotTell);
    assert_eq!(judge(f64::NAN, None), Verdict::CannotTell);
}

#[test]
fn a_share_of_a_reference_needs_the_reference() {
    let mut log = Log::new();
    log.read("2026-01-03 12:00", "turnstone", "screen-light", 90.0, "lx", false);
    log.read("2026-01-04 12:00", "turnstone", "screen-light", 100.0, "lx", true);
    log.read("2026-02-04 12:00", "turnstone", "screen-light", 80.0, "lx", false);
    log.read("2026-03-04 12:00", "turnstone", "screen-light", 70.0, "lx", false);
    let booth = log.fold();
    let answer = readings_of(&booth, types(), "turnstone", "screen-light").unwrap();
    let verdicts: Vec<Verdict> = answer.value.iter().map(|judged| judged.verdict).collect();
    assert_eq!(verdicts, [Verdict::CannotTell, Verdict::Good, Verdict::Watch, Verdict::Act]);
    assert!(answer.caveats.iter().any(|caveat| caveat.kind == CaveatKind::NoReference));
}

#[test]
fn a_reading_in_another_unit_is_not_judged() {
    let mut log = Log::new();
    log.read("2026-01-03 12:00", "turnstone", "flutter", 3.1, "ftL", false);
    let booth = log.fold();
    let answer = readings_of(&booth, types(), "turnstone", "flutter").unwrap();
    assert_eq!(answer.value[0].verdict, Verdict::CannotTell);
    assert!(answer.caveats[0].words.contains("ftL"));
}

#[test]
fn a_quantity_that_nobody_reads_is_refused_with_those_that_are_read() {
    let booth = Log::new().fold();
    let error = readings_of(&booth, types(), "turnstone", "flutte").unwrap_err();
    assert_eq!(
        error.to_string(),
        "a machine of the type `bench-16mm` has no reading `flutte`; there are flutter, screen-light"
    );
}
