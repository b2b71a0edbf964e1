//! Invented booths whose machines are all alike, or none of them.

use crate::made::{Shape, model};
use plan::{Machine, Model, Work};

/// A booth with machines that are all like the first, each with the same two pieces of work.
pub fn alike(seed: u64, machines: usize, showings: usize) -> Model {
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

/// A booth with machines of which no two are alike, and some two pieces of work for each.
pub fn unlike(seed: u64, machines: usize, showings: usize) -> Model {
    model(seed, &Shape { machines, showings, slots: 8, work: 2 * machines, places: 1 })
}
