//! Hours or days, whichever comes first; grace; no record; bigger tasks.

use crate::kit::{Log, at, day, item, near, types};
use booth::{CaveatKind, DueState, Since};
use logbook::fact::{Outcome, RunKind};

/// Guide rollers every 100 h or 60 days (common practice, no source): forty hours run, so sixty are left.
#[test]
fn hours_run_are_taken_off_the_hours_that_are_left() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    log.ran_daily("2026-02-02", 20, "turnstone", 2.0);
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-02-22 12:00");
    assert!(near(rollers.remaining_hours().unwrap().hours(), 60.0));
    assert_eq!(rollers.remaining_days(), Some(60 - 21));
    assert_eq!(rollers.state, DueState::Ok);
}

/// Guide rollers every 60 days (common practice, no source): a machine that stands in its case is due by the calendar.
#[test]
fn days_make_it_due_when_hours_do_not() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    let booth = log.fold();
    assert_eq!(item(&booth, "guide-rollers", "2026-03-26 12:00").state, DueState::Soon);
    let due = item(&booth, "guide-rollers", "2026-04-02 12:00");
    assert_eq!((due.state, due.remaining_days()), (DueState::Due, Some(0)));
    assert!(near(due.remaining_hours().unwrap().hours(), 100.0));
}

/// Guide rollers every 100 h (common practice, no source): a busy machine is due by its hours.
#[test]
fn hours_make_it_due_when_days_do_not() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    log.ran_daily("2026-02-02", 20, "turnstone", 5.0);
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-02-22 12:00");
    assert_eq!(rollers.state, DueState::Due);
    assert!(near(rollers.remaining_hours().unwrap().hours(), 0.0));
    assert_eq!(rollers.forecast_date(), Some(day("2026-02-22")));
}

/// Roller shafts every 250 h and no days (common practice, no source): no calendar makes them due.
#[test]
fn a_task_without_days_waits_for_its_hours() {
    let mut log = Log::new();
    log.did("2026-01-02 18:00", "turnstone", "roller-shafts");
    log.ran("2026-01-03 20:00", "turnstone", 10.0);
    let booth = log.fold();
    let shafts = item(&booth, "roller-shafts", "2036-01-03 12:00");
    assert_eq!((shafts.remaining_days(), shafts.state), (None, DueState::Ok));
    assert!(near(shafts.remaining_hours().unwrap().hours(), 240.0));
}

/// Grace of 10 % or 7 days between due and overdue: common practice, no source.
#[test]
fn ten_per_cent_or_a_week_lie_between_due_and_overdue() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    let booth = log.fold();
    assert_eq!(item(&booth, "guide-rollers", "2026-04-09 12:00").state, DueState::Due);
    assert_eq!(item(&booth, "guide-rollers", "2026-04-10 12:00").state, DueState::Overdue);
    log.ran_daily("2026-02-02", 22, "turnstone", 5.0);
    assert_eq!(item(&log.fold(), "guide-rollers", "2026-02-24 12:00").state, DueState::Due);
    log.ran("2026-02-24 20:00", "turnstone", 0.5);
    assert_eq!(item(&log.fold(), "guide-rollers", "2026-02-25 12:00").state, DueState::Overdue);
}

/// What safety hangs on has no grace: common practice, no source.
#[test]
fn a_safety_task_is_overdue_the_day_after() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "heat-filter-look");
    let booth = log.fold();
    assert_eq!(item(&booth, "heat-filter-look", "2026-07-31 12:00").state, DueState::Due);
    assert_eq!(item(&booth, "heat-filter-look", "2026-08-01 12:00").state, DueState::Overdue);
}

#[test]
fn what_was_never_done_is_counted_from_entry_and_says_so() {
    let booth = Log::new().fold();
    let rollers = item(&booth, "guide-rollers", "2026-01-20 12:00");
    assert_eq!(rollers.state, DueState::NoRecord);
    assert!(rollers.last_done().is_none());
    assert!(matches!(rollers.since, Since::Entered(_)));
    assert_eq!(rollers.remaining_days(), Some(60 - 19));
    assert!(
        near(rollers.remaining_hours().unwrap().hours(), 100.0),
        "hours before entry are not held against it"
    );
    assert!(rollers.caveats().iter().any(|caveat| caveat.kind == CaveatKind::NoRecord));
    assert_eq!(item(&booth, "guide-rollers", "2026-03-02 12:00").state, DueState::Due);
}

#[test]
fn the_interval_starts_again_from_when_it_was_done_not_from_when_it_was_due() {
    let mut log = Log::new();
    log.did("2026-01-10 18:00", "turnstone", "supply-oil");
    log.did("2026-05-01 18:00", "turnstone", "supply-oil");
    let booth = log.fold();
    assert_eq!(item(&booth, "supply-oil", "2026-05-02 12:00").forecast_date(), Some(day("2026-07-30")));
}

#[test]
fn done_inside_a_bigger_task_counts_and_names_it() {
    let mut log = Log::new();
    log.did("2026-01-10 18:00", "turnstone", "guide-rollers");
    let bigger = log.did("2026-02-10 18:00", "turnstone", "roller-shafts");
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-02-20 12:00");
    let last = rollers.last_done().unwrap();
    assert_eq!((last.entry, last.within), (bigger, Some("roller-shafts")));
    assert_eq!(rollers.remaining_days(), Some(50));
}

#[test]
fn a_service_contains_what_its_tasks_contain() {
    let mut log = Log::new();
    log.by("tarn").did("2026-02-10 10:00", "turnstone", "service");
    let booth = log.fold();
    for task in ["roller-shafts", "guide-rollers", "motor-oil"] {
        let last = item(&booth, task, "2026-02-20 12:00").last_done().unwrap();
        assert_eq!(last.within, Some("service"), "{task}");
    }
}

#[test]
fn done_alone_after_the_bigger_task_counts_by_itself() {
    let mut log = Log::new();
    log.did("2026-02-10 18:00", "turnstone", "roller-shafts");
    let own = log.did("2026-02-15 18:00", "turnstone", "guide-rollers");
    let booth = log.fold();
    let last = item(&booth, "guide-rollers", "2026-02-20 12:00").last_done().unwrap();
    assert_eq!((last.entry, last.within), (own, None));
}

#[test]
fn what_was_left_out_or_could_not_be_told_does_not_count() {
    let mut log = Log::new();
    log.did("2026-01-10 18:00", "turnstone", "guide-rollers");
    log.found("2026-03-01 18:00", "turnstone", "guide-rollers", None, Outcome::Skipped);
    log.found("2026-03-02 18:00", "turnstone", "guide-rollers", None, Outcome::CannotTell);
    let booth = log.fold();
    assert_eq!(item(&booth, "guide-rollers", "2026-03-11 12:00").state, DueState::Due);
}

#[test]
fn done_roller_by_roller_counts_once_every_roller_was_done() {
    let mut log = Log::new();
    log.found("2026-03-01 18:00", "turnstone", "guide-rollers", Some("guide-roller-upper"), Outcome::Done);
    let booth = log.fold();
    assert!(
        item(&booth, "guide-rollers", "2026-03-20 12:00").last_done().is_none(),
        "only one of two rollers"
    );
    log.found("2026-03-05 18:00", "turnstone", "guide-rollers", Some("guide-roller-lower"), Outcome::Fine);
    let booth = log.fold();
    let rollers = item(&booth, "guide-rollers", "2026-03-20 12:00");
    assert_eq!(
        rollers.last_done().unwrap().at.date(),
        day("2026-03-01"),
        "the roller done longest ago counts"
    );
}

#[test]
fn lamp_hours_strikes_and_motor_hours_are_clocks_of_their_own() {
    let mut log = Log::new();
    for task in ["light", "lamp-strikes", "motor-oil", "claw-look"] {
        log.did("2026-01-02 09:00", "turnstone", task);
    }
    log.ran("2026-01-03 20:00", "turnstone", 2.0);
    log.ran_as("2026-01-04 20:00", "turnstone", RunKind::Test, 1.0);
    log.ran_as("2026-01-05 20:00", "turnstone", RunKind::Rewind, 0.5);
    let booth = log.fold();
    let hours = |task| item(&booth, task, "2026-01-06 12:00").remaining_hours().map(units::Hours::hours);
    assert!(near(hours("light").unwrap(), 8.0), "the lamp was lit in the showing only");
    assert!(near(hours("claw-look").unwrap(), 47.0), "film ran in the showing and the test");
    assert!(near(hours("motor-oil").unwrap(), 96.5), "the motor turned in all three");
    let strikes = item(&booth, "lamp-strikes", "2026-01-06 12:00");
    assert_eq!((strikes.remaining_strikes(), strikes.remaining_hours()), (Some(19), None));
}

#[test]
fn care_that_belongs_to_reels_and_showings_is_not_on_the_calendar() {
    let booth = Log::new().fold();
    let items = booth::due(&booth, types(), &at("2027-01-01 12:00")).value;
    let listed = |task: &str| items.iter().any(|item| item.task.id.as_str() == task);
    assert!(!listed("gate-brush") && !listed("pack-up"));
    assert!(listed("guide-rollers"));
}

#[test]
fn a_machine_of_an_unknown_type_is_named_and_not_guessed_at() {
    let mut log = Log::new();
    log.machine_of("2026-01-02 09:00", "dunlin", "from-elsewhere", None);
    let booth = log.fold();
    let answer = booth::due(&booth, types(), &at("2026-06-01 12:00"));
    assert!(answer.value.iter().all(|item| item.machine.as_str() == "turnstone"));
    let unknown = answer.caveats.iter().find(|caveat| caveat.kind == CaveatKind::UnknownType).unwrap();
    assert!(unknown.words.contains("dunlin") && unknown.words.contains("from-elsewhere"));
}

#[test]
fn every_line_says_on_what_it_rests() {
    let mut log = Log::new();
    let done = log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    let booth = log.fold();
    let because = item(&booth, "guide-rollers", "2026-02-22 12:00").because();
    let words: Vec<String> = because.iter().map(booth::Ground::in_words).collect();
    assert!(words.iter().any(|words| words.contains(&done.to_string())), "{words:?}");
    let interval = "every 100 h or 60 days (common practice, no source)";
    assert!(words.iter().any(|words| words.contains(interval)), "{words:?}");
}

#[test]
fn the_form_for_scripts_has_the_keys_that_were_promised() {
    let mut log = Log::new();
    log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    log.planned("friday", "2026-02-27 19:30", 120.0, &["turnstone"]);
    let booth = log.fold();
    let line = serde_json::to_value(item(&booth, "guide-rollers", "2026-02-22 12:00")).unwrap();
    for key in [
        "machine",
        "task",
        "part",
        "last_done",
        "remaining_hours",
        "remaining_days",
        "forecast_date",
        "forecast_showing",
        "state",
        "because",
        "caveats",
    ] {
        assert!(line.get(key).is_some(), "{key}");
    }
    assert_eq!(line["machine"], "turnstone");
    assert_eq!(line["part"], "guide-roller-upper");
    assert_eq!(line["last_done"], "2026-02-01");
    assert_eq!(line["remaining_hours"], 100.0);
    assert_eq!(line["state"], "ok");
}

#[test]
fn care_with_the_same_preparation_and_place_is_offered_together() {
    let mut log = Log::new();
    log.machine("2026-01-01 09:00", "dunlin");
    let booth = log.fold();
    let items: Vec<_> = booth::due(&booth, types(), &at("2026-06-01 12:00")).value;
    let sessions = booth::together(&items);
    let rollers = sessions.iter().find(|session| {
        session.machine.as_str() == "turnstone"
            && session.items.iter().any(|item| item.task.id.as_str() == "guide-rollers")
    });
    let tasks: Vec<&str> = rollers.unwrap().items.iter().map(|item| item.task.id.as_str()).collect();
    assert_eq!(tasks, ["guide-rollers", "roller-shafts", "claw-look"], "unplugged, film path, one machine");
    assert!(near(rollers.unwrap().minutes, 36.0));
    assert!(sessions.iter().all(|session| session.items.iter().all(|item| item.machine == session.machine)));
    let n_items: usize = sessions.iter().map(|session| session.items.len()).sum();
    assert_eq!(n_items, items.len(), "nothing is lost");
}
