//! What choices cost. Everything else in this crate looks for choices; this is the only place that counts them.

use crate::answer::Breakdown;
use crate::check::Fault;
use crate::model::Cost;
use crate::problem::{Job, Problem};

/// Every choice of a plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Choice {
    /// For each showing its machines, rising.
    pub crews: Vec<Vec<usize>>,
    /// For each machine the showings it runs at, as places among its own, rising; the same fact as `crews`.
    pub runs: Vec<Vec<usize>>,
    /// For each piece of work the places among its slots in which it is done, rising.
    pub done: Vec<Vec<usize>>,
}

impl Choice {
    /// Nothing chosen but what people fixed.
    pub fn only_fixed(problem: &Problem<'_>) -> Self {
        let mut choice = Self {
            crews: vec![Vec::new(); problem.shows.len()],
            runs: vec![Vec::new(); problem.machines.len()],
            done: problem.jobs.iter().map(fixed_doings).collect(),
        };
        for (show, it) in problem.shows.iter().enumerate() {
            for able in it.able.iter().filter(|able| able.fixed).take(it.seats) {
                choice.put(problem, able.machine, able.at);
            }
            debug_assert!(choice.crews[show].len() <= it.seats);
        }
        choice
    }

    /// Sends a machine to the showing at this place among its own.
    pub fn put(&mut self, problem: &Problem<'_>, machine: usize, at: usize) {
        insert(&mut self.runs[machine], at);
        insert(&mut self.crews[problem.machines[machine].shows[at]], machine);
    }

    /// Takes a machine from a showing.
    pub fn take(&mut self, problem: &Problem<'_>, machine: usize, at: usize) {
        self.runs[machine].retain(|&it| it != at);
        self.crews[problem.machines[machine].shows[at]].retain(|&it| it != machine);
    }

    /// Returns whether a machine is free for a showing, and at home for the work that is planned.
    pub fn free(&self, problem: &Problem<'_>, machine: usize, at: usize) -> bool {
        let runs = &self.runs[machine];
        let next = runs.partition_point(|&it| it < at);
        // In the order of time, what leaves time for its neighbour leaves time for all beyond it.
        let before = runs[..next].last().is_none_or(|&it| problem.both(machine, it, at));
        let after = runs.get(next).is_none_or(|&it| it != at && problem.both(machine, at, it));
        let no_clash = before && after;
        no_clash && self.bench_free(problem, machine, at)
    }

    fn bench_free(&self, problem: &Problem<'_>, machine: usize, at: usize) -> bool {
        problem.machines[machine].work.iter().all(|&job| {
            let slots = &problem.jobs[job].slots;
            self.done[job].iter().all(|&it| problem.home_for(machine, at, slots[it].slot))
        })
    }

    /// Returns what everything costs together.
    pub fn cost(&self, problem: &Problem<'_>) -> f64 {
        self.breakdown(problem).total().0
    }

    /// Returns what the cost is made of.
    pub fn breakdown(&self, problem: &Problem<'_>) -> Breakdown {
        let mut sum = Tally::default();
        for (machine, runs) in self.runs.iter().enumerate() {
            for &at in runs {
                let able = problem.able(machine, at);
                sum.journeys += able.journeys;
                sum.stoppages += able.base_risk;
            }
        }
        for (job, done) in self.done.iter().enumerate() {
            job_tally(problem, job, &self.runs[problem.jobs[job].machine], done, &mut sum);
        }
        let missing: usize =
            self.crews.iter().zip(&problem.shows).map(|(crew, show)| show.seats - crew.len()).sum();
        Breakdown {
            stoppages: Cost(sum.stoppages),
            wasted_life: Cost(sum.waste),
            work: Cost(sum.work),
            sessions: Cost(self.sessions(problem).iter().map(|session| session.cost).sum()),
            journeys: Cost(sum.journeys),
            left_over: Cost(sum.left),
            overdue: Cost(sum.overdue as f64 * problem.overdue),
            unstaffed: Cost(missing as f64 * problem.unstaffed),
        }
    }

    /// Returns what happens in each slot.
    pub fn sessions(&self, problem: &Problem<'_>) -> Vec<Held> {
        let mut held: Vec<Held> = problem.benches.iter().map(|_| Held::default()).collect();
        for (job, done) in self.done.iter().enumerate() {
            for &at in done {
                let bench = problem.jobs[job].slots[at].slot;
                held[bench].put(problem, bench, job);
            }
        }
        held
    }

    /// Says which rules the choices break; nothing is said of a plan that can be.
    pub fn faults(&self, problem: &Problem<'_>) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (bench, held) in self.sessions(problem).iter().enumerate() {
            if held.minutes > problem.benches[bench].minutes && !held.jobs.is_empty() {
                let there = problem.benches[bench].minutes;
                let what = format!("the work takes {} minutes and there are {there}", held.minutes);
                faults.push(Fault { at: format!("slot `{}`", problem.bench_id(bench)), what });
            }
        }
        for (machine, runs) in self.runs.iter().enumerate() {
            let id = &problem.model.machines[machine].id;
            for pair in runs.windows(2).filter(|pair| !problem.both(machine, pair[0], pair[1])) {
                let shows = &problem.machines[machine].shows;
                let (one, two) = (problem.show_id(shows[pair[0]]), problem.show_id(shows[pair[1]]));
                let what = format!("it cannot run at `{one}` and `{two}`, journeys counted in");
                faults.push(Fault { at: format!("machine `{id}`"), what });
            }
            for &at in runs.iter().filter(|&&at| !self.bench_free(problem, machine, at)) {
                let show = problem.show_id(problem.machines[machine].shows[at]);
                let what = format!("it is on the bench while it should run at `{show}`");
                faults.push(Fault { at: format!("machine `{id}`"), what });
            }
        }
        for (job, done) in self.done.iter().enumerate() {
            let slots = &problem.jobs[job].slots;
            let bench = |at: usize| &problem.benches[slots[at].slot];
            if done.windows(2).any(|pair| bench(pair[0]).ends > bench(pair[1]).starts) {
                let at = format!("work `{}`", problem.model.work[job].id);
                faults.push(Fault { at, what: "it is done in two slots that overlap".to_owned() });
            }
        }
        faults
    }
}

/// Returns the places among its slots where a person fixed a piece of work.
pub(crate) fn fixed_doings(job: &Job) -> Vec<usize> {
    (0..job.slots.len()).filter(|&at| job.slots[at].fixed).collect()
}

/// What happens in a slot.
#[derive(Debug, Clone, Default)]
pub(crate) struct Held {
    /// The work, in no order that matters.
    pub jobs: Vec<usize>,
    /// Minutes of work and preparations.
    pub minutes: i64,
    /// The session's opening and its preparations.
    pub cost: f64,
    /// Machine, preparation, and how much work shares it.
    pub prepared: Vec<(usize, usize, usize)>,
}

impl Held {
    /// Returns the minutes and the cost that one more piece of work adds here besides its own.
    pub fn adds(&self, problem: &Problem<'_>, bench: usize, job: usize) -> (i64, f64) {
        let it = &problem.jobs[job];
        let opening = if self.jobs.is_empty() { problem.benches[bench].opening } else { 0.0 };
        match it.preparation {
            Some(preparation) if self.shared(it.machine, preparation).is_none() => {
                let (minutes, cost) = problem.preparations[preparation];
                (it.minutes + minutes, opening + cost)
            }
            _ => (it.minutes, opening),
        }
    }

    /// Adds a piece of work.
    pub fn put(&mut self, problem: &Problem<'_>, bench: usize, job: usize) {
        let (minutes, cost) = self.adds(problem, bench, job);
        self.minutes += minutes;
        self.cost += cost;
        self.jobs.push(job);
        let it = &problem.jobs[job];
        if let Some(preparation) = it.preparation {
            match self.shared(it.machine, preparation) {
                Some(at) => self.prepared[at].2 += 1,
                None => self.prepared.push((it.machine, preparation, 1)),
            }
        }
    }

    /// Takes a piece of work out again.
    pub fn take(&mut self, problem: &Problem<'_>, bench: usize, job: usize) {
        let it = &problem.jobs[job];
        self.jobs.retain(|&other| other != job);
        if let Some(preparation) = it.preparation
            && let Some(at) = self.shared(it.machine, preparation)
        {
            self.prepared[at].2 -= 1;
            if self.prepared[at].2 == 0 {
                self.prepared.swap_remove(at);
            }
        }
        let (minutes, cost) = self.adds(problem, bench, job);
        self.minutes -= minutes;
        self.cost -= cost;
        if self.jobs.is_empty() {
            // What rounding leaves behind must not gather over many moves.
            self.cost = 0.0;
        }
    }

    fn shared(&self, machine: usize, preparation: usize) -> Option<usize> {
        self.prepared.iter().position(|&(its, of, _)| its == machine && of == preparation)
    }
}

/// Sums by kind.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Tally {
    pub stoppages: f64,
    pub waste: f64,
    pub work: f64,
    pub journeys: f64,
    pub left: f64,
    pub overdue: usize,
    /// Minutes since the work was last done, at the end.
    pub since: i64,
}

impl Tally {
    /// Returns the sum.
    pub fn total(&self, problem: &Problem<'_>) -> f64 {
        self.stoppages
            + self.waste
            + self.work
            + self.journeys
            + self.left
            + self.overdue as f64 * problem.overdue
    }
}

/// Follows a piece of work through the plan: its machine's runs, and when it is done.
pub(crate) fn job_tally(problem: &Problem<'_>, job: usize, runs: &[usize], done: &[usize], sum: &mut Tally) {
    walk(problem, job, runs, done, sum, |_, _, _| {});
}

/// Like `job_tally`, and tells of each overdue run: its place among the machine's showings.
pub(crate) fn overdue_runs(problem: &Problem<'_>, job: usize, runs: &[usize], done: &[usize]) -> Vec<usize> {
    let mut found = Vec::new();
    walk(problem, job, runs, done, &mut Tally::default(), |at, _, over| {
        if over {
            found.push(at);
        }
    });
    found
}

/// Returns, for each run in turn, the minutes since the work was last done.
pub(crate) fn since_at_runs(problem: &Problem<'_>, job: usize, runs: &[usize], done: &[usize]) -> Vec<i64> {
    let mut found = Vec::with_capacity(runs.len());
    walk(problem, job, runs, done, &mut Tally::default(), |_, since, _| found.push(since));
    found
}

fn walk(
    problem: &Problem<'_>,
    job: usize,
    runs: &[usize],
    done: &[usize],
    sum: &mut Tally,
    mut tell: impl FnMut(usize, i64, bool),
) {
    let it = &problem.jobs[job];
    let shows = &problem.machines[it.machine].shows;
    let mut since = it.since;
    let mut expiry = it.first_expiry();
    let mut doings = done.iter().map(|&at| &it.slots[at]).peekable();
    for &at in runs {
        let show = &problem.shows[shows[at]];
        while let Some(chance) = doings.next_if(|chance| problem.benches[chance.slot].starts <= show.starts) {
            sum.waste += it.waste(since);
            sum.work += chance.cost;
            since = 0;
            expiry = it.expiry(problem.benches[chance.slot].ends);
        }
        sum.stoppages += show.stoppage * it.stoppages(since, show.run);
        let over = it.over(since, show.run) || show.ends > expiry;
        sum.overdue += usize::from(over);
        tell(at, since, over);
        since += show.run;
    }
    for chance in doings {
        sum.waste += it.waste(since);
        sum.work += chance.cost;
        since = 0;
    }
    sum.left += it.left * since as f64;
    sum.since = since;
}

/// Returns what one machine's runs and the work on it cost, sessions and preparations aside.
pub(crate) fn machine_cost(
    problem: &Problem<'_>,
    machine: usize,
    runs: &[usize],
    done: &[Vec<usize>],
) -> f64 {
    let mut sum = Tally::default();
    for &at in runs {
        let able = problem.able(machine, at);
        sum.journeys += able.journeys + able.base_risk;
    }
    for &job in &problem.machines[machine].work {
        job_tally(problem, job, runs, &done[job], &mut sum);
    }
    sum.total(problem)
}

/// Puts a number where it belongs in a rising list.
pub(crate) fn insert(list: &mut Vec<usize>, item: usize) {
    let at = list.partition_point(|&it| it < item);
    list.insert(at, item);
}
