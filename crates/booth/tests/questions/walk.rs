//! The walk along the film path.

use crate::kit::{Log, at, types};
use booth::{NotKnown, WalkKind};
use logbook::fact::Outcome;

fn steps(booth: &logbook::Booth, kind: WalkKind, now: &str) -> Vec<String> {
    let walk = booth::walk(booth, types(), "turnstone", kind, &at(now)).unwrap().value;
    walk.steps.iter().map(|step| step.task.id.to_string()).collect()
}

#[test]
fn each_walk_has_its_own_steps_in_the_order_of_the_film() {
    let booth = Log::new().fold();
    let now = "2026-03-06 18:00";
    assert_eq!(steps(&booth, WalkKind::BeforeShowing, now), ["gate-brush", "mains-look"]);
    assert_eq!(steps(&booth, WalkKind::AfterShowing, now), ["pack-up"]);
    assert_eq!(steps(&booth, WalkKind::EveryReel, now), ["gate-brush"]);
    let all = booth::walk(&booth, types(), "turnstone", WalkKind::All, &at(now)).unwrap().value;
    let places: Vec<_> =
        all.steps.iter().map(|step| all.kind.part_position(step.slot.unwrap().as_str()).unwrap()).collect();
    assert!(places.is_sorted(), "{places:?}");
    assert_eq!(all.steps.len(), all.kind.care.len());
}

#[test]
fn the_walk_of_what_is_due_has_what_is_due() {
    let mut log = Log::new();
    log.event("2026-01-10 10:00", "turnstone", "transport");
    let booth = log.fold();
    assert_eq!(steps(&booth, WalkKind::Due, "2026-01-11 18:00"), ["transport-check"]);
}

#[test]
fn a_step_tells_the_hand_what_it_needs() {
    let booth = Log::new().fold();
    let walk =
        booth::walk(&booth, types(), "turnstone", WalkKind::BeforeShowing, &at("2026-03-06 18:00")).unwrap();
    let brush = &walk.value.steps[0];
    assert_eq!((brush.number, brush.part.unwrap().name.as_str()), (1, "Gate"));
    assert_eq!(brush.uses.iter().map(|thing| thing.name.as_str()).collect::<Vec<_>>(), ["Gate brush"]);
    assert!(
        brush.cautions.iter().any(|caution| caution.words.contains("Hot after a run")),
        "{:?}",
        brush.cautions
    );
    assert!(brush.preparation.is_some());
    assert!(brush.outcomes.contains(&Outcome::Done) && brush.outcomes.contains(&Outcome::CannotTell));
    assert!((walk.value.minutes_left - 1.5).abs() < 1e-9);
}

#[test]
fn a_step_done_this_evening_carries_its_entry_so_that_nothing_is_asked_twice() {
    let mut log = Log::new();
    let done = log.did("2026-03-06 18:00", "turnstone", "gate-brush");
    let booth = log.fold();
    let walk =
        booth::walk(&booth, types(), "turnstone", WalkKind::BeforeShowing, &at("2026-03-06 18:10")).unwrap();
    assert_eq!(walk.value.steps[0].already.unwrap().entry, done);
    assert!(walk.value.steps[1].already.is_none());
    assert!((walk.value.minutes_left - 1.0).abs() < 1e-9);
}

#[test]
fn a_step_left_out_is_still_to_do_but_not_forgotten() {
    let mut log = Log::new();
    let left_out = log.found("2026-03-06 18:00", "turnstone", "gate-brush", None, Outcome::Skipped);
    let booth = log.fold();
    let walk =
        booth::walk(&booth, types(), "turnstone", WalkKind::BeforeShowing, &at("2026-03-06 18:10")).unwrap();
    assert!(walk.value.steps[0].already.is_none());
    assert_eq!(walk.value.steps[0].left_out.unwrap().entry, left_out);
}

#[test]
fn at_every_reel_the_gate_is_brushed_again() {
    let mut log = Log::new();
    log.did("2026-03-06 19:20", "turnstone", "gate-brush");
    let n_done = |log: &Log, kind| {
        let booth = log.fold();
        booth::walk(&booth, types(), "turnstone", kind, &at("2026-03-06 20:40")).unwrap().value.n_done()
    };
    assert_eq!(n_done(&log, WalkKind::EveryReel), 1);
    log.ran("2026-03-06 19:30", "turnstone", 0.7);
    assert_eq!((n_done(&log, WalkKind::EveryReel), n_done(&log, WalkKind::All)), (0, 1));
}

#[test]
fn checks_before_a_showing_are_done_again_before_the_next_one_that_evening() {
    let mut log = Log::new();
    log.did("2026-03-06 17:20", "turnstone", "mains-look");
    let n_done = |log: &Log| {
        let booth = log.fold();
        let now = at("2026-03-06 20:40");
        booth::walk(&booth, types(), "turnstone", WalkKind::BeforeShowing, &now).unwrap().value.n_done()
    };
    log.ran_as("2026-03-06 17:30", "turnstone", logbook::fact::RunKind::Test, 0.1);
    assert_eq!(n_done(&log), 1);
    log.ran("2026-03-06 18:00", "turnstone", 0.7);
    assert_eq!(n_done(&log), 0);
    log.did("2026-03-06 20:00", "turnstone", "mains-look");
    assert_eq!(n_done(&log), 1);
}

#[test]
fn a_technicians_work_is_passed_on_and_not_done() {
    let booth = Log::new().fold();
    let walk =
        booth::walk(&booth, types(), "turnstone", WalkKind::All, &at("2026-03-06 18:00")).unwrap().value;
    let test = walk.steps.iter().find(|step| step.task.id.as_str() == "electrical-test").unwrap();
    assert!(test.pass_on.as_ref().unwrap().contains("qualified technician"));
    assert_eq!(test.outcomes, [Outcome::Skipped]);
}

#[test]
fn a_reading_comes_with_its_limit() {
    let booth = Log::new().fold();
    let walk =
        booth::walk(&booth, types(), "turnstone", WalkKind::All, &at("2026-03-06 18:00")).unwrap().value;
    let light = walk.steps.iter().find(|step| step.task.id.as_str() == "light").unwrap();
    assert_eq!(light.reading.unwrap().quantity.as_str(), "screen-light");
}

#[test]
fn the_same_preparation_is_not_said_twice_in_a_row() {
    let booth = Log::new().fold();
    let walk =
        booth::walk(&booth, types(), "turnstone", WalkKind::All, &at("2026-03-06 18:00")).unwrap().value;
    for pair in walk.steps.windows(2) {
        assert_eq!(pair[1].preparation.is_none(), pair[0].state == pair[1].state);
    }
}

#[test]
fn a_name_that_nobody_knows_is_refused_with_those_that_are_known() {
    let booth = Log::new().fold();
    let error = booth::walk(&booth, types(), "turnston", WalkKind::All, &at("2026-03-06 18:00")).unwrap_err();
    assert!(matches!(error, NotKnown::Machine { .. }));
    assert_eq!(error.to_string(), "no machine is called `turnston` in this logbook; there are turnstone");
}
