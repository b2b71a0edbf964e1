//! The depot's log for measuring: as large as asked, plausible, the same each time.
#![allow(clippy::unwrap_used)]

use demo::big_log;
use jiff::civil::date;
use logbook::{Entry, Fact, fold};

fn depot(machines: usize, entries: usize) -> Vec<Entry> {
    big_log(machines, entries, date(2026, 11, 25), 9).collect()
}

#[test]
fn it_is_as_large_as_asked_and_the_same_each_time() {
    let log = depot(200, 20_000);
    assert_eq!(log.len(), 20_000);
    assert_eq!(log, depot(200, 20_000));
    assert!(log.is_sorted_by(|a, b| a.id < b.id), "ids rise with time");
    assert!(log.iter().all(|entry| entry.happened.unix_ms <= entry.recorded.unix_ms));
    assert!(log.last().unwrap().recorded.date() < date(2026, 11, 25));
}

#[test]
fn its_mix_is_that_of_a_working_depot() {
    let log = depot(200, 20_000);
    let share = |of: fn(&Fact) -> bool| log.iter().filter(|entry| of(&entry.fact)).count() as f64 / 20_000.0;
    assert!((share(|fact| matches!(fact, Fact::Ran(_))) - 0.45).abs() < 0.02);
    assert!((share(|fact| matches!(fact, Fact::CareDone(_))) - 0.35).abs() < 0.02);
    assert!((share(|fact| matches!(fact, Fact::MeterRead(_))) - 0.08).abs() < 0.01);
    assert!((share(|fact| matches!(fact, Fact::Reading(_))) - 0.06).abs() < 0.01);
    assert!((share(|fact| matches!(fact, Fact::PartFitted(_))) - 0.03).abs() < 0.01);
    assert!(share(|fact| matches!(fact, Fact::Corrects(_) | Fact::Withdraws(_))) > 0.003);
}

#[test]
fn it_folds_into_all_its_machines_with_little_to_ask() {
    let folded = fold(depot(200, 20_000));
    assert_eq!(folded.booth.machines.len(), 200);
    assert!(folded.booth.settings.invented);
    assert!(folded.booth.machines.values().all(|machine| machine.runs.len() > 10));
    let asked = folded.booth.queries.len();
    assert!(asked < 100, "{asked} questions, the first: {:?}", folded.booth.queries.first());
}

#[test]
fn a_small_one_is_cut_where_it_is_told() {
    assert_eq!(depot(1, 3).len(), 3);
    assert_eq!(depot(0, 50).len(), 50);
    assert!(depot(5, 0).is_empty());
}
