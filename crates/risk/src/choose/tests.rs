#![allow(clippy::unwrap_used)]

use super::*;
use crate::{action::Effect, chance::Chance, hazard::Outcome};
use proptest::prelude::*;
use units::Probability;

fn known(chance: f64) -> Chance {
    Chance::known(Probability::new(chance).unwrap())
}

fn hazard(key: &'static str, chance: f64, outcome: Outcome) -> Hazard<&'static str> {
    Hazard { key, chance: known(chance), outcome }
}

fn action(key: &'static str, minutes: f64, effects: &[(usize, Change)]) -> Action<&'static str> {
    let effects = effects.iter().map(|&(hazard, change)| Effect { hazard, change }).collect();
    Action { key, minutes, needs: Vec::new(), takes: Vec::new(), effects }
}

/// A lamp at 41 h of a life of shape 4 and scale 55 h, and an exciter lamp at 96 h of shape 3 and scale 130 h, over a
/// showing of 2.0 h, each with the chance that the Weibull distribution gives; worked by hand beside the code.
fn evening() -> Case<&'static str, &'static str> {
    let weibull = |age: f64, shape: f64, scale: f64| {
        1.0 - ((age / scale).powf(shape) - ((age + 2.0) / scale).powf(shape)).exp()
    };
    let (lamp, exciter) = (weibull(41.0, 4.0, 55.0), weibull(96.0, 3.0, 130.0));
    assert!((lamp - 0.063).abs() < 0.001 && (exciter - 0.025).abs() < 0.001, "{lamp} {exciter}");
    let spare = Outcome::pause(Seconds::new(180.0));
    Case::new(
        vec![hazard("lamp", lamp, spare), hazard("exciter", exciter, Outcome::lost(Seconds::new(3600.0)))],
        vec![
            action("fit a new lamp", 3.0, &[(0, Change::Becomes(known(weibull(0.0, 4.0, 55.0))))]),
            action("bring a spare exciter", 2.0, &[(1, Change::Costs(Outcome::pause(Seconds::new(90.0))))]),
        ],
        Vec::new(),
    )
    .unwrap()
}

#[test]
fn the_spare_that_is_not_there_beats_the_lamp_that_may_die() {
    let worths = worth_of_each(&evening());
    // By hand: (0.0251 * (3600 - 90)) / 2 = 44 s a minute; 0.063 * 180 / 3 = 3.8 s a minute.
    assert_eq!(worths[0].action, 1);
    assert!((worths[0].rate() - 44.0).abs() < 1.0, "{}", worths[0].rate());
    assert!((worths[1].rate() - 3.8).abs() < 0.1, "{}", worths[1].rate());
}

#[test]
fn the_minutes_decide_what_fits() {
    let case = evening();
    let fits = |minutes| best_within(&case, minutes, Seconds::ZERO).actions;
    assert_eq!(fits(1.0), Vec::<usize>::new());
    assert_eq!(fits(2.0), vec![1]);
    assert_eq!(fits(4.9), vec![1]);
    assert_eq!(fits(5.0), vec![0, 1]);
}

#[test]
fn a_preparation_is_counted_once() {
    let open = Preparation { key: "lamphouse open and cool", minutes: 10.0 };
    let spare = Outcome::pause(Seconds::new(300.0));
    let mut actions = vec![
        action("new lamp", 2.0, &[(0, Change::Becomes(Chance::NEVER))]),
        action("clean the holder", 2.0, &[(1, Change::Leaves(Probability::NEVER))]),
    ];
    for action in &mut actions {
        action.needs.push(0);
    }
    let case = Case::new(vec![hazard("lamp", 0.1, spare), hazard("holder", 0.1, spare)], actions, vec![open])
        .unwrap();
    assert_eq!(case.minutes(&[0]), 12.0);
    assert_eq!(best_within(&case, 14.0, Seconds::ZERO).actions, vec![0, 1]);
    assert_eq!(best_within(&case, 13.9, Seconds::ZERO).actions.len(), 1);
}

#[test]
fn nobody_is_sent_to_do_what_the_rest_has_made_needless() {
    let spare = Outcome::pause(Seconds::new(300.0));
    let strike = Change::Leaves(Probability::new(0.4).unwrap());
    let case = Case::<_, &str>::new(
        vec![hazard("lamp", 0.1, spare)],
        vec![
            action("new lamp", 5.0, &[(0, Change::Becomes(known(0.001)))]),
            action("strike once", 3.0, &[(0, strike)]),
        ],
        Vec::new(),
    )
    .unwrap();
    // By hand: the new lamp leaves 0.3 s of 30 s, the strike would take 0.18 s more off.
    assert_eq!(best_within(&case, 10.0, Seconds::ZERO).actions, [0, 1]);
    assert_eq!(best_within(&case, 10.0, Seconds::new(1.0)).actions, [0]);
    assert_eq!(best_within(&case, 4.0, Seconds::new(1.0)).actions, [1]);
    assert!(best_within(&case, 10.0, Seconds::new(40.0)).actions.is_empty());
}

#[test]
fn what_is_done_shows_in_the_hazards() {
    let case = evening();
    let hazards = case.after(&[0, 1]);
    assert!(hazards[0].chance.mean().value() < 0.0001);
    assert_eq!(hazards[1].outcome, Outcome::pause(Seconds::new(90.0)));
    assert_eq!(case.after(&[]), case.hazards());
}

#[test]
fn what_does_not_hang_together_is_refused() {
    let far =
        Case::<&str, _>::new(vec![], vec![action("x", 1.0, &[(0, Change::Becomes(Chance::NEVER))])], vec![]);
    assert!(matches!(far, Err(CaseError::NoSuchHazard { action: 0, hazard: 0, n_hazards: 0 })));
    let mut needy = action("x", 1.0, &[]);
    needy.needs.push(3);
    let far = Case::<&str, _>::new(vec![], vec![needy], vec![]);
    assert!(matches!(far, Err(CaseError::NoSuchPreparation { preparation: 3, .. })));
    for minutes in [-1.0, f64::NAN, f64::INFINITY] {
        let bad = Case::<&str, _>::new(vec![], vec![action("x", minutes, &[])], vec![]);
        assert!(matches!(bad, Err(CaseError::Minutes { .. })));
    }
}

fn some_change() -> impl Strategy<Value = Change> {
    prop_oneof![
        (0.0..0.3_f64).prop_map(|p| Change::Becomes(known(p))),
        (0.0..1.0_f64).prop_map(|share| Change::Leaves(Probability::clamped(share))),
        (0.0..4000.0_f64).prop_map(|s| Change::Costs(Outcome::pause(Seconds::new(s)))),
    ]
}

fn some_case() -> impl Strategy<Value = Case<usize, usize>> {
    let hazards = prop::collection::vec((0.0..0.3_f64, 0.0..1.0_f64, 0.0..4000.0_f64), 1..5);
    let actions = prop::collection::vec(
        (
            0.0..20.0_f64,
            prop::collection::vec((0..9_usize, some_change()), 1..4),
            prop::collection::vec(0..2_usize, 0..2),
        ),
        0..9,
    );
    (hazards, actions).prop_map(|(hazards, actions)| {
        let n = hazards.len();
        let outcome = |lost, dark| Outcome {
            pause: Seconds::new(dark / 4.0),
            lost: Probability::clamped(lost),
            lost_dark: Seconds::new(dark),
        };
        let hazards = hazards.into_iter().enumerate().map(|(key, (p, lost, dark))| Hazard {
            key,
            chance: known(p),
            outcome: outcome(lost, dark),
        });
        let effects = |list: Vec<(usize, Change)>| {
            list.into_iter().map(|(at, change)| Effect { hazard: at % n, change }).collect()
        };
        let actions = actions.into_iter().enumerate().map(|(key, (minutes, list, needs))| Action {
            key,
            minutes,
            needs,
            takes: Vec::new(),
            effects: effects(list),
        });
        let preparations = vec![Preparation { key: 0, minutes: 5.0 }, Preparation { key: 1, minutes: 10.0 }];
        Case::new(hazards.collect(), actions.collect(), preparations).unwrap()
    })
}

/// The same with two supplies: actions take of them, and hazards lean on them.
fn some_stocked_case() -> impl Strategy<Value = Case<usize, usize>> {
    let taken = prop::collection::vec(prop::collection::vec(0..2_usize, 0..2), 9);
    let counts = prop::collection::vec(0..3_usize, 2);
    let leans = prop::collection::vec((0..9_usize, 0..2_usize, 0.0..4000.0_f64), 0..4);
    (some_case(), taken, counts, leans).prop_map(|(case, taken, counts, leans)| {
        let n = case.hazards().len();
        let actions = case.actions().iter().zip(taken);
        let actions = actions.map(|(action, takes)| Action { takes, ..action.clone() }).collect();
        let supplies = counts.into_iter().enumerate().map(|(key, count)| Supply { key, count }).collect();
        let mut leans: Vec<Lean> = leans
            .into_iter()
            .map(|(hazard, supply, more)| {
                // Without a spare nothing goes better.
                let outcome = case.hazards()[hazard % n].outcome;
                let without = Outcome {
                    pause: outcome.pause + Seconds::new(more),
                    lost_dark: outcome.lost_dark + Seconds::new(more),
                    ..outcome
                };
                Lean { hazard: hazard % n, supply, without }
            })
            .collect();
        leans.sort_by_key(|lean| lean.hazard);
        leans.dedup_by_key(|lean| lean.hazard);
        let made = Case::new(case.hazards().to_vec(), actions, case.preparations.clone()).unwrap();
        made.with_supplies(supplies, leans).unwrap()
    })
}

#[test]
fn one_lamp_is_not_fitted_twice() {
    // Two machines, one lamp. By hand: 0.2 * 180 s = 36 s and 0.1 * 180 s = 18 s, three minutes each.
    let spare = Outcome::pause(Seconds::new(180.0));
    let actions = || {
        let fit = |key, hazard| Action {
            takes: vec![0],
            ..action(key, 3.0, &[(hazard, Change::Becomes(Chance::NEVER))])
        };
        vec![fit("left", 0), fit("right", 1)]
    };
    let case = |count, without: f64| {
        let hazards = vec![hazard("left", 0.2, spare), hazard("right", 0.1, spare)];
        let lean = |hazard| Lean { hazard, supply: 0, without: Outcome::lost(Seconds::new(without)) };
        let lamps = Supply { key: "lamp", count };
        Case::new(hazards, actions(), Vec::new())
            .unwrap()
            .with_supplies(vec![lamps], vec![lean(0), lean(1)])
            .unwrap()
    };
    let best = |count, without| best_within(&case(count, without), 60.0, Seconds::ZERO).actions;
    assert_eq!(best(2, 180.0), [0, 1]);
    assert_eq!(best(1, 180.0), [0]);
    assert!(best(0, 180.0).is_empty());
    // Without a lamp in the case the other machine's would cost an hour: 0.1 * 3420 s is more than the 36 s saved.
    assert!(best(1, 3600.0).is_empty());
    // Of two, one is kept for whichever goes: both fitted would save 54 s, and neither hazard is left to lean.
    assert_eq!(best(2, 3600.0), [0, 1]);
}

#[test]
fn supplies_that_are_not_there_are_refused() {
    let take = Action { takes: vec![1], ..action("x", 1.0, &[]) };
    let made =
        |actions| Case::new(vec![hazard("h", 0.1, Outcome::pause(Seconds::ZERO))], actions, vec![]).unwrap();
    let one = || vec![Supply { key: "lamp", count: 1 }];
    let far = made(vec![take]).with_supplies(one(), vec![]);
    assert!(matches!(far, Err(CaseError::NoSuchSupply { supply: 1, n_supplies: 1 })));
    let lean = Lean { hazard: 4, supply: 0, without: Outcome::pause(Seconds::ZERO) };
    let far = made(vec![]).with_supplies(one(), vec![lean]);
    assert!(matches!(far, Err(CaseError::NothingLeans { hazard: 4, n_hazards: 1 })));
}

proptest! {
    #[test]
    fn no_set_that_fits_and_is_stocked_saves_more(
        case in some_stocked_case(), minutes in 0.0..60.0_f64, least in 0.0..50.0_f64
    ) {
        let found = best_within(&case, minutes, Seconds::new(least));
        prop_assert!(found.proven && found.minutes <= minutes && case.is_stocked(&found.actions));
        let n = case.actions().len();
        let best = (0..1_usize << n)
            .map(|bits| (0..n).filter(|at| bits >> at & 1 == 1).collect::<Vec<_>>())
            .filter(|set| case.minutes(set) <= minutes && case.is_stocked(set))
            .map(|set| case.dark(&[]) - case.dark(&set) - least * set.len() as f64)
            .fold(0.0, f64::max);
        let worth = found.saved.seconds() - least * found.actions.len() as f64;
        prop_assert!((worth - best).abs() <= 1e-6, "{worth} {best}");
        let after: f64 = case.after(&found.actions).iter().map(|h| h.dark().seconds()).sum();
        prop_assert!((case.dark(&[]) - after - found.saved.seconds()).abs() < 1e-6);
    }

    #[test]
    fn no_set_that_fits_saves_more(case in some_case(), minutes in 0.0..60.0_f64, least in 0.0..50.0_f64) {
        let found = best_within(&case, minutes, Seconds::new(least));
        prop_assert!(found.proven && found.minutes <= minutes);
        let n = case.actions().len();
        let best = (0..1_usize << n)
            .map(|bits| (0..n).filter(|at| bits >> at & 1 == 1).collect::<Vec<_>>())
            .filter(|set| case.minutes(set) <= minutes)
            .map(|set| case.dark(&[]) - case.dark(&set) - least * set.len() as f64)
            .fold(0.0, f64::max);
        let worth = found.saved.seconds() - least * found.actions.len() as f64;
        prop_assert!((worth - best).abs() <= 1e-6, "{worth} {best}");
    }

    #[test]
    fn more_minutes_never_save_less(case in some_case(), minutes in 0.0..40.0_f64, more in 0.0..20.0_f64) {
        let (few, many) = (best_within(&case, minutes, Seconds::ZERO), best_within(&case, minutes + more, Seconds::ZERO));
        prop_assert!(many.saved.seconds() >= few.saved.seconds() - 1e-6);
    }

    #[test]
    fn the_worth_of_a_set_shows_in_its_hazards(case in some_case(), minutes in 0.0..60.0_f64) {
        let found = best_within(&case, minutes, Seconds::ZERO);
        let dark = |hazards: &[Hazard<usize>]| hazards.iter().map(|h| h.dark().seconds()).sum::<f64>();
        let saved = dark(case.hazards()) - dark(&case.after(&found.actions));
        prop_assert!((saved - found.saved.seconds()).abs() < 1e-6);
    }
}
