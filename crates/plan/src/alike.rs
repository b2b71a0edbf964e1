//! Machines that are alike in every way that a plan can tell, with nothing fixed on them. It makes no difference which of
//! them has which diary, so the proof asks one for all and tells them apart only by what they have come to.

use crate::problem::{Job, Problem};

fn alike(problem: &Problem<'_>, one: usize, other: usize) -> bool {
    let (a, b) = (&problem.machines[one], &problem.machines[other]);
    a.shows == b.shows
        && a.work.len() == b.work.len()
        && (0..a.shows.len()).all(|at| {
            let (a, b) = (problem.able(one, at), problem.able(other, at));
            // Equal to the last bit, or they are not alike.
            let cost = |it: &crate::problem::Able| (it.journeys.to_bits(), it.base_risk.to_bits());
            !a.fixed && !b.fixed && a.away == b.away && cost(a) == cost(b)
        })
        && a.work.iter().zip(&b.work).all(|(&a, &b)| same_work(&problem.jobs[a], &problem.jobs[b]))
}

fn same_work(a: &Job, b: &Job) -> bool {
    let of = |job: &Job| {
        (job.minutes, job.preparation, job.since, job.limit, job.due, job.holds, job.left.to_bits())
    };
    let same_slots = || {
        let all = a.slots.iter().zip(&b.slots);
        all.fold(a.slots.len() == b.slots.len(), |same, (a, b)| {
            same && a.slot == b.slot && a.cost.to_bits() == b.cost.to_bits() && !a.fixed && !b.fixed
        })
    };
    of(a) == of(b) && a.life == b.life && a.risk == b.risk && same_slots()
}

/// Puts machines that are alike together; each class rises, and so do the first of the classes.
pub(crate) fn classes(problem: &Problem<'_>) -> Vec<Vec<usize>> {
    let mut classes: Vec<Vec<usize>> = Vec::new();
    for machine in 0..problem.machines.len() {
        match classes.iter_mut().find(|class| alike(problem, class[0], machine)) {
            Some(class) => class.push(machine),
            None => classes.push(vec![machine]),
        }
    }
    classes
}
