//! What may happen to a machine, in the order of time, as one piece of work sees it.

use crate::problem::{Job, Problem};

/// Something that may happen.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Event {
    pub what: What,
    /// It happens: a person fixed it.
    pub fixed: bool,
    /// The first event that it leaves time for.
    pub after: usize,
    /// Something fixed stands in its way.
    pub barred: bool,
}

/// What it is.
#[derive(Debug, Clone, Copy)]
pub(crate) enum What {
    /// The machine may run at a showing.
    Run {
        /// The showing's place among the machine's.
        at: usize,
        /// What a stoppage costs.
        stoppage: f64,
        /// Which of the tables of risk.
        table: usize,
        /// Levels that a run adds.
        steps: usize,
        run: i64,
        ends: i64,
    },
    /// The work may be done in a slot.
    Slot {
        /// The slot's place among the work's.
        at: usize,
        cost: f64,
        /// The phase that begins with it.
        phase: usize,
    },
}

/// From when hours are counted, and until when the doing holds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Phase {
    pub offset: i64,
    pub expiry: i64,
    /// The event from which it can be.
    pub from: usize,
}

/// Lists what may happen to a machine (and to a piece of work on it), and the phases: never done; done, one for all
/// doings that hold to the end and one for each of the others.
///
/// Hours are told apart in steps of `unit`; `runs` are the machine's running times, rising.
pub(crate) fn events(
    problem: &Problem<'_>,
    machine: usize,
    job: Option<&Job>,
    unit: i64,
    runs: &[i64],
    levels: usize,
) -> (Vec<Event>, Vec<Phase>) {
    let mach = &problem.machines[machine];
    let slots = job.map_or(&[][..], |job| &job.slots);
    let mut all: Vec<Event> = Vec::with_capacity(mach.shows.len() + slots.len());
    let mut next = 0;
    let event = |what: What, fixed: bool| Event { what, fixed, after: 0, barred: false };
    let slot = |at: usize| {
        let what = What::Slot { at, cost: slots[at].cost, phase: 1 };
        event(what, slots[at].fixed)
    };
    for (at, &show) in mach.shows.iter().enumerate() {
        let show = &problem.shows[show];
        while next < slots.len() && problem.benches[slots[next].slot].starts <= show.starts {
            all.push(slot(next));
            next += 1;
        }
        let steps = usize::try_from(show.run / unit).unwrap_or(0).min(levels);
        let what = What::Run {
            at,
            stoppage: show.stoppage,
            table: runs.binary_search(&show.run).expect("every run of the machine is in the list"),
            steps: if levels == 1 { 0 } else { steps },
            run: show.run,
            ends: show.ends,
        };
        all.push(event(what, problem.able(machine, at).fixed));
    }
    all.extend((next..slots.len()).map(slot));
    keep_apart(problem, machine, job, &mut all);
    let phases = phases(problem, machine, job, &mut all);
    (all, phases)
}

/// Says how far each event reaches, and which cannot be.
fn keep_apart(problem: &Problem<'_>, machine: usize, job: Option<&Job>, all: &mut [Event]) {
    let bench = |at: usize| job.map_or(0, |job| job.slots[at].slot);
    let apart = |one: &Event, other: &Event| match (one.what, other.what) {
        (What::Run { at, .. }, What::Run { at: later, .. }) => problem.both(machine, at, later),
        (What::Run { at: run, .. }, What::Slot { at, .. })
        | (What::Slot { at, .. }, What::Run { at: run, .. }) => problem.home_for(machine, run, bench(at)),
        (What::Slot { at, .. }, What::Slot { at: later, .. }) => {
            problem.benches[bench(at)].ends <= problem.benches[bench(later)].starts
        }
    };
    for at in 0..all.len() {
        let reach = all[at + 1..].iter().take_while(|later| !apart(&all[at], later)).count();
        all[at].after = at + 1 + reach;
        for later in at + 1..all[at].after {
            if all[later].fixed && !all[at].fixed {
                all[at].barred = true;
            } else if all[at].fixed && !all[later].fixed {
                all[later].barred = true;
            }
        }
    }
}

fn phases(problem: &Problem<'_>, machine: usize, job: Option<&Job>, all: &mut [Event]) -> Vec<Phase> {
    let Some(job) = job else { return vec![Phase { offset: 0, expiry: i64::MAX, from: 0 }] };
    let shows = &problem.machines[machine].shows;
    let latest = shows.iter().map(|&show| problem.shows[show].ends).max().unwrap_or(i64::MIN);
    let expiry = |at: usize| job.expiry(problem.benches[job.slots[at].slot].ends);
    let mut phases = vec![Phase { offset: job.since, expiry: job.first_expiry(), from: 0 }];
    let mut to_the_end = None;
    for (place, event) in all.iter_mut().enumerate() {
        let What::Slot { at, phase, .. } = &mut event.what else { continue };
        let holds = expiry(*at) >= latest;
        *phase = match to_the_end {
            Some(phase) if holds => phase,
            _ => {
                let expiry = if holds { i64::MAX } else { expiry(*at) };
                phases.push(Phase { offset: 0, expiry, from: place + 1 });
                phases.len() - 1
            }
        };
        if holds {
            to_the_end = Some(*phase);
        }
    }
    phases
}
