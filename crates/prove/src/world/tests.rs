//! The simulator against theory that was worked out without it.

#![allow(clippy::unwrap_used)]

use super::{Truth, play};
use crate::{
    dice::Dice,
    policy::{Handbook, ToFailure},
    scenario::{Clock, Interval, Kind, Mode, Part, Scenario},
    tally::Tally,
};
use lives::{
    Life,
    replace::{Costs, cost_rate},
};
use units::{Hours, Seconds};

/// A part that is mended at once, from no store.
fn part(shape: f64, scale: f64, interval: Option<f64>) -> Part {
    Part {
        name: "part".into(),
        modes: vec![Mode { clock: Clock::Hours, shape, scale }],
        mend: Some(Seconds::new(60.0)),
        takes_spare: false,
        at_strike: 0.0,
        bench_minutes: Some(0.0),
        credits: 0.0,
        lead_days: 0.0,
        carried: 0,
        interval: interval.map(|hours| Interval { hours: Some(hours), years: None }),
        cares: Vec::new(),
    }
}

/// One machine, showings of an hour, nothing but the part: what theory knows.
fn bare(part: Part) -> Scenario {
    let kind = Kind { name: "kind".into(), pair: false, parts: vec![part], cares: Vec::new() };
    let mut scenario = Scenario::usual(vec![kind]);
    scenario.customs.machines = (1, 1);
    scenario.customs.length = (Hours::new(1.0), Hours::new(1.0));
    scenario.customs.showings_a_week = (7.0, 7.0);
    scenario.nature.astray = 1.0;
    scenario.nature.machine_log_sd = 0.0;
    scenario.nature.unexplained = 0.0;
    scenario.nature.slip = 0.0;
    scenario.nature.drift_hours = 1e12;
    scenario
}

fn played(scenario: &Scenario, seed: u64, years: f64, handbook: bool) -> Tally {
    scenario.check().unwrap();
    let kind = &scenario.kinds[0];
    let dice = Dice::of_booth(seed, 0);
    let truth = Truth::draw(scenario, kind, dice);
    if handbook {
        play(scenario, kind, &truth, dice, years, Handbook { kind })
    } else {
        play(scenario, kind, &truth, dice, years, ToFailure)
    }
}

/// Parts that do not age fail as a Poisson process: as many as hours over mean life, and as much spread.
#[test]
fn parts_that_do_not_age_fail_as_often_as_theory_says() {
    let tally = played(&bare(part(1.0, 40.0, None)), 3, 2000.0, false);
    let expected = tally.showings / 40.0;
    assert!(expected > 15_000.0);
    assert!((tally.failures - expected).abs() < 4.0 * expected.sqrt(), "{} {expected}", tally.failures);
}

/// Renewal theory (Cox 1962, Renewal Theory: failures come at 1 over the mean life, their variance grows with the
/// square of the law's coefficient of variation).
#[test]
fn parts_that_wear_out_fail_once_in_a_mean_life() {
    let tally = played(&bare(part(4.0, 55.0, None)), 5, 2000.0, false);
    let life = Life::weibull(4.0, 55.0).unwrap();
    // What fails in an hour's showing is renewed at its end: half an hour later, on average.
    let expected = tally.showings / (life.mean() + 0.5);
    // The coefficient of variation of a Weibull law with shape 4 is 0.28.
    assert!(
        (tally.failures - expected).abs() < 4.0 * 0.28 * expected.sqrt() + 1.0,
        "{} {expected}",
        tally.failures
    );
}

/// Age replacement in the long run (Barlow and Hunter 1960, Optimum preventive maintenance policies; Barlow and Proschan
/// 1965): an hour costs [planned·R(T) + failure·F(T)] over the mean time in service until T.
#[test]
fn changing_at_an_age_costs_what_the_formula_says() {
    let life = Life::weibull(4.0, 55.0).unwrap();
    for age in [25.0, 35.0, 50.0] {
        let tally = played(&bare(part(4.0, 55.0, Some(age))), 11, 4000.0, true);
        let costs = Costs::new(5.0, 1.0).unwrap();
        let found = (5.0 * tally.failures + tally.planned) / tally.showings;
        let wanted = cost_rate(&life, costs, age);
        assert!((found / wanted - 1.0).abs() < 0.015, "{age}: {found} {wanted}");
    }
}

/// Every failure is a stoppage or was found before the doors; every part fitted replaces a failed one or a planned one.
#[test]
fn nothing_is_lost_on_the_way() {
    let mut lamp = part(4.0, 55.0, Some(35.0));
    (lamp.at_strike, lamp.takes_spare, lamp.carried, lamp.lead_days) = (0.6, true, 1, 20.0);
    let mut scenario = bare(lamp);
    scenario.customs.machines = (2, 2);
    scenario.nature.slip = 0.1;
    scenario.nature.unexplained = 0.02;
    scenario.nature.drift_hours = 100.0;
    for handbook in [false, true] {
        let tally = played(&scenario, 17, 300.0, handbook);
        assert!(tally.failures > 100.0 && tally.lost > 0.0 && tally.other_stoppages > 0.0);
        assert_eq!(tally.failures, tally.part_stoppages + tally.found_before);
        assert_eq!(tally.parts, tally.failures + tally.planned);
        assert_eq!(tally.stoppages, tally.part_stoppages + tally.other_stoppages + tally.cancelled);
    }
}
