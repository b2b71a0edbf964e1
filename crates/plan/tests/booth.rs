//! Booths whose machines are all alike: which of them runs makes no difference, and the proof must not try them all.
// Counts in these models are under a hundred.
#![allow(clippy::cast_possible_wrap)]

mod made;

use made::{Shape, model};
use plan::{Effort, Machine, Model, Work, solve};

/// A booth with machines that are all like the first, each with the same two pieces of work.
fn alike(seed: u64, machines: usize, showings: usize) -> Model {
    let mut model = model(seed, &Shape { machines, showings, slots: 8, work: 2 * machines, places: 1 });
    let (first, work) = (model.machines[0].clone(), model.work.clone());
    let of = |n: usize| format!("machine-{n}");
    model.machines = (0..machines).map(|n| Machine { id: of(n), ..first.clone() }).collect();
    let copies = |n: usize| {
        let copy = move |it: &Work| Work { id: format!("{}-{n}", it.id), machine: of(n), ..it.clone() };
        work.iter().take(2).map(copy).collect::<Vec<_>>()
    };
    model.work = (0..machines).flat_map(copies).collect();
    model
}

/// Without looking at one of two like machines only, half of these end without a proof.
#[test]
fn four_machines_that_are_alike_are_proven() {
    for (seed, showings) in [(3, 8), (4, 8), (1, 12), (2, 12), (3, 12), (4, 12), (2, 16), (4, 16)] {
        let plan = solve(&alike(seed, 4, showings), &Effort::BOOTH).expect("the model is in order");
        let (cost, bound) = (plan.cost.0, plan.bound.0);
        assert!(plan.proven, "seed {seed}, {showings} showings: {cost} over {bound}");
    }
}

/// The names of like machines do not matter to the least cost, nor does the order in which they stand.
#[test]
fn a_small_difference_between_like_machines_changes_little_and_breaks_no_proof() {
    for seed in 0..6 {
        let same = alike(seed, 3, 5);
        let mut other = same.clone();
        // So small that the costs agree, large enough that the machines are no longer alike to the last bit.
        for (n, machine) in other.machines.iter_mut().enumerate() {
            machine.stoppages_per_hour *= 1.0 + 1e-13 * n as f64;
        }
        let [same, other] =
            [same, other].map(|it| solve(&it, &Effort::BOOTH).expect("the model is in order"));
        assert!(same.proven && other.proven, "seed {seed}");
        let apart = (same.cost.0 - other.cost.0).abs();
        assert!(apart <= 1e-8 * same.cost.0, "seed {seed}: {} and {}", same.cost.0, other.cost.0);
    }
}
