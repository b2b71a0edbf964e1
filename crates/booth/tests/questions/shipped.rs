//! The shipped types, asked the same questions.

use crate::kit::{Log, at, near};
use booth::{DueState, WalkKind};

const PORTABLE: &str = "portable-16mm-halogen";

fn portable() -> Log {
    let mut log = Log::new();
    log.machine_of("2026-01-01 09:00", "phalarope", PORTABLE, Some(500.0));
    log
}

fn line<'a>(
    booth: &'a logbook::Booth,
    library: &'a machine::Library,
    task: &str,
    now: &str,
) -> booth::DueItem<'a> {
    let items = booth::due_for(booth, library, "phalarope", &at(now)).unwrap().value;
    items.into_iter().find(|item| item.task.id.as_str() == task).unwrap()
}

/// Guide rollers every 100 h or 60 days: common practice, no source.
#[test]
fn guide_rollers_agree_with_common_practice() {
    let mut log = portable();
    log.did("2026-02-01 18:00", "phalarope", "guide-rollers");
    let (booth, library) = (log.fold(), machine::shipped());
    let state = |now| line(&booth, &library, "guide-rollers", now).state;
    assert_eq!(state("2026-04-01 12:00"), DueState::Soon);
    assert_eq!(state("2026-04-02 12:00"), DueState::Due);
    log.ran_daily("2026-02-02", 10, "phalarope", 10.0);
    let booth = log.fold();
    assert_eq!(line(&booth, &library, "guide-rollers", "2026-02-12 12:00").state, DueState::Due);
}

/// Roller shafts every 250 h, and they contain the guide rollers: common practice, no source.
#[test]
fn roller_shafts_agree_with_common_practice() {
    let mut log = portable();
    log.did("2026-02-01 18:00", "phalarope", "roller-shafts");
    log.ran_daily("2026-02-02", 20, "phalarope", 10.0);
    let (booth, library) = (log.fold(), machine::shipped());
    let shafts = line(&booth, &library, "roller-shafts", "2026-02-23 12:00");
    assert!(near(shafts.remaining_hours().unwrap().hours(), 50.0));
    assert_eq!(shafts.remaining_days(), None);
    assert_eq!(
        line(&booth, &library, "guide-rollers", "2026-02-10 12:00").last_done().unwrap().within,
        Some("roller-shafts")
    );
}

#[test]
fn every_shipped_type_answers_every_question() {
    let library = machine::shipped();
    let mut log = Log::new();
    for kind in library.iter() {
        log.machine_of("2026-01-01 09:00", kind.id.as_str(), kind.id.as_str(), Some(100.0));
        log.planned(&format!("on-{}", kind.id), "2026-03-06 19:30", 100.0, &[kind.id.as_str()]);
    }
    let booth = log.fold();
    let now = at("2026-03-06 17:00");
    let tonight = booth::tonight(&booth, &library, &now).value;
    assert_eq!(tonight.this_evening.len(), library.len());
    assert!(tonight.this_evening.iter().all(|showing| showing.machines[0].n_before_left() > 0));
    for kind in library.iter() {
        let machine = kind.id.as_str();
        let walk = booth::walk(&booth, &library, machine, WalkKind::BeforeShowing, &now).unwrap().value;
        assert!(walk.minutes_left > 5.0 && walk.minutes_left < 40.0, "{machine}: {} min", walk.minutes_left);
        let path = booth::film_path(&booth, &library, machine, &now).unwrap().value;
        assert_eq!(path.slots.len(), kind.parts.len());
        assert!(booth::join::lamp_slots(kind).count() == 1, "{machine} has one projection lamp");
    }
}
