//! One booth with sixty showings: how many of forty invented ones are proven, in how much of the processor's time.
// Counts in these models are under a hundred.
#![allow(clippy::cast_possible_wrap)]

#[path = "../crates/plan/tests/made/booths.rs"]
mod booths;
#[path = "../crates/plan/tests/made/mod.rs"]
mod made;

use benches::race::{asked, processor_seconds};
use plan::{Effort, Model, solve};

/// Booths of each kind.
const BOOTHS: u64 = 20;
const SHOWINGS: usize = 60;
/// What is asked: a proof in so many seconds.
const GOAL_SECONDS: f64 = 2.0;

fn main() {
    if !asked() {
        return;
    }
    measure("no two machines alike", booths::unlike);
    measure("all machines alike", booths::alike);
}

fn measure(kind: &str, make: impl Fn(u64, usize, usize) -> Model) {
    println!("{BOOTHS} booths of 2 to 6 machines with {SHOWINGS} showings, {kind}:");
    let (mut proven, mut in_time) = (0, 0);
    for seed in 0..BOOTHS {
        let machines = 2 + usize::try_from(seed % 5).expect("a small number");
        let model = make(seed, machines, SHOWINGS);
        let begun = processor_seconds();
        let plan = solve(&model, &Effort::BOOTH).expect("the model is in order");
        let seconds = processor_seconds() - begun;
        proven += usize::from(plan.proven);
        in_time += usize::from(plan.proven && seconds < GOAL_SECONDS);
        let end = if plan.proven {
            "proven".to_owned()
        } else {
            format!("{:.2} % over its bound", plan.gap * 100.0)
        };
        println!("  {seed:2}: {machines} machines, {:.2}, {end}, {seconds:.2} s", plan.cost.0);
    }
    println!("  {proven} of {BOOTHS} proven, {in_time} in under {GOAL_SECONDS:.0} s");
}
