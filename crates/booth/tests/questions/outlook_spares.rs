//! Spares that several failures and deeds of one showing want.

use crate::{
    kit::Log,
    outlook::{KIND, ask, one_machine, stock},
};
use booth::outlook::{Cause, Doing};

/// `heron` and `egret`, each with an old lamp, in one showing; either takes over from the other in five minutes.
fn two_machines() -> Log {
    let mut log = one_machine();
    log.machine_of("2026-03-01 09:00", "egret", KIND, Some(100.0));
    log.fitted("2026-03-01 10:00", "egret", "lamp", "lamp-9", Some(45.0));
    log.planned("s1", "2026-03-23 19:30", 120.0, &["heron", "egret"]);
    log
}

#[test]
fn one_lamp_in_the_stores_is_not_fitted_into_two_machines() {
    let mut log = two_machines();
    let chosen = |log: &Log| {
        let booth = log.fold();
        let outlook = ask(&booth, "2026-03-23 18:00", 60.0);
        let lamps = outlook.deeds.iter().filter(|deed| {
            deed.chosen && matches!(deed.doing, Doing::Change { life, .. } if life.slot.as_str() == "lamp")
        });
        lamps.count()
    };
    stock(&mut log, "lamps", "lamp", 2);
    let two = chosen(&log);
    stock(&mut log, "lamps", "lamp", 1);
    assert_eq!((two, chosen(&log)), (2, 1));
}

/// The chance that each lamp dies in the showing, and the dark seconds to expect from it.
fn lamps(log: &Log) -> Vec<(f64, f64)> {
    let booth = log.fold();
    let outlook = ask(&booth, "2026-03-23 18:00", 0.0);
    let mut lamps: Vec<(f64, f64)> = outlook
        .weights
        .iter()
        .filter(|it| matches!(it.cause, Cause::Part { life, .. } if life.slot.as_str() == "lamp"))
        .map(|it| (it.chance.likely.value(), it.dark.seconds()))
        .collect();
    lamps.sort_by(|a, b| a.0.total_cmp(&b.0));
    lamps
}

#[test]
fn of_two_lamps_that_die_the_later_one_finds_the_only_spare_gone() {
    let mut log = two_machines();
    stock(&mut log, "lamps", "lamp", 2);
    let enough = lamps(&log);
    stock(&mut log, "lamps", "lamp", 1);
    let one = lamps(&log);
    assert_eq!((enough.len(), one.len()), (2, 2));
    for (mine, other) in [(0, 1), (1, 0)] {
        let (chance, dark) = one[mine];
        assert_eq!(chance, enough[mine].0);
        // By hand: the other lamp dies too, and before this one, in half of its chance; then a machine takes over.
        let mended = enough[mine].1 / chance;
        let gone = one[other].0 / 2.0;
        let expected = chance * ((1.0 - gone) * mended + gone * 300.0);
        assert!((dark - expected).abs() < 1e-9 && dark > enough[mine].1, "{dark} is not {expected}");
    }
}
