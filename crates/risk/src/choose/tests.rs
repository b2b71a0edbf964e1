#![allow(clippy::unwrap_used)]

use super::*;
use crate::{
    action::{Action, Change, Effect, Lean, Preparation, Supply},
    chance::Chance,
    hazard::{Hazard, Outcome},
};
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
fn some_stocked_case() -> impl Strategy<Value = (Case<usize, usize>, Vec<Lean>, Vec<usize>)> {
    let taken = prop::collection::vec(prop::collection::vec(0..2_usize, 0..2), 9);
    let counts = prop::collection::vec(0..3_usize, 2);
    let leans = prop::collection::vec((0..9_usize, 0..2_usize, 0.0..4000.0_f64), 0..4);
    (some_case(), taken, counts, leans).prop_map(|(case, taken, counts, leans)| {
        let n = case.hazards().len();
        let actions = case.actions().iter().zip(taken);
        let actions = actions.map(|(action, takes)| Action { takes, ..action.clone() }).collect();
        let supplies = counts.iter().enumerate().map(|(key, &count)| Supply { key, count }).collect();
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
        let made = Case::new(case.hazards().to_vec(), actions, case.preparations().to_vec()).unwrap();
        (made.with_supplies(supplies, leans.clone()).unwrap(), leans, counts)
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

/// Worked by hand: two lamps of two machines, each found gone in half of the other's chance where there is one.
#[test]
fn what_a_deed_leaves_of_the_spares_is_reckoned_anew() {
    let (ready, without) = (Outcome::pause(Seconds::new(180.0)), Outcome::pause(Seconds::new(300.0)));
    let fit = Action { takes: vec![0], ..action("fit", 5.0, &[(0, Change::Becomes(Chance::NEVER))]) };
    let care = action("care", 2.0, &[(0, Change::Becomes(known(0.05)))]);
    let cover = action("cover", 25.0, &[(0, Change::Costs(Outcome::pause(Seconds::new(60.0))))]);
    let case = |count| {
        let lean = |hazard| Lean { hazard, supply: 0, without };
        Case::new(
            vec![hazard("left", 0.2, ready), hazard("right", 0.1, ready)],
            vec![fit.clone(), care.clone(), cover.clone()],
            Vec::new(),
        )
        .unwrap()
        .with_supplies(vec![Supply { key: "lamp", count }], vec![lean(0), lean(1)])
        .unwrap()
    };
    let right = |count, done: &[usize]| case(count).after(done)[1].dark().seconds();
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    // Two lamps are enough for both; one is gone in half of the left one's chance.
    near(right(2, &[]), 0.1 * 180.0);
    near(right(1, &[]), 0.1 * (0.9 * 180.0 + 0.1 * 300.0));
    // Of two, one is fitted, and the left machine wants none any more: the other is there.
    near(right(2, &[0]), 0.1 * 180.0);
    // The only one is fitted.
    near(right(1, &[0]), 0.1 * 300.0);
    // Care makes the left lamp rarer, so that the right one finds the spare more often.
    near(right(1, &[1]), 0.1 * (0.975 * 180.0 + 0.025 * 300.0));
    // What another machine takes over for leaves the spare in its box.
    near(right(1, &[2]), 0.1 * 180.0);
    near(case(1).after(&[2])[0].dark().seconds(), 0.2 * 60.0);
}

/// Every set of failures in every order, each drawing a spare while there is one: the dark seconds to expect.
fn played(case: &Case<usize, usize>, done: &[usize], leans: &[Lean], counts: &[usize]) -> f64 {
    fn orders(left: &[usize]) -> Vec<Vec<usize>> {
        if left.is_empty() {
            return vec![Vec::new()];
        }
        let with_first = |at: usize| {
            let mut rest = left.to_vec();
            let first = rest.remove(at);
            orders(&rest).into_iter().map(move |order| [vec![first], order].concat())
        };
        (0..left.len()).flat_map(with_first).collect()
    }
    let n = case.hazards().len();
    let changes = |hazard: usize| {
        let effects = done.iter().flat_map(|at| &case.actions()[*at].effects);
        effects.filter(move |effect| effect.hazard == hazard).map(|effect| effect.change)
    };
    let chance = |hazard: usize| {
        let mut least = case.hazards()[hazard].chance.mean().value();
        let mut share = 1.0;
        for change in changes(hazard) {
            match change {
                Change::Becomes(other) => least = least.min(other.mean().value()),
                Change::Leaves(left) => share *= left.value(),
                Change::Costs(_) => {}
            }
        }
        least * share
    };
    let mildest = |hazard: usize, first: f64| {
        changes(hazard).fold(first, |least, change| match change {
            Change::Costs(other) => least.min(other.dark().seconds()),
            _ => least,
        })
    };
    let mut sum = 0.0;
    for set in 0..1_usize << n {
        let failed: Vec<usize> = (0..n).filter(|at| set >> at & 1 == 1).collect();
        let likely: f64 =
            (0..n).map(|at| if failed.contains(&at) { chance(at) } else { 1.0 - chance(at) }).product();
        let all = orders(&failed);
        for order in &all {
            let mut left = counts.to_vec();
            for action in done {
                for supply in &case.actions()[*action].takes {
                    left[*supply] -= 1;
                }
            }
            for hazard in order {
                let own = case.hazards()[*hazard].outcome.dark().seconds();
                let eased = mildest(*hazard, own);
                let cost = match leans.iter().find(|lean| lean.hazard == *hazard) {
                    Some(lean) if left[lean.supply] == 0 => mildest(*hazard, lean.without.dark().seconds()),
                    Some(lean) => {
                        // Where something milder stands ready nobody opens the box.
                        left[lean.supply] -= usize::from(eased >= own);
                        eased
                    }
                    None => eased,
                };
                sum += likely * cost / all.len() as f64;
            }
        }
    }
    sum
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
    fn spares_are_found_gone_as_often_as_playing_it_through_says(
        (case, leans, counts) in some_stocked_case(), bits in 0..512_usize
    ) {
        let done: Vec<usize> = (0..case.actions().len()).filter(|at| bits >> at & 1 == 1).collect();
        prop_assume!(case.is_stocked(&done));
        let (dark, played) = (case.dark(&done), played(&case, &done, &leans, &counts));
        prop_assert!((dark - played).abs() <= 1e-6 * played.max(1.0), "{dark} {played}");
    }

    #[test]
    fn the_bound_on_spares_is_one_with_diminishing_returns(
        (case, _, _) in some_stocked_case(), bits in 0..512_usize, more in 0..512_usize, one in 0..9_usize
    ) {
        let n = case.actions().len();
        prop_assume!(n > 0);
        let one = one % n;
        let of = |bits: usize| (0..n).filter(|at| *at != one && bits >> at & 1 == 1).collect::<Vec<_>>();
        let (few, many) = (of(bits), of(bits | more));
        let gone = case.least_gone();
        if case.is_stocked(&many) {
            prop_assert!(case.least_dark(&many, &gone) <= case.dark(&many) + 1e-9);
        }
        let gain = |set: &[usize]| case.least_dark(set, &gone) - case.least_dark(&[set, &[one]].concat(), &gone);
        prop_assert!(gain(&many) <= gain(&few) + 1e-6);
    }

    #[test]
    fn no_set_that_fits_and_is_stocked_saves_more(
        (case, _, _) in some_stocked_case(), minutes in 0.0..60.0_f64, least in 0.0..50.0_f64
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
