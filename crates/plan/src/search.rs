//! The best plan, proven: showing by showing in the order of time, every crew that could still be part of a better
//! plan than the best one known.
//!
//! What a beginning of the diary costs at least is what it costs so far and, for each piece of work, the least that
//! any last doing leaves to come, read from the tables of the bound; work that could be done in several slots is not
//! tried out but carried along, one cost for each slot in which it may have been done last. Only when all crews are
//! known is the bench asked for its exact answer.

use crate::alike::twins;
use crate::bench::{Budget, Question};
use crate::cost::Choice;
use crate::dual::Dual;
use crate::problem::Problem;

/// Something in the diary.
#[derive(Clone, Copy)]
enum Step {
    Show(usize),
    Slot(usize),
}

/// A piece of work, by the slot in which it was done last.
#[derive(Clone)]
struct Thread {
    /// First: never; then one for each of its slots.
    cost: Vec<f64>,
    /// Minutes that the machine had run by then.
    mark: Vec<i64>,
    /// The least of cost and what is to come.
    bound: f64,
}

/// What a beginning of the diary has come to.
pub(crate) struct Search<'p, 'm, 'd> {
    problem: &'p Problem<'m>,
    dual: &'d Dual<'p, 'm>,
    tables: Vec<Vec<f64>>,
    steps: Vec<Step>,
    /// For each step and piece of work, how many of its events lie before the next step.
    events: Vec<Vec<usize>>,
    /// For each step, the least that showings from there on pick.
    shows_rest: Vec<f64>,
    /// For each slot, the least cost of a session.
    sessions: Vec<f64>,
    /// For each machine the nearest one before it that is like it.
    twins: Vec<Option<usize>>,
    threads: Vec<Thread>,
    ran: Vec<i64>,
    choice: Choice,
    /// What is decided: journeys, base risk, machines too few.
    spent: f64,
    pub best: f64,
    pub found: Option<Choice>,
    nodes: Budget,
    bench: Budget,
    /// Whether something was left open for want of effort.
    pub cut_short: bool,
}

/// One way to crew a showing.
struct Crew {
    bound: f64,
    /// Places among the able machines.
    places: Vec<usize>,
}

impl<'p, 'm, 'd> Search<'p, 'm, 'd> {
    /// Makes ready to look for plans under `best`.
    pub fn new(problem: &'p Problem<'m>, dual: &'d Dual<'p, 'm>, best: f64, nodes: u64) -> Self {
        let mut steps: Vec<Step> = (0..problem.shows.len()).map(Step::Show).collect();
        steps.extend((0..problem.benches.len()).map(Step::Slot));
        steps.sort_by_key(|step| match *step {
            Step::Slot(bench) => (problem.benches[bench].starts, 0, bench),
            Step::Show(show) => (problem.shows[show].starts, 1, show),
        });
        let thread = |job: &crate::problem::Job| Thread {
            cost: std::iter::once(0.0).chain(job.slots.iter().map(|_| f64::INFINITY)).collect(),
            mark: vec![0; job.slots.len() + 1],
            bound: 0.0,
        };
        let mut search = Self {
            twins: twins(problem),
            tables: dual.tables(),
            events: events_by_step(problem, &steps),
            shows_rest: Vec::new(),
            sessions: (0..problem.benches.len()).map(|bench| dual.session(&dual.prices, bench)).collect(),
            threads: problem.jobs.iter().map(thread).collect(),
            ran: vec![0; problem.machines.len()],
            choice: Choice {
                crews: vec![Vec::new(); problem.shows.len()],
                runs: vec![Vec::new(); problem.machines.len()],
                done: vec![Vec::new(); problem.jobs.len()],
            },
            spent: 0.0,
            best,
            found: None,
            nodes: Budget { left: nodes },
            bench: Budget { left: nodes / 4 + 2000 },
            cut_short: false,
            problem,
            dual,
            steps,
        };
        search.shows_rest = search.rest_of_shows();
        for job in 0..problem.jobs.len() {
            search.threads[job].bound = search.thread_bound(job, 0);
        }
        search
    }

    fn rest_of_shows(&self) -> Vec<f64> {
        let mut rest = vec![0.0; self.steps.len() + 1];
        for (at, step) in self.steps.iter().enumerate().rev() {
            rest[at] = rest[at + 1]
                + match *step {
                    Step::Show(show) => self.dual.pick(&self.dual.prices, show, |_, _| ()),
                    Step::Slot(_) => 0.0,
                };
        }
        rest
    }

    /// Looks through everything that could be better.
    pub fn run(&mut self) {
        self.step(0);
    }

    fn cutoff(&self) -> f64 {
        self.best - 1e-9 * self.best.abs().max(1.0)
    }

    fn bound(&self, step: usize) -> f64 {
        let machines: f64 = (self.problem.jobs.len()..self.dual.parts.len())
            .map(|part| {
                let shows = &self.problem.machines[self.dual.parts[part].machine].shows;
                let next = shows.partition_point(|&show| self.before(show, step));
                self.dual.grids[part].rest(&self.tables[part], next, None, 0)
            })
            .sum();
        self.spent
            + self.shows_rest[step]
            + machines
            + self.threads.iter().map(|thread| thread.bound).sum::<f64>()
            + self.sessions.iter().sum::<f64>()
    }

    fn before(&self, show: usize, step: usize) -> bool {
        match self.steps.get(step) {
            None => true,
            Some(&Step::Show(next)) => show < next,
            Some(&Step::Slot(bench)) => self.problem.shows[show].starts < self.problem.benches[bench].starts,
        }
    }

    fn thread_bound(&self, job: usize, step: usize) -> f64 {
        let thread = &self.threads[job];
        let event = self.events[step][job];
        let ran = self.ran[self.problem.jobs[job].machine];
        let mut least = f64::INFINITY;
        for (last, (&cost, &mark)) in thread.cost.iter().zip(&thread.mark).enumerate() {
            // What is to come may be less than nothing: runs carry prices.
            if cost.is_finite() {
                let rest =
                    self.dual.grids[job].rest(&self.tables[job], event, last.checked_sub(1), ran - mark);
                least = least.min(cost + rest);
            }
        }
        least
    }

    fn step(&mut self, step: usize) {
        if self.cut_short {
            return;
        }
        match self.steps.get(step) {
            None => self.leaf(),
            Some(&Step::Slot(bench)) => self.slot(bench, step),
            Some(&Step::Show(show)) => self.show(show, step),
        }
    }

    fn slot(&mut self, bench: usize, step: usize) {
        let jobs: Vec<(usize, usize)> = self.dual.offers[bench].clone();
        let before: Vec<Thread> = jobs.iter().map(|&(job, _)| self.threads[job].clone()).collect();
        for &(job, at) in &jobs {
            self.may_be_done(job, at);
            self.threads[job].bound = self.thread_bound(job, step + 1);
        }
        if self.bound(step + 1) < self.cutoff() {
            self.step(step + 1);
        }
        for (&(job, _), thread) in jobs.iter().zip(before) {
            self.threads[job] = thread;
        }
    }

    fn may_be_done(&mut self, job: usize, at: usize) {
        let it = &self.problem.jobs[job];
        let chance = &it.slots[at];
        let bench = &self.problem.benches[chance.slot];
        let ran = self.ran[it.machine];
        let home = self.choice.runs[it.machine]
            .iter()
            .all(|&run| self.problem.home_for(it.machine, run, chance.slot));
        let price = self.dual.prices_of(&self.dual.prices, job).1[at];
        let thread = &mut self.threads[job];
        let mut least = f64::INFINITY;
        for last in 0..=at {
            let since = if last == 0 { it.since + ran } else { ran - thread.mark[last] };
            let apart = last == 0 || self.problem.benches[it.slots[last - 1].slot].ends <= bench.starts;
            if home && apart {
                least = least.min(thread.cost[last] + it.waste(since));
            }
            if chance.fixed {
                thread.cost[last] = f64::INFINITY;
            }
        }
        thread.cost[at + 1] = least + chance.cost + price;
        thread.mark[at + 1] = ran;
    }

    fn show(&mut self, show: usize, step: usize) {
        if !self.nodes.take(1) {
            self.cut_short = true;
            return;
        }
        let crews = self.crews(show, step);
        for crew in crews {
            if crew.bound >= self.cutoff() {
                return;
            }
            self.try_crew(show, step, &crew.places);
        }
    }

    /// Lists the ways to crew a showing that could still be part of a better plan, the most promising first.
    fn crews(&mut self, show: usize, step: usize) -> Vec<Crew> {
        let it = &self.problem.shows[show];
        // What each machine's work would come to if it ran, and if it did not.
        let mut with = Vec::with_capacity(it.able.len());
        let mut base = 0.0;
        let mut now = 0.0;
        for able in &it.able {
            now += self.machine_bound(able.machine);
            let before = self.save(able.machine);
            self.look(able.machine, step + 1);
            let idle = self.machine_bound(able.machine);
            self.restore(able.machine, &before);
            base += idle;
            let free = able.fixed || self.free(able.machine, able.at);
            let runs = if free {
                self.run_machine(show, able.machine, able.at);
                self.look(able.machine, step + 1);
                let runs = self.machine_bound(able.machine);
                self.choice.take(self.problem, able.machine, able.at);
                self.ran[able.machine] -= it.run;
                self.restore(able.machine, &before);
                runs + able.journeys + able.base_risk - idle
            } else {
                f64::INFINITY
            };
            with.push(runs);
        }
        let rest = self.bound(step + 1) - now + base;
        let mut crews = Vec::new();
        let fixed: Vec<usize> = (0..it.able.len()).filter(|&at| it.able[at].fixed).take(it.seats).collect();
        let open: Vec<usize> =
            (0..it.able.len()).filter(|&at| !it.able[at].fixed && with[at].is_finite()).collect();
        let cost = rest + fixed.iter().map(|&at| with[at]).sum::<f64>();
        let mut places = fixed;
        self.combine(show, &open, &with, cost, &mut places, &mut crews);
        crews.sort_by(|a, b| a.bound.total_cmp(&b.bound).then_with(|| a.places.cmp(&b.places)));
        crews
    }

    fn combine(
        &self,
        show: usize,
        open: &[usize],
        with: &[f64],
        cost: f64,
        places: &mut Vec<usize>,
        crews: &mut Vec<Crew>,
    ) {
        let missing = self.problem.shows[show].seats - places.len();
        let bound = cost + missing as f64 * self.problem.unstaffed;
        if bound < self.cutoff() {
            crews.push(Crew { bound, places: places.clone() });
        }
        if missing == 0 {
            return;
        }
        for (at, &place) in open.iter().enumerate() {
            if self.twin_waits(show, place, places) {
                continue;
            }
            places.push(place);
            self.combine(show, &open[at + 1..], with, cost + with[place], places, crews);
            places.pop();
        }
    }

    /// Says whether a machine that is like this one, and has run wherever it has, comes before it and is not taken.
    fn twin_waits(&self, show: usize, place: usize, places: &[usize]) -> bool {
        let able = &self.problem.shows[show].able;
        self.twins[able[place].machine].is_some_and(|twin| {
            self.choice.runs[twin] == self.choice.runs[able[place].machine]
                && !places.iter().any(|&it| able[it].machine == twin)
        })
    }

    fn try_crew(&mut self, show: usize, step: usize, places: &[usize]) {
        let problem = self.problem;
        let it = &problem.shows[show];
        let spent = self.spent;
        let before: Vec<Vec<Thread>> = it.able.iter().map(|able| self.save(able.machine)).collect();
        self.spent += (it.seats - places.len()) as f64 * problem.unstaffed;
        for &place in places {
            let able = &it.able[place];
            self.spent += able.journeys + able.base_risk;
            self.run_machine(show, able.machine, able.at);
        }
        for able in &it.able {
            self.look(able.machine, step + 1);
        }
        if self.bound(step + 1) < self.cutoff() {
            self.step(step + 1);
        }
        for &place in places {
            self.choice.take(problem, it.able[place].machine, it.able[place].at);
            self.ran[it.able[place].machine] -= it.run;
        }
        for (able, threads) in it.able.iter().zip(&before) {
            self.restore(able.machine, threads);
        }
        self.spent = spent;
    }

    fn free(&self, machine: usize, at: usize) -> bool {
        !self.problem.machines[machine].clashes
            || self.choice.runs[machine].iter().all(|&it| self.problem.both(machine, it, at))
    }

    /// Lets a machine run: every way its work can stand costs what the run costs then.
    fn run_machine(&mut self, show: usize, machine: usize, at: usize) {
        let problem = self.problem;
        let it = &problem.shows[show];
        let ran = self.ran[machine];
        for &job in &problem.machines[machine].work {
            let work = &problem.jobs[job];
            if !work.runs_matter && work.slots.is_empty() {
                continue;
            }
            let thread = &mut self.threads[job];
            for last in 0..thread.cost.len() {
                if thread.cost[last].is_infinite() {
                    continue;
                }
                let (since, expiry, home) = match last.checked_sub(1) {
                    None => (work.since + ran, work.first_expiry(), true),
                    Some(slot) => {
                        let bench = work.slots[slot].slot;
                        let expiry = work.expiry(problem.benches[bench].ends);
                        (ran - thread.mark[last], expiry, problem.home_for(machine, at, bench))
                    }
                };
                let over = work.over(since, it.run) || it.ends > expiry;
                thread.cost[last] +=
                    it.stoppage * work.stoppages(since, it.run) + if over { problem.overdue } else { 0.0 };
                if !home {
                    thread.cost[last] = f64::INFINITY;
                }
            }
        }
        self.ran[machine] += it.run;
        self.choice.put(problem, machine, at);
    }

    fn look(&mut self, machine: usize, step: usize) {
        let problem = self.problem;
        for &job in &problem.machines[machine].work {
            self.threads[job].bound = self.thread_bound(job, step);
        }
    }

    fn machine_bound(&self, machine: usize) -> f64 {
        self.problem.machines[machine].work.iter().map(|&job| self.threads[job].bound).sum()
    }

    fn save(&self, machine: usize) -> Vec<Thread> {
        self.problem.machines[machine].work.iter().map(|&job| self.threads[job].clone()).collect()
    }

    fn restore(&mut self, machine: usize, threads: &[Thread]) {
        for (&job, thread) in self.problem.machines[machine].work.iter().zip(threads) {
            self.threads[job].clone_from(thread);
        }
    }

    /// All crews are known: what remains is the bench.
    fn leaf(&mut self) {
        let mut known = self.spent;
        for (job, it) in self.problem.jobs.iter().enumerate().filter(|(_, it)| it.slots.is_empty()) {
            let mut sum = crate::cost::Tally::default();
            crate::cost::job_tally(self.problem, job, &self.choice.runs[it.machine], &[], &mut sum);
            known += sum.total(self.problem);
        }
        let least = |group: &crate::problem::Group| {
            group.jobs.iter().map(|&job| self.threads[job].bound).sum::<f64>()
                + group.benches.iter().map(|&bench| self.sessions[bench]).sum::<f64>()
        };
        let mut to_come: f64 = self.problem.groups.iter().map(least).sum();
        let mut choice = self.choice.clone();
        for group in &self.problem.groups {
            to_come -= least(group);
            let question = Question::new(self.problem, group, &self.choice.runs);
            let cutoff = self.best - known - to_come;
            let prices = group.jobs.iter().map(|&job| self.dual.prices_of(&self.dual.prices, job).1.to_vec());
            let proof = question.prove(prices.collect(), cutoff, &mut self.bench);
            if proof.bound < proof.cost - 1e-9 * self.best.abs().max(1.0) {
                self.cut_short = true;
            }
            let Some(done) = proof.done else { return };
            known += proof.cost;
            for (&job, way) in group.jobs.iter().zip(done) {
                choice.done[job] = way;
            }
        }
        let cost = choice.cost(self.problem);
        if cost < self.best {
            self.best = cost;
            self.found = Some(choice);
        }
    }
}

fn events_by_step(problem: &Problem<'_>, steps: &[Step]) -> Vec<Vec<usize>> {
    let mut now = vec![0; problem.jobs.len()];
    let mut all = Vec::with_capacity(steps.len() + 1);
    all.push(now.clone());
    for step in steps {
        for (job, it) in problem.jobs.iter().enumerate() {
            now[job] += usize::from(match *step {
                Step::Show(show) => problem.machines[it.machine].shows.binary_search(&show).is_ok(),
                Step::Slot(bench) => it.slots.iter().any(|chance| chance.slot == bench),
            });
        }
        all.push(now.clone());
    }
    all
}
