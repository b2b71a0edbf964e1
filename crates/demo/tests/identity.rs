//! The same date and seed give the same bytes; ids and times are made by the standards.
#![allow(clippy::unwrap_used)]

use demo::{DemoLog, booth};
use jiff::civil::{Date, date};
use logbook::{Booth, Draft, Fact, accept, fold, wire};
use std::collections::HashSet;

const TODAY: Date = date(2026, 11, 25);

fn bytes(log: &DemoLog) -> Vec<u8> {
    let (mut all, mut one) = (Vec::new(), Vec::new());
    for (entry, number) in log.entries.iter().zip(1..) {
        wire::canonical_bytes(&wire::encode(entry), number, &mut one);
        all.extend_from_slice(&one);
    }
    all
}

#[test]
fn the_same_date_and_seed_give_the_same_bytes() {
    let (first, second) = (booth(TODAY, 5), booth(TODAY, 5));
    assert_eq!(bytes(&first), bytes(&second));
    assert_eq!(first.truth, second.truth);
}

#[test]
fn another_seed_or_day_gives_another_log() {
    let first = bytes(&booth(TODAY, 5));
    assert_ne!(first, bytes(&booth(TODAY, 6)));
    assert_ne!(first, bytes(&booth(TODAY.tomorrow().unwrap(), 5)));
}

#[test]
fn what_is_written_reads_back_as_it_was() {
    for entry in booth(TODAY, 5).entries {
        assert_eq!(wire::decode(&wire::encode(&entry)), entry);
    }
}

#[test]
fn ids_agree_with_rfc_9562_section_5_7() {
    let log = booth(TODAY, 5);
    let mut seen = HashSet::new();
    for entry in &log.entries {
        let bytes = entry.id.0.as_bytes();
        let mut ms = [0; 8];
        ms[2..].copy_from_slice(&bytes[..6]);
        assert_eq!(i64::from_be_bytes(ms), entry.recorded.unix_ms, "48 bits of Unix milliseconds");
        assert_eq!(bytes[6] >> 4, 7, "version");
        assert_eq!(bytes[8] >> 6, 0b10, "variant");
        assert!(seen.insert(entry.id), "each id is written once");
    }
    let devices: HashSet<_> = log.entries.iter().map(|entry| entry.device).collect();
    assert_eq!(devices.len(), 2);
}

#[test]
fn offsets_change_with_summer_time_as_the_european_directive_says() {
    // Directive 2000/84/EC: summer time from the last Sunday of March to that of October, at 01:00 UTC.
    // The islands follow it by their own law (from memory).
    for entry in booth(TODAY, 5).entries {
        let day = entry.happened.date();
        let summer = day >= date(2026, 3, 29) && day < date(2026, 10, 25)
            || day >= date(2025, 3, 30) && day < date(2025, 10, 26);
        let is_day_of_change = [date(2025, 10, 26), date(2026, 3, 29), date(2026, 10, 25)].contains(&day);
        if !is_day_of_change {
            assert_eq!(entry.happened.offset_s, if summer { 3600 } else { 0 }, "{day}");
        }
    }
}

/// Kinds before which the booth is folded anew, so that the gate judges them by the latest state.
fn hangs_on_what_came_before(fact: &Fact) -> bool {
    matches!(
        fact,
        Fact::PartMoved(_)
            | Fact::PartRemoved(_)
            | Fact::FitnessSet(_)
            | Fact::FaultClosed(_)
            | Fact::MeterReplaced(_)
            | Fact::ShowingCancelled(_)
            | Fact::Corrects(_)
            | Fact::Withdraws(_)
    )
}

#[test]
fn the_gate_accepts_every_entry_that_is_not_wrong_on_purpose() {
    const FOLD_EVERY: usize = 400;
    let log = booth(TODAY, 5);
    let dirt: HashSet<_> = log.truth.dirt.all().into_iter().collect();
    let so_far = |n: usize| -> Booth { fold(log.entries[..n].to_vec()).booth };
    let (mut booth, mut folded) = (Booth::default(), 0);
    for (n, entry) in log.entries.iter().enumerate() {
        if n - folded >= FOLD_EVERY || hangs_on_what_came_before(&entry.fact) {
            (booth, folded) = (so_far(n), n);
        }
        let draft = || Draft {
            id: entry.id,
            device: entry.device,
            happened: entry.happened,
            by: entry.by.clone(),
            fact: entry.fact.clone(),
        };
        let mut answer = accept(draft(), &booth, entry.recorded);
        if answer.is_err() && folded < n {
            (booth, folded) = (so_far(n), n);
            answer = accept(draft(), &booth, entry.recorded);
        }
        match answer {
            Ok(accepted) => assert_eq!(&accepted, entry),
            Err(refusal) => assert!(dirt.contains(&entry.id), "{refusal}: {entry:?}"),
        }
    }
}
