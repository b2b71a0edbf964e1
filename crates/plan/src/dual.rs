//! What no plan can undercut.
//!
//! The question falls apart once three agreements are given a price instead of being held: that a piece of work sees
//! its machine run where the diary sends it, that no machine is in two places, and that work is done in the sessions
//! that are held. Then each showing picks its cheapest machines, each machine its best runs, each piece of work its
//! own best life, each slot its best session, and each of these is answered exactly. The sum is a bound for any
//! prices; prices are moved towards agreement by the volume method (F. Barahona and R. Anbil, "The volume algorithm:
//! producing primal solutions with a subgradient method", Mathematical Programming 87, 2000; from memory).

use crate::grid::{Alone, Grid};
use crate::problem::Problem;
use crate::session::{Offer, best_session};
use crate::work_path::May;

/// Where each agreement's prices lie in one long list.
pub(crate) struct Layout {
    /// For each piece of work: its machine's runs.
    pub runs: Vec<usize>,
    /// For each piece of work: its slots.
    pub slots: Vec<usize>,
    /// For each machine: its runs, where any of them clash.
    pub routes: Vec<usize>,
    pub len: usize,
}

impl Layout {
    fn new(problem: &Problem<'_>) -> Self {
        let mut len = 0;
        let mut take = |n: usize| {
            len += n;
            len - n
        };
        let matters = |job: &crate::problem::Job| {
            if job.runs_matter { problem.machines[job.machine].shows.len() } else { 0 }
        };
        let runs = problem.jobs.iter().map(|job| take(matters(job))).collect();
        let slots = problem.jobs.iter().map(|job| take(job.slots.len())).collect();
        let route = |machine: &crate::problem::Mach| if machine.clashes { machine.shows.len() } else { 0 };
        let routes = problem.machines.iter().map(|machine| take(route(machine))).collect();
        Self { runs, slots, routes, len }
    }
}

/// The bound, with everything that does not change while prices move.
pub(crate) struct Dual<'p, 'm> {
    problem: &'p Problem<'m>,
    pub layout: Layout,
    pub grids: Vec<Grid>,
    routes: Vec<Route>,
    /// For each slot: the work that may be done there, with the slot's place among the work's.
    offers: Vec<Vec<(usize, usize)>>,
    threads: usize,
    pub prices: Vec<f64>,
    pub bound: f64,
    /// Part of a machine in each showing, by the average of what the showings picked.
    pub picked: Vec<Vec<f64>>,
}

/// What the parts answered to a set of prices.
struct Answer {
    bound: f64,
    /// Disagreement at each price: positive where the price should rise.
    apart: Vec<f64>,
    /// For each machine, whether each of its showings picked it.
    crews: Vec<Vec<bool>>,
}

impl<'p, 'm> Dual<'p, 'm> {
    /// Makes ready; `most_minutes` of running are told apart for each machine.
    pub fn new(problem: &'p Problem<'m>, most_minutes: &[i64], threads: usize) -> Self {
        let grid =
            |(job, it): (usize, &crate::problem::Job)| Grid::new(problem, job, most_minutes[it.machine]);
        let layout = Layout::new(problem);
        let offer = |bench: usize| {
            let at = |(job, it): (usize, &crate::problem::Job)| {
                it.slots.iter().position(|chance| chance.slot == bench).map(|at| (job, at))
            };
            problem.jobs.iter().enumerate().filter_map(at).collect()
        };
        Self {
            problem,
            prices: vec![0.0; layout.len],
            layout,
            grids: problem.jobs.iter().enumerate().map(grid).collect(),
            routes: (0..problem.machines.len()).map(|machine| Route::new(problem, machine)).collect(),
            offers: (0..problem.benches.len()).map(offer).collect(),
            threads,
            bound: f64::NEG_INFINITY,
            picked: problem.machines.iter().map(|machine| vec![0.0; machine.shows.len()]).collect(),
        }
    }

    /// Returns the prices of a piece of work's runs and of its slots.
    pub fn prices_of<'y>(&self, prices: &'y [f64], job: usize) -> (&'y [f64], &'y [f64]) {
        let it = &self.problem.jobs[job];
        let n = if it.runs_matter { self.problem.machines[it.machine].shows.len() } else { 0 };
        let (runs, slots) = (self.layout.runs[job], self.layout.slots[job]);
        (&prices[runs..runs + n], &prices[slots..slots + it.slots.len()])
    }

    /// Begins with the risk that each run would have in a known plan: showings see it, work gets it back.
    pub fn begin_from(&mut self, choice: &crate::cost::Choice) {
        for (job, it) in self.problem.jobs.iter().enumerate().filter(|(_, it)| it.runs_matter) {
            let mach = &self.problem.machines[it.machine];
            let every: Vec<usize> = (0..mach.shows.len()).collect();
            let runs = &choice.runs[it.machine];
            let since = crate::cost::since_at_runs(self.problem, job, runs, &choice.done[job]);
            let slots = &it.slots;
            for at in every {
                let show = &self.problem.shows[mach.shows[at]];
                let next = runs.partition_point(|&it| it < at);
                let done = choice.done[job].iter().rev().map(|&it| &self.problem.benches[slots[it].slot]);
                let last = done.clone().find(|bench| bench.starts <= show.starts).map(|bench| bench.starts);
                // The hours at the nearest run before, unless the work was done in between.
                let before = next.checked_sub(1).map(|it| (runs[it], since[it]));
                let hours = match (before, last) {
                    (Some((run, since)), last) => {
                        let run = &self.problem.shows[mach.shows[run]];
                        if last.is_some_and(|last| last > run.starts) { 0 } else { since + run.run }
                    }
                    (None, Some(_)) => 0,
                    (None, None) => it.since,
                };
                self.prices[self.layout.runs[job] + at] = -show.stoppage * it.stoppages(hours, show.run);
            }
        }
    }

    /// Moves prices for so many steps, or until the bound reaches `target`; tells the share done through `pace`.
    pub fn climb(&mut self, target: f64, steps: usize) {
        let answer = self.answer(&self.prices);
        let mut centre = std::mem::take(&mut self.prices);
        self.bound = answer.bound;
        let mut average = answer.apart;
        let mut pace = 0.5;
        let (mut idle, mut green) = (0, 0);
        for _ in 0..steps {
            let norm: f64 = average.iter().map(|it| it * it).sum();
            let missing = target * (1.0 + 1e-3 * target.signum()) - self.bound;
            if norm < 1e-12 || self.bound >= target - 1e-9 * target.abs().max(1.0) {
                break;
            }
            let by = pace * missing.max(1e-9 * target.abs()) / norm;
            let trial: Vec<f64> =
                centre.iter().zip(&average).map(|(price, apart)| price + by * apart).collect();
            let answer = self.answer(&trial);
            let same_way: f64 = average.iter().zip(&answer.apart).map(|(a, b)| a * b).sum();
            let share = best_share(&average, &answer.apart);
            for (average, apart) in average.iter_mut().zip(&answer.apart) {
                *average += share * (apart - *average);
            }
            for (row, crews) in self.picked.iter_mut().zip(&answer.crews) {
                for (average, &picked) in row.iter_mut().zip(crews) {
                    *average += share * (f64::from(u8::from(picked)) - *average);
                }
            }
            if answer.bound > self.bound {
                self.bound = answer.bound;
                centre = trial;
                idle = 0;
                if same_way > 0.0 {
                    green += 1;
                    if green >= 2 {
                        pace = (pace * 1.2f64).min(2.0);
                        green = 0;
                    }
                }
            } else {
                idle += 1;
                if idle >= IDLE_STEPS {
                    pace = (pace * 0.7f64).max(1e-4);
                    idle = 0;
                }
            }
        }
        self.prices = centre;
    }

    fn answer(&self, prices: &[f64]) -> Answer {
        let mut apart = vec![0.0; self.layout.len];
        let (crews_cost, crews) = self.pick_crews(prices);
        let mut bound = crews_cost + self.routes_apart(prices, &crews, &mut apart);
        for (job, alone) in self.alone(prices).into_iter().enumerate() {
            bound += alone.cost;
            let it = &self.problem.jobs[job];
            if it.runs_matter {
                let from = self.layout.runs[job];
                for (at, (&own, &picked)) in alone.runs.iter().zip(&crews[it.machine]).enumerate() {
                    apart[from + at] = f64::from(u8::from(own)) - f64::from(u8::from(picked));
                }
            }
            for (at, &done) in alone.done.iter().enumerate() {
                apart[self.layout.slots[job] + at] = f64::from(u8::from(done));
            }
        }
        bound += self.sessions_apart(prices, &mut apart);
        Answer { bound, apart, crews }
    }

    /// Each showing takes its cheapest machines, by what they cost at these prices.
    fn pick_crews(&self, prices: &[f64]) -> (f64, Vec<Vec<bool>>) {
        let mut crews: Vec<Vec<bool>> =
            self.problem.machines.iter().map(|machine| vec![false; machine.shows.len()]).collect();
        let mut cost = 0.0;
        let mut list: Vec<(f64, usize)> = Vec::new();
        for show in 0..self.problem.shows.len() {
            let it = &self.problem.shows[show];
            let mut seats = it.seats;
            list.clear();
            for (place, able) in it.able.iter().enumerate() {
                let seen = self.seen(prices, show, place);
                if able.fixed && seats > 0 {
                    seats -= 1;
                    cost += seen;
                    crews[able.machine][able.at] = true;
                } else if !able.fixed {
                    list.push((seen, place));
                }
            }
            list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            for &(seen, place) in list.iter().take(seats).filter(|(seen, _)| *seen < self.problem.unstaffed) {
                seats -= 1;
                cost += seen;
                crews[it.able[place].machine][it.able[place].at] = true;
            }
            cost += seats as f64 * self.problem.unstaffed;
        }
        (cost, crews)
    }

    /// Returns what a machine costs a showing at these prices.
    pub fn seen(&self, prices: &[f64], show: usize, place: usize) -> f64 {
        let able = &self.problem.shows[show].able[place];
        let machine = &self.problem.machines[able.machine];
        let work: f64 = machine
            .work
            .iter()
            .filter(|&&job| self.problem.jobs[job].runs_matter)
            .map(|&job| prices[self.layout.runs[job] + able.at])
            .sum();
        let route = if machine.clashes { prices[self.layout.routes[able.machine] + able.at] } else { 0.0 };
        able.journeys + able.base_risk - work - route
    }

    fn routes_apart(&self, prices: &[f64], crews: &[Vec<bool>], apart: &mut [f64]) -> f64 {
        let mut cost = 0.0;
        for (machine, it) in self.problem.machines.iter().enumerate().filter(|(_, it)| it.clashes) {
            let from = self.layout.routes[machine];
            let (gain, runs) = self.routes[machine].best(&prices[from..from + it.shows.len()]);
            cost += gain;
            for at in 0..it.shows.len() {
                apart[from + at] = f64::from(u8::from(runs[at])) - f64::from(u8::from(crews[machine][at]));
            }
        }
        cost
    }

    fn alone(&self, prices: &[f64]) -> Vec<Alone> {
        let jobs = self.problem.jobs.len();
        let mut all = vec![Alone::default(); jobs];
        let share = jobs.div_ceil(self.threads.max(1)).max(1);
        if self.threads <= 1 {
            self.alone_in(prices, 0, &mut all);
        } else {
            std::thread::scope(|scope| {
                for (part, chunk) in all.chunks_mut(share).enumerate() {
                    scope.spawn(move || self.alone_in(prices, part * share, chunk));
                }
            });
        }
        all
    }

    fn alone_in(&self, prices: &[f64], first: usize, into: &mut [Alone]) {
        let mut table = Vec::new();
        for (at, alone) in into.iter_mut().enumerate() {
            let job = first + at;
            let (runs, slots) = self.prices_of(prices, job);
            let free = self.run_prices(runs, job);
            self.grids[job].fill(&free, slots, &mut table);
            *alone = self.grids[job].follow(&free, slots, &table, slots.len());
        }
    }

    /// Work to which runs do not matter sees none of them priced.
    fn run_prices(&self, runs: &[f64], job: usize) -> Vec<f64> {
        let it = &self.problem.jobs[job];
        if it.runs_matter { runs.to_vec() } else { vec![0.0; self.problem.machines[it.machine].shows.len()] }
    }

    fn sessions_apart(&self, prices: &[f64], apart: &mut [f64]) -> f64 {
        let mut cost = 0.0;
        let mut list = Vec::new();
        for (bench, offers) in self.offers.iter().enumerate() {
            list.clear();
            list.extend(offers.iter().map(|&(job, at)| Offer {
                job,
                gain: prices[self.layout.slots[job] + at],
                may: if self.problem.jobs[job].slots[at].fixed { May::Must } else { May::Either },
            }));
            let (session, taken) = best_session(self.problem, bench, &list);
            cost += session;
            for it in taken {
                let (job, at) = offers[it];
                apart[self.layout.slots[job] + at] -= 1.0;
            }
        }
        cost
    }

    /// Returns the model that this bounds.
    pub fn problem(&self) -> &'p Problem<'m> {
        self.problem
    }

    /// Returns the work that may be done in a slot, each with the slot's place among the work's.
    pub fn offers_of(&self, bench: usize) -> &[(usize, usize)] {
        &self.offers[bench]
    }

    /// Returns, for each machine with clashes and each of its showings (and after the last), the least sum of route
    /// prices from there on.
    pub fn routes_rest(&self) -> Vec<Vec<f64>> {
        let rest = |(machine, it): (usize, &crate::problem::Mach)| {
            if !it.clashes {
                return Vec::new();
            }
            let from = self.layout.routes[machine];
            let mut prices = self.prices[from..from + it.shows.len()].to_vec();
            let mut rest = Vec::with_capacity(prices.len() + 1);
            for at in 0..=it.shows.len() {
                rest.push(self.routes[machine].best(&prices).0);
                if let Some(price) = prices.get_mut(at) {
                    *price = 0.0;
                }
            }
            rest
        };
        self.problem.machines.iter().enumerate().map(rest).collect()
    }

    /// Fills the tables of all work at the best prices.
    pub fn tables(&self) -> Vec<Vec<f64>> {
        let fill = |job: usize| {
            let (runs, slots) = self.prices_of(&self.prices, job);
            let mut table = Vec::new();
            self.grids[job].fill(&self.run_prices(runs, job), slots, &mut table);
            table
        };
        (0..self.problem.jobs.len()).map(fill).collect()
    }
}

/// So many steps without a better bound, and they become shorter.
const IDLE_STEPS: usize = 6;

/// How much of the newest disagreement goes into the average: what makes it smallest, within limits.
fn best_share(average: &[f64], newest: &[f64]) -> f64 {
    let (mut across, mut length) = (0.0, 0.0);
    for (a, b) in average.iter().zip(newest) {
        across += a * (a - b);
        length += (a - b) * (a - b);
    }
    if length < 1e-12 { 0.1 } else { (across / length).clamp(0.02, 0.3) }
}

/// The runs that one machine can have together.
struct Route {
    /// For each showing: how many from the first are all in time for it.
    clear: Vec<usize>,
    /// Later ones that are in time, too.
    also: Vec<Vec<usize>>,
    fixed: Vec<bool>,
}

impl Route {
    fn new(problem: &Problem<'_>, machine: usize) -> Self {
        let n = problem.machines[machine].shows.len();
        let mut route = Self { clear: vec![0; n], also: vec![Vec::new(); n], fixed: vec![false; n] };
        if !problem.machines[machine].clashes {
            return route;
        }
        for at in 0..n {
            let both: Vec<bool> = (0..at).map(|it| problem.both(machine, it, at)).collect();
            route.clear[at] = both.iter().take_while(|it| **it).count();
            route.also[at] = (route.clear[at]..at).filter(|&it| both[it]).collect();
            route.fixed[at] = problem.able(machine, at).fixed;
        }
        route
    }

    /// Returns the least sum of prices over runs that can be had together, and the runs.
    fn best(&self, prices: &[f64]) -> (f64, Vec<bool>) {
        let n = prices.len();
        // Least sum with the last run at each, and over all up to each; with where they come from.
        let mut ending = vec![(f64::INFINITY, None); n];
        let mut upto: Vec<(f64, Option<usize>)> = Vec::with_capacity(n + 1);
        upto.push((0.0, None));
        let mut last_fixed = None;
        for at in 0..n {
            let clear = self.clear[at];
            let mut before = if last_fixed.is_none_or(|fixed| fixed < clear) {
                upto[clear]
            } else {
                (f64::INFINITY, None)
            };
            for &it in self.also[at].iter().filter(|&&it| last_fixed.is_none_or(|fixed| it >= fixed)) {
                if ending[it].0 < before.0 {
                    before = (ending[it].0, Some(it));
                }
            }
            ending[at] = (before.0 + prices[at], before.1);
            let carried = upto[at];
            if self.fixed[at] {
                last_fixed = Some(at);
                upto.push((ending[at].0, Some(at)));
            } else if ending[at].0 < carried.0 {
                upto.push((ending[at].0, Some(at)));
            } else {
                upto.push(carried);
            }
        }
        let (cost, mut last) = upto[n];
        let mut runs = vec![false; n];
        while let Some(at) = last {
            runs[at] = true;
            last = ending[at].1;
        }
        (cost, runs)
    }
}
