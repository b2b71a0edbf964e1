//! Corrections and withdrawals: what stands in the end.

use crate::kit::*;
use logbook::{
    Fact, When,
    fact::{Corrects, Withdraws},
    fold_as_of,
};

#[test]
fn a_correction_stands_at_the_old_place_in_time() {
    let mut log = with_turnstone();
    let wrong = log.at(24.0, showed(20.0));
    log.at(96.0, corrects(wrong, showed(2.0)));
    let machine = log.turnstone();
    is(machine.clocks.hours_run(), 2.0);
    assert_eq!(machine.runs[0].at, after(24.0));
    assert_eq!(machine.runs[0].entry, wrong);
}

#[test]
fn a_correction_may_say_that_it_happened_at_another_time() {
    let mut log = with_turnstone();
    let wrong = log.at(24.0, showed(2.0));
    log.at(
        96.0,
        Fact::Corrects(Corrects {
            entry: wrong,
            with: Box::new(showed(2.0).into()),
            happened: Some(after(48.0)),
            why: "it was the next day".to_owned(),
        }),
    );
    assert_eq!(log.turnstone().runs[0].at, after(48.0));
}

#[test]
fn of_two_corrections_the_one_recorded_last_wins_and_a_correction_can_be_corrected() {
    let mut log = with_turnstone();
    let wrong = log.at(24.0, showed(20.0));
    let first = log.at(97.0, corrects(wrong, showed(2.0)));
    log.at(96.0, corrects(wrong, showed(3.0)));
    is(log.turnstone().clocks.hours_run(), 3.0);
    log.at(98.0, corrects(first, showed(2.5)));
    is(log.turnstone().clocks.hours_run(), 2.5);
}

#[test]
fn a_withdrawn_withdrawal_leaves_the_entry_standing() {
    let mut log = with_turnstone();
    let run = log.at(24.0, showed(2.0));
    let back = log.at(48.0, withdraws(run));
    is(log.turnstone().clocks.hours_run(), 0.0);
    let back_again = log.at(72.0, withdraws(back));
    is(log.turnstone().clocks.hours_run(), 2.0);
    log.at(96.0, withdraws(back_again));
    is(log.turnstone().clocks.hours_run(), 0.0);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn a_withdrawn_correction_leaves_the_first_words_standing() {
    let mut log = with_turnstone();
    let run = log.at(24.0, showed(2.0));
    let correction = log.at(48.0, corrects(run, showed(5.0)));
    log.at(72.0, withdraws(correction));
    is(log.turnstone().clocks.hours_run(), 2.0);
}

#[test]
fn settling_what_is_not_here_is_asked_about() {
    let mut log = with_turnstone();
    log.at(24.0, corrects(id(999), showed(2.0)));
    log.at(48.0, withdraws(id(998)));
    assert_eq!(log.asked().len(), 2);
    is(log.turnstone().clocks.hours_run(), 0.0);
}

#[test]
fn settlements_in_a_ring_settle_nothing() {
    let mut log = with_turnstone();
    log.at(24.0, showed(2.0));
    // The next two entries get the numbers 3 and 4, and each names the other; the fifth names itself.
    log.at(48.0, withdraws(id(4)));
    log.at(49.0, withdraws(id(3)));
    log.at(50.0, Withdraws { entry: id(5), why: String::new() });
    is(log.turnstone().clocks.hours_run(), 2.0);
    assert_eq!(log.asked().len(), 3);
}

#[test]
fn a_long_chain_of_corrections_is_no_danger() {
    let mut log = with_turnstone();
    let mut last = log.at(24.0, showed(1.0));
    for step in 0..50_000 {
        last = log.at(48.0, corrects(last, showed(f64::from(step % 24))));
    }
    is(log.turnstone().clocks.hours_run(), f64::from(49_999 % 24));
}

#[test]
fn the_same_entry_twice_counts_once() {
    let mut log = with_turnstone();
    log.at(24.0, showed(2.0));
    let again = log.entries[1].clone();
    log.entries.push(again);
    let folded = log.fold();
    is(folded.booth.machines["turnstone"].clocks.hours_run(), 2.0);
    assert_eq!(folded.entries, 2);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn one_id_with_two_contents_is_asked_about() {
    let mut log = with_turnstone();
    log.at(24.0, showed(2.0));
    let mut other = log.entries[1].clone();
    other.fact = showed(3.0).into();
    other.recorded.unix_ms += 1;
    log.entries.push(other);
    is(log.turnstone().clocks.hours_run(), 2.0);
    assert_eq!(log.asked(), ["two different entries carry the same id; the one written first counts"]);
}

#[test]
fn the_booth_can_be_seen_as_it_was_known_on_a_day() {
    let mut log = with_turnstone();
    let run = log.at(24.0, showed(20.0));
    let known_by: When = log.entries[1].recorded;
    log.at(48.0, corrects(run, showed(2.0)));
    let then = fold_as_of(log.entries.clone(), known_by).booth;
    is(then.machines["turnstone"].clocks.hours_run(), 20.0);
    is(log.turnstone().clocks.hours_run(), 2.0);
}

#[test]
fn what_a_newer_program_wrote_is_kept_and_mentioned_once() {
    let mut log = with_turnstone();
    for step in [1.0, 2.0] {
        log.at(
            step,
            Fact::Unknown(Box::new(logbook::fact::Unknown {
                kind: "gate-photographed".to_owned(),
                version: 1,
                body: "{}".into(),
                trouble: None,
            })),
        );
    }
    assert_eq!(
        log.asked(),
        ["2 of kind “gate-photographed” version 1 can only be read by a newer program; kept as written"]
    );
    assert_eq!(log.fold().entries, 3);
}
