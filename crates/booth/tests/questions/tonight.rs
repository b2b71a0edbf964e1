//! What is on, and what is due before the doors.

use crate::kit::{Log, at, day, item, types};
use booth::CaveatKind;
use logbook::fact::{Fitness, Outcome};

fn friday() -> Log {
    let mut log = Log::new();
    log.machine("2026-01-01 09:00", "dunlin");
    log.planned("friday", "2026-03-06 19:30", 120.0, &["turnstone"]);
    log.planned("saturday", "2026-03-07 19:30", 120.0, &["turnstone", "dunlin"]);
    log.planned("far", "2026-04-20 19:30", 120.0, &["dunlin"]);
    log
}

#[test]
fn this_evening_comes_first_then_the_week() {
    let booth = friday().fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-03-06 17:00")).value;
    assert_eq!(tonight.evening, day("2026-03-06"));
    let ids = |showings: &[booth::TonightShowing<'_>]| {
        showings.iter().map(|showing| showing.id.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(ids(&tonight.this_evening), ["friday"]);
    assert_eq!(ids(&tonight.next_days), ["saturday"]);
    assert_eq!(tonight.after_that.unwrap().0.as_str(), "far");
}

#[test]
fn the_sentence_says_what_when_and_what_is_left() {
    let booth = friday().fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-03-06 17:00")).value;
    let showing = &tonight.this_evening[0];
    assert_eq!((showing.minutes_till_start, showing.minutes_till_doors), (150, 115));
    assert!(
        tonight.sentence.starts_with("This evening: Programme friday at 19:30 on turnstone."),
        "{}",
        tonight.sentence
    );
    assert!(tonight.sentence.contains("The doors open in 1 h 55 min."), "{}", tonight.sentence);
}

#[test]
fn nothing_on_says_when_the_next_one_is() {
    let booth = friday().fold();
    let quiet = booth::tonight(&booth, types(), &at("2026-03-10 17:00")).value;
    assert_eq!(
        quiet.sentence,
        "No showing this evening. The next is Programme far on Monday 20 April at 19:30."
    );
    let empty = Log::new().fold();
    let never = booth::tonight(&empty, types(), &at("2026-03-10 17:00")).value;
    assert_eq!(never.sentence, "No showing this evening, and none in the diary.");
}

#[test]
fn checks_before_the_showing_drop_off_as_they_are_done() {
    let mut log = friday();
    let before = |log: &Log| {
        let booth = log.fold();
        let tonight = booth::tonight(&booth, types(), &at("2026-03-06 18:00")).value;
        (tonight.this_evening[0].machines[0].n_before_left(), tonight.this_evening[0].minutes_of_care)
    };
    let (n_before, minutes) = before(&log);
    assert_eq!(n_before, 2);
    log.did("2026-03-06 17:10", "turnstone", "mains-look");
    let (n_left, minutes_left) = before(&log);
    assert_eq!(n_left, 1);
    assert!((minutes - minutes_left - 1.0).abs() < 1e-9, "the look takes a minute");
}

#[test]
fn checks_before_the_first_showing_do_not_count_for_the_second() {
    let checks_left = |write_end: &dyn Fn(&mut Log)| {
        let mut log = Log::new();
        log.planned("matinee", "2026-03-06T16:00[Europe/Lisbon]", 90.0, &["turnstone"]);
        log.planned("late", "2026-03-06T20:30[Europe/Lisbon]", 90.0, &["turnstone"]);
        log.did("2026-03-06 15:10", "turnstone", "mains-look");
        write_end(&mut log);
        let booth = log.fold();
        let tonight = booth::tonight(&booth, types(), &at("2026-03-06 18:30")).value;
        tonight.this_evening.last().unwrap().machines[0].n_before_left()
    };
    assert_eq!(checks_left(&|_| {}), 1);
    assert_eq!(checks_left(&|log| _ = log.held("2026-03-06 16:00", "matinee", 90.0)), 2);
    assert_eq!(checks_left(&|log| _ = log.ran("2026-03-06 16:00", "turnstone", 1.5)), 2);
}

#[test]
fn yesterdays_checks_do_not_count_tonight() {
    let mut log = friday();
    log.did("2026-03-05 19:00", "turnstone", "mains-look");
    let booth = log.fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-03-06 18:00")).value;
    assert_eq!(tonight.this_evening[0].machines[0].n_before_left(), 2);
}

#[test]
fn care_stands_with_the_showing_before_which_it_falls_due() {
    let mut log = friday();
    log.did("2026-01-05 18:00", "turnstone", "guide-rollers");
    log.did("2026-01-06 18:00", "dunlin", "guide-rollers");
    let booth = log.fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-03-06 17:00")).value;
    let due = |showing: &booth::TonightShowing<'_>, machine: usize| {
        showing.machines[machine].due.iter().any(|item| item.task.id.as_str() == "guide-rollers")
    };
    assert!(due(&tonight.this_evening[0], 0), "60 days from 5 January are up on 6 March");
    assert!(!due(&tonight.next_days[0], 0), "listed once, with the first showing");
    assert!(due(&tonight.next_days[0], 1), "60 days from 6 January are up on 7 March");
    assert!(tonight.next_days[0].machines[0].n_listed_earlier >= 1);
}

#[test]
fn hours_that_run_out_during_the_showing_are_due_before_it() {
    let mut log = friday();
    log.did("2026-02-20 18:00", "turnstone", "claw-look");
    log.ran_daily("2026-02-21", 7, "turnstone", 7.0);
    let booth = log.fold();
    let due = booth::due_tonight(&booth, types(), &at("2026-03-06 17:00")).value;
    let claw = due.iter().find(|item| item.task.id.as_str() == "claw-look").unwrap();
    assert_eq!(claw.state, booth::DueState::Soon, "one hour is left, the programme runs two");
}

#[test]
fn the_cheap_question_agrees_with_the_whole_one() {
    let mut log = friday();
    log.did("2026-01-05 18:00", "turnstone", "guide-rollers");
    let booth = log.fold();
    let now = at("2026-03-06 17:00");
    let cheap = booth::due_tonight(&booth, types(), &now).value;
    let whole = booth::tonight(&booth, types(), &now).value;
    let tasks =
        |items: &[booth::DueItem<'_>]| items.iter().map(|item| item.task.id.to_string()).collect::<Vec<_>>();
    assert_eq!(tasks(&cheap), tasks(&whole.this_evening[0].machines[0].due));
    assert!(!cheap.is_empty());
}

#[test]
fn a_quarantined_machine_is_named_and_not_offered() {
    let mut log = friday();
    log.fitness("2026-03-05 12:00", "turnstone", Fitness::Danger, "a tingle at the case");
    let booth = log.fold();
    let answer = booth::tonight(&booth, types(), &at("2026-03-06 17:00"));
    assert!(!answer.value.this_evening[0].machines[0].may_run);
    assert!(answer.value.sentence.contains("turnstone may not be used: find another machine."));
    let caveat = answer.caveats.iter().find(|caveat| caveat.kind == CaveatKind::NotForUse).unwrap();
    assert!(
        caveat.words.contains("until a technician releases it: a tingle at the case"),
        "{}",
        caveat.words
    );
}

#[test]
fn open_faults_stand_with_their_machine_until_they_are_closed() {
    let mut log = friday();
    log.fault("2026-03-01 22:00", "ticks", "turnstone", Some("motor"));
    let open = |log: &Log| {
        let booth = log.fold();
        booth::tonight(&booth, types(), &at("2026-03-06 17:00")).value.this_evening[0].machines[0]
            .open_faults
            .len()
    };
    assert_eq!(open(&log), 1);
    log.fault_closed("2026-03-05 18:00", "ticks");
    assert_eq!(open(&log), 0);
}

#[test]
fn a_past_showing_that_nobody_settled_is_asked_about() {
    let booth = friday().fold();
    let answer = booth::tonight(&booth, types(), &at("2026-03-10 17:00"));
    let stale = answer.caveats.iter().find(|caveat| caveat.kind == CaveatKind::StaleDiary).unwrap();
    assert!(
        stale.words.starts_with("2 past showings are neither logged as held nor cancelled"),
        "{}",
        stale.words
    );
}

#[test]
fn a_showing_on_a_machine_that_nobody_added_says_so() {
    let mut log = Log::new();
    log.planned("friday", "2026-03-06 19:30", 120.0, &["nobodys"]);
    let booth = log.fold();
    let answer = booth::tonight(&booth, types(), &at("2026-03-06 17:00"));
    assert_eq!(answer.value.this_evening[0].unknown_machines.len(), 1);
    assert!(answer.caveats.iter().any(|caveat| caveat.words.contains("nobodys")));
}

#[test]
fn more_care_than_time_is_said_before_the_doors_open() {
    let mut log = friday();
    log.event("2026-03-05 10:00", "turnstone", "transport");
    let booth = log.fold();
    let sentence = |now| booth::tonight(&booth, types(), &at(now)).value.sentence;
    let early = sentence("2026-03-06 12:00");
    assert!(early.contains("2 checks before the showing are still to do."), "{early}");
    assert!(!early.contains("more than there is time for"), "{early}");
    let late = sentence("2026-03-06 18:50");
    assert!(late.contains("of care, more than there is time for before the doors."), "{late}");
}

#[test]
fn what_only_a_technician_may_do_is_said_and_takes_none_of_the_operators_minutes() {
    let mut log = friday();
    for task in ["guide-rollers", "claw-look", "heat-filter-look", "light", "lamp-change", "exercise"] {
        log.did("2026-03-06 10:00", "turnstone", task);
    }
    let minutes = |log: &Log| {
        let booth = log.fold();
        let tonight = booth::tonight(&booth, types(), &at("2026-03-06 17:00")).value;
        (tonight.this_evening[0].minutes_of_care, tonight.sentence)
    };
    let (before, _) = minutes(&log);
    log.event("2026-03-06 12:00", "turnstone", "repair");
    let (after, sentence) = minutes(&log);
    assert!(sentence.contains("1 of them wants a technician."), "{sentence}");
    assert!((before - after).abs() < 1e-9);
}

#[test]
fn limits_of_a_machine_are_said() {
    let mut log = friday();
    log.fitness("2026-03-05 12:00", "turnstone", Fitness::Limited, "low lamp setting only");
    let booth = log.fold();
    let answer = booth::tonight(&booth, types(), &at("2026-03-06 17:00"));
    assert!(answer.value.this_evening[0].machines[0].may_run);
    let limits = answer.caveats.iter().find(|caveat| caveat.kind == CaveatKind::WithinLimits).unwrap();
    assert_eq!(limits.words, "turnstone is fit within limits only: low lamp setting only.");
}

#[test]
fn people_read_what_a_machine_is_called_and_not_its_id() {
    let mut log = friday();
    let renamed = logbook::fact::MachineChanged {
        machine: "turnstone".into(),
        name: Some("The small one".to_owned()),
        machine_type: None,
        serial: None,
        place: None,
    };
    log.write("2026-01-02 12:00", renamed);
    log.fitness("2026-03-06 12:00", "turnstone", Fitness::Unfit, "belt gone");
    let booth = log.fold();
    let now = at("2026-03-06 17:00");
    let answer = booth::tonight(&booth, types(), &now);
    assert!(answer.value.sentence.contains("The small one may not be used: find another machine."));
    let of_machine = booth::due_for(&booth, types(), "turnstone", &now).unwrap().caveats;
    let all = booth::due(&booth, types(), &now).caveats;
    for caveats in [answer.caveats, of_machine, all] {
        assert!(caveats.iter().any(|caveat| caveat.words.contains("The small one")), "{caveats:?}");
        assert!(caveats.iter().all(|caveat| !caveat.words.contains("turnstone")), "{caveats:?}");
    }
}

#[test]
fn the_lead_says_how_much_was_never_written_down() {
    let mut log = friday();
    let booth = log.fold();
    let now = at("2026-03-06 17:00");
    let before = booth::tonight(&booth, types(), &now).value;
    let unwritten = booth::due_for(&booth, types(), "turnstone", &now).unwrap().value;
    let unwritten: Vec<&str> = unwritten
        .iter()
        .filter(|item| item.state == booth::DueState::NoRecord)
        .map(|item| item.task.id.as_str())
        .collect();
    assert_eq!(before.n_no_record, unwritten.len());
    assert!(before.n_no_record > 1);
    let words =
        format!("{} care tasks of the machines of this evening have no record yet.", before.n_no_record);
    assert!(before.sentence.contains(&words), "{}", before.sentence);
    log.did("2026-03-05 12:00", "turnstone", unwritten[0]);
    let booth = log.fold();
    let after = booth::tonight(&booth, types(), &now).value;
    assert!(after.n_no_record < before.n_no_record);
    // Both machines of the week count, each once, when nothing is shown this evening.
    let earlier = booth::tonight(&booth, types(), &at("2026-03-02 17:00")).value;
    assert!(earlier.sentence.contains("of the machines of the coming days have no record yet."));
    assert!(earlier.n_no_record > before.n_no_record);
}

fn friday_machine<'a>(booth: &'a logbook::Booth, now: &str) -> booth::TonightMachine<'a> {
    booth::tonight(booth, types(), &at(now)).value.this_evening[0].machines[0].clone()
}

#[test]
fn an_attention_stands_until_somebody_settles_it() {
    let mut log = friday();
    log.found("2026-03-06 17:10", "turnstone", "mains-look", None, Outcome::Attention);
    let stands = |log: &Log| friday_machine(&log.fold(), "2026-03-06 18:30").attention.len();
    assert_eq!(stands(&log), 1);
    let said = booth::tonight(&log.fold(), types(), &at("2026-03-06 18:30")).value.sentence;
    assert!(said.contains("1 part found to want attention"), "{said}");
    let settled = |settle: &dyn Fn(&mut Log)| {
        let mut log = friday();
        log.found("2026-03-06 17:10", "turnstone", "mains-look", None, Outcome::Attention);
        settle(&mut log);
        stands(&log)
    };
    assert_eq!(settled(&|log| _ = log.did("2026-03-06 17:30", "turnstone", "mains-look")), 0, "done since");
    assert_eq!(
        settled(&|log| _ = log.fault("2026-03-06 17:30", "f", "turnstone", None)),
        0,
        "a fault is open"
    );
    assert_eq!(
        settled(&|log| _ = log.fault("2026-03-06 17:30", "f", "dunlin", None)),
        1,
        "of another machine"
    );
    assert_eq!(
        settled(&|log| _ = log.fault("2026-03-06 17:30", "f", "turnstone", Some("lens"))),
        1,
        "elsewhere"
    );
    let decide =
        |log: &mut Log| _ = log.fitness("2026-03-06 17:30", "turnstone", Fitness::Limited, "stay beside it");
    assert_eq!(settled(&decide), 0, "somebody decided");
    assert_eq!(settled(&|log| _ = log.did("2026-03-06 17:30", "turnstone", "gate-brush")), 1, "another task");
}

#[test]
fn an_overdue_safety_test_of_the_technician_is_named_with_every_showing() {
    let mut log = friday();
    log.did("2025-03-01 10:00", "turnstone", "electrical-test");
    let booth = log.fold();
    let tonight = booth::tonight(&booth, types(), &at("2026-03-06 17:00")).value;
    let untested = |showing: &booth::TonightShowing<'_>| {
        showing.machines[0].untested.iter().map(|item| item.task.id.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(untested(&tonight.this_evening[0]), ["electrical-test"]);
    assert_eq!(untested(&tonight.next_days[0]), ["electrical-test"], "listed earlier, and still not tested");
    log.did("2026-03-06 10:00", "turnstone", "electrical-test");
    assert!(friday_machine(&log.fold(), "2026-03-06 17:00").untested.is_empty());
}

#[test]
fn where_time_is_short_the_checks_that_matter_most_are_named() {
    let booth = friday().fold();
    let named = |now: &str| {
        let tonight = booth::tonight(&booth, types(), &at(now)).value;
        let checks = &tonight.this_evening[0].first_checks;
        checks.iter().map(|(_, task)| task.id.to_string()).collect::<Vec<_>>()
    };
    assert!(named("2026-03-06 18:00").is_empty(), "there is time for all of them");
    // The doors open at 18:55: in the one minute that is left, what safety hangs on comes first.
    assert_eq!(named("2026-03-06 18:54"), ["mains-look"]);
}

#[test]
fn what_is_left_of_a_part_of_unknown_age_is_not_known() {
    let mut log = Log::new();
    assert!(item(&log.fold(), "service", "2026-03-06 17:00").is_of_unknown_age(), "it came with the machine");
    log.fitted("2026-03-01 10:00", "turnstone", "motor", "motor-2", None);
    assert!(
        item(&log.fold(), "service", "2026-03-06 17:00").is_of_unknown_age(),
        "nobody knows how old it was"
    );
    let mut log = Log::new();
    log.fitted("2026-03-01 10:00", "turnstone", "motor", "motor-2", Some(0.0));
    assert!(!item(&log.fold(), "service", "2026-03-06 17:00").is_of_unknown_age(), "it was new");
}
