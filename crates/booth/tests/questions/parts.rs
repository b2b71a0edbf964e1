//! Parts with an age of their own: renewed, moved from machine to machine, once after fitting.

use crate::kit::{Log, at, item, item_of, maybe_item, near, types};
use booth::{CaveatKind, DueState, Since};
use logbook::fact::Ending;

fn hours_left(log: &Log, machine: &str, task: &str, now: &str) -> f64 {
    let booth = log.fold();
    item_of(&booth, machine, task, now).remaining_hours().unwrap().hours()
}

#[test]
fn a_new_lamp_starts_the_planned_change_again() {
    let mut log = Log::new();
    log.fitted("2026-01-02 10:00", "turnstone", "lamp", "lamp-1", Some(0.0));
    log.ran_daily("2026-01-03", 10, "turnstone", 3.0);
    assert!(near(hours_left(&log, "turnstone", "lamp-change", "2026-01-14 12:00"), 5.0));
    let fitted = log.replaced("2026-01-14 18:00", "turnstone", "lamp", "lamp-2", Ending::Planned);
    let booth = log.fold();
    let change = item(&booth, "lamp-change", "2026-01-15 12:00");
    assert!(near(change.remaining_hours().unwrap().hours(), 35.0));
    assert_eq!(change.last_done().unwrap().entry, fitted, "the fitting is the deed");
    assert!(matches!(change.since, Since::Fitted(_)));
}

#[test]
fn a_used_lamp_brings_its_hours_with_it() {
    let mut log = Log::new();
    log.fitted("2026-01-02 10:00", "turnstone", "lamp", "old-lamp", Some(20.0));
    log.ran("2026-01-03 20:00", "turnstone", 3.0);
    assert!(near(hours_left(&log, "turnstone", "lamp-change", "2026-01-04 12:00"), 12.0));
}

#[test]
fn a_part_moved_to_another_machine_keeps_its_age() {
    let mut log = Log::new();
    log.machine("2026-01-01 09:00", "dunlin");
    log.fitted("2026-01-02 10:00", "turnstone", "exciter-lamp", "exciter-7", Some(40.0));
    log.ran_daily("2026-01-03", 10, "turnstone", 3.0);
    log.moved("2026-01-20 10:00", "exciter-7", "dunlin", "exciter-lamp");
    log.ran("2026-01-21 20:00", "dunlin", 2.0);
    log.ran("2026-01-22 20:00", "turnstone", 9.0);
    assert!(near(
        hours_left(&log, "dunlin", "exciter-change", "2026-01-23 12:00"),
        100.0 - 40.0 - 30.0 - 2.0
    ));
    let booth = log.fold();
    let life = booth.parts.get("exciter-7").unwrap();
    let age = booth::age_of(&booth, life, &booth::Now::new(&at("2026-01-23 12:00"), &booth.settings));
    assert!(near(age.hours_run.hours(), 72.0));
    assert_eq!((age.days, age.at_least), (21, false));
}

#[test]
fn an_unknown_age_is_counted_from_when_it_was_met_and_says_so() {
    let mut log = Log::new();
    log.fitted("2026-01-02 10:00", "turnstone", "lamp", "came-with-it", None);
    log.ran("2026-01-03 20:00", "turnstone", 3.0);
    let booth = log.fold();
    let change = item(&booth, "lamp-change", "2026-01-04 12:00");
    assert!(near(change.remaining_hours().unwrap().hours(), 32.0));
    assert!(change.caveats().iter().any(|caveat| caveat.kind == CaveatKind::UnknownAge));
}

#[test]
fn the_same_change_written_as_care_and_as_a_part_counts_the_parts_age() {
    let mut log = Log::new();
    log.fitted("2026-01-02 18:00", "turnstone", "lamp", "used-lamp", Some(20.0));
    log.did("2026-01-02 18:05", "turnstone", "lamp-change");
    assert!(near(hours_left(&log, "turnstone", "lamp-change", "2026-01-04 12:00"), 15.0));
}

#[test]
fn care_written_days_after_the_last_fitting_means_another_lamp_went_in() {
    let mut log = Log::new();
    log.fitted("2026-01-02 18:00", "turnstone", "lamp", "used-lamp", Some(20.0));
    let done = log.did("2026-01-10 18:05", "turnstone", "lamp-change");
    let booth = log.fold();
    let change = item(&booth, "lamp-change", "2026-01-11 12:00");
    assert!(near(change.remaining_hours().unwrap().hours(), 35.0));
    assert_eq!(change.last_done().unwrap().entry, done);
}

#[test]
fn care_of_a_part_that_stays_clean_or_oiled_is_not_started_again_by_another_lamp() {
    let mut log = Log::new();
    log.did("2026-01-02 09:00", "turnstone", "light");
    log.ran("2026-01-03 20:00", "turnstone", 4.0);
    log.fitted("2026-01-04 18:00", "turnstone", "lamp", "lamp-2", Some(0.0));
    assert!(near(hours_left(&log, "turnstone", "light", "2026-01-05 12:00"), 6.0));
}

#[test]
fn once_after_fitting_is_due_once_and_then_never_until_the_next_belt() {
    let mut log = Log::new();
    assert!(
        maybe_item(&log.fold(), "turnstone", "belt-settled", "2026-01-10 12:00").is_none(),
        "no belt is known"
    );
    log.fitted("2026-01-10 10:00", "turnstone", "main-belt", "belt-1", Some(0.0));
    log.ran("2026-01-11 20:00", "turnstone", 4.0);
    assert!(near(hours_left(&log, "turnstone", "belt-settled", "2026-01-12 12:00"), 6.0));
    log.ran("2026-01-12 20:00", "turnstone", 6.0);
    assert_eq!(item(&log.fold(), "belt-settled", "2026-01-13 12:00").state, DueState::Due);
    log.did("2026-01-13 13:00", "turnstone", "belt-settled");
    log.ran_daily("2026-01-14", 10, "turnstone", 4.0);
    assert!(maybe_item(&log.fold(), "turnstone", "belt-settled", "2026-02-01 12:00").is_none());
    log.replaced("2026-02-01 18:00", "turnstone", "main-belt", "belt-2", Ending::Worn);
    assert!(near(hours_left(&log, "turnstone", "belt-settled", "2026-02-02 12:00"), 10.0));
}

#[test]
fn a_belt_of_rubber_ages_by_the_calendar_wherever_it_lay() {
    let mut log = Log::new();
    log.fitted("2026-01-10 10:00", "turnstone", "main-belt", "belt-1", Some(0.0));
    let booth = log.fold();
    assert_eq!(item(&booth, "belt-renew", "2026-01-10 12:00").remaining_days(), Some(5 * 365));
    assert_eq!(item(&booth, "belt-renew", "2027-01-10 12:00").remaining_days(), Some(4 * 365));
}

#[test]
fn a_part_taken_out_leaves_nothing_to_renew_by_its_age() {
    let mut log = Log::new();
    log.machine("2026-01-01 09:00", "dunlin");
    log.fitted("2026-01-02 10:00", "turnstone", "exciter-lamp", "exciter-7", Some(90.0));
    log.moved("2026-01-20 10:00", "exciter-7", "dunlin", "exciter-lamp");
    let booth = log.fold();
    let change = item(&booth, "exciter-change", "2026-01-21 12:00");
    assert!(matches!(change.since, Since::Entered(_)));
    let path = booth::film_path(&booth, types(), "turnstone", &at("2026-01-21 12:00")).unwrap().value;
    assert!(path.slot("exciter-lamp").unwrap().fitted.is_none());
}
