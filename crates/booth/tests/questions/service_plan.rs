//! The service plan from a logbook: machines for showings, care at the bench, pins.

use crate::kit::*;
use booth::{
    KeptBeliefs, Wanted,
    service_plan::{PlannedWork, ServicePlan, Standing, service_plan},
};
use logbook::{
    EntryId,
    fact::{Fitness, PlanPinned, Withdraws},
};

fn pin(machine: &str) -> PlanPinned {
    PlanPinned { machine: machine.into(), showing: None, task: None, on: None, note: String::new() }
}

/// Two machines, showings on five evenings, and rollers that have run 97 of their 100 hours.
fn log() -> Log {
    let mut log = Log::new();
    log.machine("2026-01-01 09:00", "dunlin");
    for machine in ["turnstone", "dunlin"] {
        for task in ["guide-rollers", "roller-shafts", "claw-look", "supply-oil"] {
            log.did("2026-01-02 10:00", machine, task);
        }
    }
    log.ran_daily("2026-01-03", 40, "turnstone", 97.0 / 40.0);
    for (showing, evening) in [("a", 16), ("b", 18), ("c", 20), ("d", 22), ("e", 24)] {
        log.planned(showing, &format!("2026-02-{evening} 19:30"), 90.0, &["turnstone"]);
    }
    log
}

/// Asks for the plan of a fortnight and gives it to a test.
fn planned(log: &Log, test: impl FnOnce(&ServicePlan<'_>)) {
    let (booth, kept) = (log.fold(), KeptBeliefs::default());
    let wanted = Wanted { days: 14, ..Wanted::default() };
    let answer = service_plan(&booth, types(), &at("2026-02-14 09:00"), &kept, wanted);
    assert!(!answer.because.is_empty());
    test(&answer.value);
}

fn seat(plan: &ServicePlan<'_>, showing: &str) -> Vec<(String, Standing)> {
    let found = plan.showings.iter().find(|it| it.showing.as_str() == showing).unwrap();
    found.machines.iter().map(|seat| (seat.machine.to_string(), seat.standing)).collect()
}

/// The work of a kind with its day.
fn work<'p, 'a>(
    plan: &'p ServicePlan<'a>,
    machine: &str,
    what: &str,
) -> Option<(String, &'p PlannedWork<'a>)> {
    let all =
        plan.sessions.iter().flat_map(|it| it.work.iter().map(|work| (it.starts.date().to_string(), work)));
    let mut found = all.filter(|(_, work)| work.machine.as_str() == machine && work.what == what);
    found.next()
}

fn pinned(log: &mut Log, fact: PlanPinned) -> EntryId {
    log.write("2026-02-13 12:00", fact)
}

#[test]
fn care_stands_at_the_bench_before_the_showing_that_would_pass_its_limit() {
    planned(&log(), |plan| {
        let (day, rollers) =
            work(plan, "turnstone", "guide-rollers").expect("three hours are left, and 7.5 to run");
        // Two evenings of an hour and a half fit into what is left; the third would pass it.
        assert!(day.as_str() <= "2026-02-20", "{day}");
        assert!(rollers.hours_since <= 100.0 + 1e-9, "{}", rollers.hours_since);
        assert!(plan.not_met.is_empty(), "{:?}", plan.not_met);
        assert_eq!(seat(plan, "a"), [("turnstone".to_owned(), Standing::InDiary)]);
        assert!(plan.cost_minutes >= plan.bound_minutes - 1e-6);
        for session in &plan.sessions {
            assert!(session.minutes_used <= session.minutes);
        }
    });
}

#[test]
fn a_machine_that_may_not_be_used_is_replaced_and_said() {
    let mut log = log();
    log.fitness("2026-02-13 12:00", "turnstone", Fitness::Unfit, "no sound");
    planned(&log, |plan| {
        assert_eq!(seat(plan, "a"), [("dunlin".to_owned(), Standing::Chosen)]);
        assert!(plan.not_met.iter().any(|words| words.contains("turnstone")), "{:?}", plan.not_met);
        assert!(
            plan.sessions.iter().flat_map(|it| &it.work).all(|work| work.machine.as_str() != "turnstone")
        );
    });
    log.fitness("2026-02-13 13:00", "dunlin", Fitness::Unfit, "no picture");
    planned(&log, |plan| {
        assert!(plan.showings.iter().all(|showing| showing.missing == 1 && showing.machines.is_empty()));
        assert!(plan.not_met.iter().any(|words| words.contains("lacks a machine")), "{:?}", plan.not_met);
    });
}

#[test]
fn a_pinned_machine_takes_the_diarys_place_until_the_pin_is_withdrawn() {
    let mut log = log();
    let entry = pinned(&mut log, PlanPinned { showing: Some("c".into()), ..pin("dunlin") });
    planned(&log, |plan| {
        assert_eq!(seat(plan, "c"), [("dunlin".to_owned(), Standing::Pinned(entry))]);
        assert_eq!(seat(plan, "b"), [("turnstone".to_owned(), Standing::InDiary)]);
    });
    log.write("2026-02-13 14:00", Withdraws { entry, why: "after all".into() });
    planned(&log, |plan| assert_eq!(seat(plan, "c"), [("turnstone".to_owned(), Standing::InDiary)]));
}

#[test]
fn pinned_care_stands_on_its_day_however_early_that_is() {
    let mut log = log();
    let on = |date: &str| PlanPinned {
        task: Some("guide-rollers".into()),
        on: Some(day(date)),
        ..pin("turnstone")
    };
    let entry = pinned(&mut log, on("2026-02-15"));
    planned(&log, |plan| {
        let (day, rollers) = work(plan, "turnstone", "guide-rollers").unwrap();
        assert_eq!((day.as_str(), rollers.pin), ("2026-02-15", Some(entry)));
    });
    pinned(&mut log, on("2026-02-16"));
    planned(&log, |plan| assert_eq!(work(plan, "turnstone", "guide-rollers").unwrap().0, "2026-02-16"));
}

#[test]
fn pins_that_cannot_hold_are_named_and_nothing_is_planned() {
    let mut log = log();
    log.fitness("2026-02-13 12:00", "dunlin", Fitness::Danger, "sparks");
    pinned(&mut log, PlanPinned { showing: Some("c".into()), ..pin("dunlin") });
    planned(&log, |plan| {
        assert!(plan.showings.is_empty() && plan.sessions.is_empty());
        assert!(!plan.pins_that_cannot_hold.is_empty());
        assert!(plan.sentence.contains("dunlin"), "{}", plan.sentence);
    });
}

#[test]
fn a_booth_without_anything_gets_an_empty_plan() {
    let (booth, kept) = (logbook::Booth::default(), KeptBeliefs::default());
    let answer = service_plan(&booth, types(), &at("2026-02-14 09:00"), &kept, Wanted::default());
    assert!(answer.value.showings.is_empty() && answer.value.sessions.is_empty());
    assert!(answer.value.sentence.starts_with("No showing stands in the diary"), "{}", answer.value.sentence);
}

/// A machine of a shipped type whose lamp is past its time, with showings to come.
fn lamps(there: u32) -> Log {
    let mut log = Log::new();
    let kind = "portable-16mm-halogen";
    log.machine_of("2026-01-01 09:00", "heron", kind, Some(0.0));
    log.fitted("2026-01-01 10:00", "heron", "lamp", "lamp-1", Some(45.0));
    log.write(
        "2026-01-02 12:00",
        logbook::fact::StockCounted {
            only_in: None,
            item: "lamp-24v-250w".into(),
            count: there,
            name: Some("Lamps".to_owned()),
            slot: Some("lamp".into()),
            kept_in: None,
            minimum: None,
        },
    );
    for (showing, evening) in [("a", 16), ("b", 18), ("c", 20), ("d", 22), ("e", 24)] {
        log.planned(showing, &format!("2026-02-{evening} 19:30"), 90.0, &["heron"]);
    }
    log
}

fn shipped_plan(log: &Log, test: impl FnOnce(&ServicePlan<'_>)) {
    plan_for(log, Wanted { days: 14, ..Wanted::default() }, test);
}

fn plan_for(log: &Log, wanted: Wanted, test: impl FnOnce(&ServicePlan<'_>)) {
    let (booth, kept, library) = (log.fold(), KeptBeliefs::default(), machine::shipped());
    test(&service_plan(&booth, &library, &at("2026-02-14 09:00"), &kept, wanted).value);
}

#[test]
fn a_change_without_its_spare_is_for_somebody_to_settle() {
    let of_lamp = |plan: &ServicePlan<'_>| plan.heed.iter().filter(|said| said.contains("Lamps")).count();
    shipped_plan(&lamps(0), |plan| {
        assert!(work(plan, "heron", "lamp").is_some() || of_lamp(plan) > 0, "the lamp is changed: {plan:?}");
        assert_eq!(of_lamp(plan), 1, "{:?}", plan.heed);
        assert!(
            plan.heed
                .iter()
                .any(|said| said.contains("Lamps: none there") && said.contains("none is on order"))
        );
    });
    shipped_plan(&lamps(5), |plan| assert_eq!(of_lamp(plan), 0, "{:?}", plan.heed));
}

#[test]
fn a_change_pays_by_what_a_dark_minute_is_worth_to_the_owner() {
    let worth = |dark_minute: f64| Wanted { days: 14, dark_minute, ..Wanted::default() };
    plan_for(&lamps(5), worth(0.1), |plan| {
        assert!(work(plan, "heron", "exciter-lamp").is_none(), "{plan:?}");
    });
    plan_for(&lamps(5), worth(1000.0), |plan| {
        assert!(work(plan, "heron", "exciter-lamp").is_some(), "{plan:?}");
    });
}

#[test]
fn a_machine_with_a_fault_open_is_named_with_its_showings() {
    let mut log = lamps(5);
    log.write(
        "2026-02-13 10:00",
        logbook::fact::FaultOpened {
            fault: "f".into(),
            machine: "heron".into(),
            slot: None,
            words: "It knocks. Not always.".into(),
            showing: None,
            symptoms: Vec::new(),
            print_sort: None,
            print: None,
            show_running: false,
        },
    );
    shipped_plan(&log, |plan| {
        let said = plan.heed.iter().find(|said| said.contains("It knocks")).expect("the fault is named");
        assert!(
            said.contains("stands at 5 showings, from 16 Feb on") && !said.contains("Not always"),
            "{said}"
        );
    });
}
