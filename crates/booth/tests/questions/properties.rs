//! What holds for every logbook.

use crate::kit::{Log, at, types};
use booth::{Day, DueItem, DueState, Now};
use logbook::{Booth, When};
use proptest::{prelude::*, test_runner::RngSeed};

/// A run on a day of the first half of 2026, of so many tenths of an hour.
type RunOf = (u8, u8);

fn log_of(runs: &[RunOf], cares: &[(u8, u8)], showings: &[(u8, u8)]) -> Log {
    let mut log = Log::new();
    let kind = types().get("bench-16mm").unwrap();
    let date = |days: u8| Day::on(crate::kit::day("2026-01-02")).plus(i32::from(days)).date();
    for (days, tenths) in runs {
        log.ran(&format!("{} 20:00", date(*days)), "turnstone", f64::from(*tenths) / 10.0);
    }
    for (days, task) in cares {
        let task = &kind.care[usize::from(*task) % kind.care.len()];
        log.did(&format!("{} 12:00", date(*days)), "turnstone", task.id.as_str());
    }
    for (n, (days, tenths)) in showings.iter().enumerate() {
        let start = format!("{} 19:30", Day::on(crate::kit::day("2026-07-02")).plus(i32::from(*days)).date());
        log.planned(&format!("s{n}"), &start, 6.0 * f64::from(*tenths).max(1.0), &["turnstone"]);
    }
    log
}

const NOW: &str = "2026-07-01 12:00";

fn due(booth: &Booth) -> Vec<DueItem<'_>> {
    booth::due_for(booth, types(), "turnstone", &at(NOW)).unwrap().value
}

/// Later or never comes after sooner.
fn date_or_never(item: &DueItem<'_>) -> i32 {
    item.forecast_in_days().unwrap_or(i32::MAX)
}

/// More hours press more; deferral and want of a record stand aside from that order.
fn pressing(state: DueState) -> u8 {
    match state {
        DueState::Overdue => 3,
        DueState::Due => 2,
        DueState::Soon => 1,
        DueState::NoRecord | DueState::Deferred | DueState::Ok => 0,
    }
}

fn runs() -> impl Strategy<Value = Vec<RunOf>> {
    prop::collection::vec((0u8..179, 1u8..120), 0..40)
}

fn cares() -> impl Strategy<Value = Vec<(u8, u8)>> {
    prop::collection::vec((0u8..179, 0u8..30), 0..30)
}

fn showings() -> impl Strategy<Value = Vec<(u8, u8)>> {
    prop::collection::vec((0u8..90, 5u8..40), 0..20)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 256,
        rng_seed: RngSeed::Fixed(16),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Idle time is the one thing that running takes away, so the task that answers to it is left aside.
    #[test]
    fn due_never_moves_later_when_more_hours_are_run(
        runs in runs(), cares in cares(), showings in showings(), more in (0u8..180, 1u8..240),
    ) {
        let less = log_of(&runs, &cares, &showings).fold();
        let mut longer = runs.clone();
        longer.push(more);
        let more = log_of(&longer, &cares, &showings).fold();
        let after = due(&more);
        for before in due(&less).iter().filter(|item| item.task.id.as_str() != "exercise") {
            let same = after.iter().find(|item| item.task.id == before.task.id).unwrap();
            prop_assert!(date_or_never(same) <= date_or_never(before), "{before:?}, then {same:?}");
            prop_assert!(pressing(same.state) >= pressing(before.state), "{before:?}, then {same:?}");
            if let (Some(was), Some(is)) = (before.remaining_hours(), same.remaining_hours()) {
                prop_assert!(is.hours() <= was.hours() + 1e-9);
            }
        }
    }

    #[test]
    fn what_is_due_today_is_still_due_tomorrow_if_nothing_is_written(
        runs in runs(), cares in cares(),
    ) {
        let booth = log_of(&runs, &cares, &[]).fold();
        let tomorrow = booth::due_for(&booth, types(), "turnstone", &at("2026-07-02 12:00")).unwrap().value;
        for today in due(&booth) {
            let same = tomorrow.iter().find(|item| item.task.id == today.task.id).unwrap();
            prop_assert!(pressing(same.state) >= pressing(today.state), "{today:?}, then {same:?}");
        }
    }

    #[test]
    fn another_showing_never_moves_a_due_date_back(
        runs in runs(), cares in cares(), showings in showings(), more in (0u8..90, 5u8..40),
    ) {
        let fewer = log_of(&runs, &cares, &showings).fold();
        let mut longer = showings.clone();
        longer.push(more);
        let more = log_of(&runs, &cares, &longer).fold();
        let after = due(&more);
        for before in due(&fewer).iter().filter(|item| item.forecast_showing.is_some()) {
            let same = after.iter().find(|item| item.task.id == before.task.id).unwrap();
            prop_assert!(date_or_never(same) <= date_or_never(before), "{before:?}, then {same:?}");
        }
    }

    #[test]
    fn care_just_done_is_never_due_by_hours_or_days(runs in runs(), cares in cares(), task in 0u8..30) {
        let mut log = log_of(&runs, &cares, &[]);
        let kind = types().get("bench-16mm").unwrap();
        let task = &kind.care[usize::from(task) % kind.care.len()];
        log.did("2026-07-01 11:00", "turnstone", task.id.as_str());
        let booth = log.fold();
        let item = due(&booth).into_iter().find(|item| item.task.id == task.id);
        prop_assert!(item.is_none_or(|item| !item.state.is_due()), "{item:?}");
    }

    #[test]
    fn many_machines_give_what_each_gives_alone(runs in runs(), cares in cares(), showings in showings()) {
        let mut log = log_of(&runs, &cares, &showings);
        log.machine("2026-01-01 09:00", "dunlin");
        log.machine("2026-01-01 09:00", "whimbrel");
        let booth = log.fold();
        let alone: Vec<String> = ["turnstone", "dunlin", "whimbrel"]
            .iter()
            .flat_map(|machine| booth::due_for(&booth, types(), machine, &at(NOW)).unwrap().value)
            .map(|item| format!("{item:?}"))
            .collect();
        let all: Vec<String> =
            booth::due(&booth, types(), &at(NOW)).value.iter().map(|item| format!("{item:?}")).collect();
        prop_assert_eq!(alone, all);
    }

    #[test]
    fn a_day_is_the_date_on_the_wall_less_the_night(seconds in 0i64..4_000_000_000, hours in -12i32..14) {
        let settings = logbook::booth::Settings::default();
        let when = When { unix_ms: seconds * 1000, offset_s: hours * 3600, precision: logbook::Precision::Second };
        let now = Now::at(when, &settings);
        let wall = when.local();
        let evening = units::civil::Evening::of(wall, settings.night_ends);
        prop_assert_eq!(now.day.date(), evening.date());
    }
}

/// Moments that a broken clock or a hostile file may carry.
fn wild_moment() -> impl Strategy<Value = i64> {
    prop_oneof![
        Just(i64::MIN),
        Just(i64::MAX),
        Just(0),
        any::<i64>(),
        -62_135_596_800_000i64..253_402_300_799_000
    ]
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 256,
        rng_seed: RngSeed::Fixed(35),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn no_moment_whatever_brings_a_question_down(
        runs in runs(), cares in cares(), showings in showings(),
        wild in prop::collection::vec((any::<prop::sample::Index>(), wild_moment(), any::<i32>()), 1..12),
    ) {
        let mut log = log_of(&runs, &cares, &showings);
        log.fitted("2026-01-05 10:00", "turnstone", "lamp", "lamp-1", None);
        log.event("2026-01-06 10:00", "turnstone", "transport");
        for (which, unix_ms, offset_s) in wild {
            let at = which.index(log.entries.len());
            log.entries[at].happened = When { unix_ms, offset_s, precision: logbook::Precision::Second };
        }
        let booth = log.fold();
        let now = at(NOW);
        let lines = serde_json::to_string(&booth::due(&booth, types(), &now)).unwrap();
        prop_assert!(lines.len() > 2);
        let tonight = booth::tonight(&booth, types(), &now).value;
        prop_assert!(!tonight.sentence.is_empty());
        for machine in booth.machines.keys() {
            let machine = machine.as_str();
            prop_assert!(booth::film_path(&booth, types(), machine, &now).is_ok());
            prop_assert!(booth::walk(&booth, types(), machine, booth::WalkKind::All, &now).is_ok());
            prop_assert!(booth::machine_sheet(&booth, types(), machine, &now).is_ok());
            prop_assert!(booth::hours_by_week(&booth, machine, 60, &now).is_ok());
            prop_assert!(booth::history(&booth, machine, None).is_ok());
        }
    }
}
