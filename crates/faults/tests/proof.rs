//! Invented faults worked to their end: fixed or rightly passed on, and cheaper than down the printed list.

#![allow(clippy::unwrap_used)]

mod common;

use common::{Size, first_symptom, invented, nine_faults, setting};
use faults::prove::prove_symptom;

#[test]
fn the_true_cause_is_fixed_or_rightly_passed_on() {
    let size = Size { causes: 8, symptoms: 1, checks: 8, links: 8, technician: 0.25 };
    for seed in 0..4 {
        let model = invented(&size, seed);
        let found = prove_symptom(&model, &first_symptom(&model), &setting(), 1000, seed).unwrap();
        println!(
            "seed {seed}: {} fixed, {} rightly, {} wrongly, {:.1} min of {:.1}",
            found.fixed,
            found.rightly_passed_on,
            found.wrongly_passed_on,
            found.mean_work(),
            found.printed_mean_work()
        );
        assert_eq!(found.n, 1000);
        assert!(
            found.right() >= 0.98,
            "seed {seed}: {} fixed, {} rightly, {} wrongly",
            found.fixed,
            found.rightly_passed_on,
            found.wrongly_passed_on
        );
        assert!(found.mean_cost() < found.printed_mean_cost(), "seed {seed}");
    }
}

#[test]
fn the_same_seed_gives_the_same_faults() {
    let model = nine_faults();
    let prove = |seed| prove_symptom(&model, &first_symptom(&model), &setting(), 200, seed).unwrap();
    assert_eq!(prove(1), prove(1));
    assert_ne!(prove(1), prove(2));
    assert!(prove_symptom(&model, &"nothing".into(), &setting(), 10, 1).is_none());
}

#[test]
fn the_mean_of_many_faults_is_the_expected_cost() {
    let model = nine_faults();
    let symptom = first_symptom(&model);
    let case = faults::case::Case::of(symptom.clone());
    let expected = faults::advise::expected_cost(&model, &case, &setting(), 100_000).unwrap();
    let found = prove_symptom(&model, &symptom, &setting(), 2000, 3).unwrap();
    // Two thousand draws of a cost that spreads by about its own size.
    assert!((found.mean_cost() / expected - 1.0).abs() < 0.08, "{} and {expected}", found.mean_cost());
    assert!(found.mean_cost() < found.printed_mean_cost());
}
