//! Whether a model has room in memory: it is refused before anything is taken, not ended by a machine that has no more.

use crate::check::Fault;
use crate::problem::Problem;

/// Most numbers that the stretches between the slots of all work may be.
const MOST_STRETCHES: usize = 1 << 28;
/// Most numbers in the table of one piece of work; each thread has a few such tables.
const MOST_CELLS: usize = 1 << 27;
/// Rows of hours that a table has at most.
const MOST_ROWS: i64 = 2048;

/// Says which work has more slots, or more showings and slots, than there is room for.
pub(crate) fn lacking(problem: &Problem<'_>) -> Vec<Fault> {
    let stretches = |job: &crate::problem::Job| (job.slots.len() + 1).saturating_mul(job.slots.len());
    let all = problem.jobs.iter().map(stretches).fold(0, usize::saturating_add);
    if all > MOST_STRETCHES {
        let most = problem.jobs.iter().map(|job| job.slots.len()).max().unwrap_or(0);
        let what = format!(
            "{} pieces of work with up to {most} slots each are too many for one plan; plan a shorter time, or each \
             home for itself",
            problem.jobs.len()
        );
        return vec![Fault { at: "the model".to_owned(), what }];
    }
    let too_large = |&job: &usize| cells(problem, job) > MOST_CELLS;
    let fault = |job: usize| Fault {
        at: format!("work `{}`", problem.model.work[job].id),
        what: format!(
            "its machine may run at {} showings and it may be done in {} slots, each holding for a time of its own: too \
             many for one plan; plan a shorter time",
            problem.machines[problem.jobs[job].machine].shows.len(),
            problem.jobs[job].slots.len()
        ),
    };
    (0..problem.jobs.len()).filter(too_large).map(fault).collect()
}

/// How many numbers the table of a piece of work holds at most.
fn cells(problem: &Problem<'_>, job: usize) -> usize {
    let it = &problem.jobs[job];
    let shows = &problem.machines[it.machine].shows;
    let latest = shows.iter().map(|&show| problem.shows[show].ends).max().unwrap_or(i64::MIN);
    let ends = |at: usize| it.expiry(problem.benches[it.slots[at].slot].ends);
    let phases = 2 + (0..it.slots.len()).filter(|&at| ends(at) < latest).count();
    let ran: i64 = shows.iter().map(|&show| problem.shows[show].run).sum();
    let rows = if it.hours_matter { (ran / problem.step.max(1) + 1).min(MOST_ROWS) } else { 1 };
    let rows = usize::try_from(rows).unwrap_or(usize::MAX);
    (shows.len() + it.slots.len()).saturating_mul(phases).saturating_mul(rows)
}
