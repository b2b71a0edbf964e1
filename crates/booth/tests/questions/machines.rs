//! Machines at a glance; who may be offered; diary and pictures.

use crate::kit::{Log, at, day, near, types};
use booth::CaveatKind;
use logbook::fact::{Fitness, RunKind};

fn listed(booth: &logbook::Booth, now: &str) -> Vec<String> {
    let mut names: Vec<String> =
        booth::due(booth, types(), &at(now)).value.iter().map(|item| item.machine.to_string()).collect();
    names.dedup();
    names
}

/// Quarantine outranks everything: common practice, no source.
#[test]
fn a_machine_in_danger_vanishes_until_a_technician_releases_it() {
    let mut log = Log::new();
    log.machine("2026-01-01 09:00", "dunlin");
    log.fitness("2026-03-01 12:00", "dunlin", Fitness::Danger, "a tingle at the case");
    assert_eq!(listed(&log.fold(), "2026-03-02 12:00"), ["turnstone"]);
    log.by("wren").fitness("2026-03-02 12:00", "dunlin", Fitness::Fit, "seems fine");
    assert_eq!(listed(&log.fold(), "2026-03-03 12:00"), ["turnstone"], "the keeper cannot release it");
    log.by("tarn").fitness("2026-03-04 12:00", "dunlin", Fitness::Limited, "earth mended, 500 W at most");
    assert_eq!(listed(&log.fold(), "2026-03-05 12:00"), ["turnstone", "dunlin"]);
}

#[test]
fn asked_for_by_name_a_quarantined_machine_still_says_what_is_due() {
    let mut log = Log::new();
    log.fitness("2026-03-01 12:00", "turnstone", Fitness::Unfit, "belt gone");
    let booth = log.fold();
    let answer = booth::due_for(&booth, types(), "turnstone", &at("2026-03-02 12:00")).unwrap();
    assert!(!answer.value.is_empty());
    assert!(answer.caveats.iter().any(|caveat| caveat.kind == CaveatKind::NotForUse));
    let all = booth::due(&booth, types(), &at("2026-03-02 12:00"));
    assert!(all.value.is_empty());
    assert!(all.caveats.iter().any(|caveat| caveat.words.contains("turnstone")));
}

#[test]
fn a_retired_machine_is_gone_from_every_list_but_its_own() {
    let mut log = Log::new();
    log.machine("2026-01-01 09:00", "dunlin");
    log.retired("2026-02-01 12:00", "dunlin");
    let booth = log.fold();
    assert_eq!(listed(&booth, "2026-03-02 12:00"), ["turnstone"]);
    assert_eq!(booth::machines(&booth, types(), &at("2026-03-02 12:00")).value.len(), 1);
    let sheet = booth::machine_sheet(&booth, types(), "dunlin", &at("2026-03-02 12:00")).unwrap();
    assert!(!sheet.value.may_run);
}

#[test]
fn the_overview_counts_what_the_list_lists() {
    let mut log = Log::new();
    log.planned("friday", "2026-06-05 19:30", 60.0, &["turnstone"]);
    log.ran("2026-02-01 20:00", "turnstone", 2.0);
    log.fault("2026-02-01 22:00", "ticks", "turnstone", None);
    let booth = log.fold();
    let now = at("2026-06-01 12:00");
    let row = &booth::machines(&booth, types(), &now).value[0];
    let items = booth::due(&booth, types(), &now).value;
    let count = |state| items.iter().filter(|item| item.state == state).count();
    assert_eq!((row.n_overdue, row.n_due), (count(booth::DueState::Overdue), count(booth::DueState::Due)));
    assert!(row.n_overdue > 0);
    assert_eq!(row.n_open_faults, 1);
    assert_eq!(row.next_showing.unwrap().0.as_str(), "friday");
    assert!(near(row.hours_run.hours(), 1002.0));
}

#[test]
fn the_sheet_of_a_machine_has_its_parts_readings_and_showings() {
    let mut log = Log::new();
    log.fitted("2026-01-02 10:00", "turnstone", "lamp", "lamp-1", Some(0.0));
    log.read("2026-01-03 12:00", "turnstone", "flutter", 0.2, "%", false);
    log.read("2026-02-03 12:00", "turnstone", "flutter", 0.3, "%", false);
    log.planned("friday", "2026-06-05 19:30", 60.0, &["turnstone"]);
    let booth = log.fold();
    let sheet = booth::machine_sheet(&booth, types(), "turnstone", &at("2026-03-01 12:00")).unwrap().value;
    assert_eq!(sheet.fitted.len(), 1);
    assert_eq!(sheet.last_readings.iter().map(|reading| reading.value).collect::<Vec<_>>(), [0.3]);
    assert_eq!(sheet.coming.len(), 1);
    assert!(sheet.due.windows(2).all(|pair| pair[0].state <= pair[1].state), "the most pressing first");
}

#[test]
fn hours_by_week_begin_on_monday_and_keep_empty_weeks() {
    let mut log = Log::new();
    log.ran("2026-02-02 20:00", "turnstone", 2.0);
    log.ran_as("2026-02-08 20:00", "turnstone", RunKind::Test, 0.5);
    log.ran("2026-02-09 01:00", "turnstone", 1.0);
    log.ran("2026-02-17 20:00", "turnstone", 3.0);
    let booth = log.fold();
    let weeks = booth::hours_by_week(&booth, "turnstone", 4, &at("2026-02-18 12:00")).unwrap().value;
    assert_eq!(
        weeks.iter().map(|week| week.week_begins).collect::<Vec<_>>(),
        [day("2026-01-26"), day("2026-02-02"), day("2026-02-09"), day("2026-02-16")]
    );
    assert!(near(weeks[1].showing.hours(), 3.0), "one in the morning is still Sunday's evening");
    assert!(near(weeks[1].testing.hours(), 0.5));
    assert!(near(weeks[2].showing.hours() + weeks[0].showing.hours(), 0.0));
    assert!(near(weeks[3].showing.hours(), 3.0));
}

#[test]
fn the_diary_has_showings_and_service_day_by_day() {
    let mut log = Log::new();
    log.did("2026-01-10 18:00", "turnstone", "supply-oil");
    log.planned("late", "2026-04-10 22:00", 60.0, &["turnstone"]);
    log.planned("early", "2026-04-10 15:00", 60.0, &["turnstone"]);
    log.planned("other", "2026-05-10 15:00", 60.0, &["turnstone"]);
    let booth = log.fold();
    let now = at("2026-01-11 12:00");
    let diary = booth::diary(&booth, types(), day("2026-04-10"), day("2026-04-10"), &now).value;
    assert_eq!(diary.len(), 1);
    let titles: Vec<&str> = diary[0].showings.iter().map(|(id, _)| id.as_str()).collect();
    assert_eq!(titles, ["early", "late"]);
    assert!(diary[0].falls_due.iter().any(|item| item.task.id.as_str() == "supply-oil"));
}

#[test]
fn the_time_line_is_in_order_and_ends_where_it_was_asked_to() {
    let booth = Log::new().fold();
    let line = booth::due_timeline(&booth, types(), None, 100, &at("2026-01-02 12:00")).unwrap().value;
    assert!(!line.is_empty() && line.windows(2).all(|pair| pair[0].date <= pair[1].date));
    assert!(line.iter().all(|mark| mark.date <= day("2026-04-12")));
}

#[test]
fn estimated_hours_are_said_to_be_estimates() {
    let mut log = Log::new();
    log.machine_of("2026-01-02 09:00", "dunlin", "bench-16mm", None);
    let booth = log.fold();
    let caveats = booth::due_for(&booth, types(), "dunlin", &at("2026-02-01 12:00")).unwrap().caveats;
    assert!(caveats.iter().any(|caveat| caveat.kind == CaveatKind::UnknownAge));
}

#[test]
fn the_same_caveat_of_many_machines_is_said_once() {
    let mut log = Log::new();
    for n in 0..20 {
        log.machine_of("2026-01-02 09:00", &format!("m{n:02}"), "bench-16mm", None);
    }
    let booth = log.fold();
    let caveats = booth::due(&booth, types(), &at("2026-02-01 12:00")).caveats;
    let unknown: Vec<_> = caveats.iter().filter(|caveat| caveat.kind == CaveatKind::UnknownAge).collect();
    assert_eq!(unknown.len(), 1);
    assert!(
        unknown[0].words.starts_with("Each of m00, m01, m02, m03, m04, m05 and 14 more ran"),
        "{}",
        unknown[0].words
    );
}
