//! What no plan can undercut.
//!
//! The question falls apart once two agreements are given a price instead of being held: that a piece of work sees
//! its machine run where the diary sends it, and that work is done in the sessions that are held. Then each showing
//! picks its cheapest machines, each piece of work its own best life (on a machine that is in one place at a time),
//! each slot its best session, and each of these is answered exactly. The sum is a bound for any prices.
//!
//! `agree` raises it by passing on what each choice is worth (`hand_over`); `climb` goes on with the volume method.

use crate::climb::{Answer, Climb};
use crate::grid::{Alone, Grid, Number, Room};
use crate::problem::Problem;
use crate::session::{Offer, best_session};
use crate::threads::ask_all;
use crate::work_path::May;
use std::ops::Range;

/// Somebody whose agreement counts: a piece of work, or a machine with clashes and without work that they matter to.
pub(crate) struct Part {
    pub machine: usize,
    /// Its prices of runs in the long list; empty where runs do not matter to it.
    pub runs: Range<usize>,
    /// Its prices of slots.
    pub slots: Range<usize>,
}

impl Part {
    /// Returns where all its prices lie.
    pub fn all(&self) -> Range<usize> {
        self.runs.start..self.slots.end
    }
}

/// The bound, with everything that does not change while prices move.
pub(crate) struct Dual<'p, 'm> {
    pub problem: &'p Problem<'m>,
    /// First all work, in order; then machines.
    pub parts: Vec<Part>,
    pub grids: Vec<Grid>,
    /// For each machine the parts that price its runs.
    pub pricing: Vec<Vec<usize>>,
    /// For each slot: the work that may be done there, with the slot's place among the work's.
    pub offers: Vec<Vec<(usize, usize)>>,
    /// Prices are moved by exact answers.
    exactly: bool,
    threads: usize,
    pub prices: Vec<f64>,
    pub bound: f64,
}

impl<'p, 'm> Dual<'p, 'm> {
    /// Makes ready; with `all`, every number of hours is told apart.
    pub fn new(problem: &'p Problem<'m>, all: bool, threads: usize) -> Self {
        let mut grids: Vec<Grid> = (0..problem.jobs.len()).map(|job| Grid::new(problem, job, all)).collect();
        let mut parts = Vec::new();
        let mut pricing = vec![Vec::new(); problem.machines.len()];
        let mut len = 0;
        let mut add = |machine: usize, runs: usize, slots: usize| {
            if runs > 0 {
                pricing[machine].push(parts.len());
            }
            parts.push(Part { machine, runs: len..len + runs, slots: len + runs..len + runs + slots });
            len += runs + slots;
        };
        for job in &problem.jobs {
            let runs = if job.runs_matter { problem.machines[job.machine].shows.len() } else { 0 };
            add(job.machine, runs, job.slots.len());
        }
        for (machine, it) in problem.machines.iter().enumerate() {
            if it.clashes && !it.work.iter().any(|&job| problem.jobs[job].runs_matter) {
                add(machine, it.shows.len(), 0);
                grids.push(Grid::of_machine(problem, machine));
            }
        }
        let offer = |bench: usize| {
            let at = |(job, it): (usize, &crate::problem::Job)| {
                it.slots.iter().position(|chance| chance.slot == bench).map(|at| (job, at))
            };
            problem.jobs.iter().enumerate().filter_map(at).collect()
        };
        Self {
            problem,
            offers: (0..problem.benches.len()).map(offer).collect(),
            prices: vec![0.0; len],
            parts,
            grids,
            pricing,
            exactly: all,
            threads,
            bound: f64::NEG_INFINITY,
        }
    }

    /// Returns the prices of a piece of work's runs and of its slots.
    pub fn prices_of<'y>(&self, prices: &'y [f64], part: usize) -> (&'y [f64], &'y [f64]) {
        let it = &self.parts[part];
        (&prices[it.runs.clone()], &prices[it.slots.clone()])
    }

    /// Moves prices for so many steps, or until the bound reaches `target`.
    pub fn climb(&mut self, target: f64, steps: usize) {
        let scale = self.freedom();
        let mut climb = Climb::from(std::mem::take(&mut self.prices), scale);
        if self.exactly {
            climb.go(target, steps, |prices| self.answer::<f64>(prices));
            self.bound = climb.bound;
        } else {
            climb.go(target, steps, |prices| self.answer::<f32>(prices));
            // The way there may be counted roughly; what is given as a bound is not.
            self.bound = self.answer::<f64>(&climb.prices).bound;
        }
        self.prices = climb.prices;
    }

    /// How freely each price moves: those of doings more than those of runs, which are many and small.
    fn freedom(&self) -> Vec<f64> {
        let mut freedom = vec![1.0; self.prices.len()];
        for part in &self.parts {
            freedom[part.slots.clone()].fill(DOING_FREEDOM);
        }
        freedom
    }

    /// Gives machines that are alike the same prices: the bound is as high as before at least, since it is concave.
    pub fn even_out(&mut self, classes: &[Vec<usize>]) {
        for class in classes.iter().filter(|class| class.len() > 1) {
            let parts = |machine: usize| {
                let of_its_own =
                    self.pricing[machine].iter().filter(|&&part| part >= self.problem.jobs.len());
                self.problem.machines[machine].work.iter().chain(of_its_own).copied().collect::<Vec<_>>()
            };
            let all: Vec<Vec<usize>> = class.iter().map(|&machine| parts(machine)).collect();
            for place in 0..all[0].len() {
                for at in 0..self.parts[all[0][place]].all().len() {
                    let price = |parts: &Vec<usize>| self.parts[parts[place]].runs.start + at;
                    let sum: f64 = all.iter().map(|parts| self.prices[price(parts)]).sum();
                    for parts in &all {
                        let at = price(parts);
                        self.prices[at] = sum / class.len() as f64;
                    }
                }
            }
        }
        self.bound = self.answer::<f64>(&self.prices).bound;
    }

    fn answer<T: Number + Into<f64>>(&self, prices: &[f64]) -> Answer {
        let mut apart = vec![0.0; prices.len()];
        let mut bound = 0.0;
        for (part, alone) in self.alone::<T>(prices).into_iter().enumerate() {
            bound += alone.cost;
            let it = &self.parts[part];
            for (at, &own) in it.runs.clone().zip(&alone.runs) {
                apart[at] = f64::from(u8::from(own));
            }
            for (at, &done) in it.slots.clone().zip(&alone.done) {
                apart[at] = f64::from(u8::from(done));
            }
        }
        for show in 0..self.problem.shows.len() {
            bound += self.pick(prices, show, |machine, at| {
                for &part in &self.pricing[machine] {
                    apart[self.parts[part].runs.start + at] -= 1.0;
                }
            });
        }
        for bench in 0..self.offers.len() {
            let (cost, taken) = best_session(self.problem, bench, &self.offers_at(prices, bench));
            bound += cost;
            for it in taken {
                let (job, at) = self.offers[bench][it];
                apart[self.parts[job].slots.start + at] -= 1.0;
            }
        }
        Answer { bound, apart }
    }

    /// A showing takes its cheapest machines, by what they cost at these prices; returns what that costs.
    pub fn pick(&self, prices: &[f64], show: usize, mut tell: impl FnMut(usize, usize)) -> f64 {
        let it = &self.problem.shows[show];
        let mut seats = it.seats;
        let mut cost = 0.0;
        let mut list: Vec<(f64, usize)> = Vec::with_capacity(it.able.len());
        for (place, able) in it.able.iter().enumerate() {
            let seen = self.seen(prices, show, place);
            if able.fixed && seats > 0 {
                seats -= 1;
                cost += seen;
                tell(able.machine, able.at);
            } else if !able.fixed && seen < self.problem.unstaffed {
                list.push((seen, place));
            }
        }
        list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for &(seen, place) in list.iter().take(seats) {
            cost += seen;
            tell(it.able[place].machine, it.able[place].at);
        }
        cost + seats.saturating_sub(list.len()) as f64 * self.problem.unstaffed
    }

    /// Returns what the last machine that a showing takes costs it; as much as machines too few at most.
    pub fn level(&self, show: usize) -> f64 {
        let it = &self.problem.shows[show];
        let fixed = it.able.iter().filter(|able| able.fixed).count();
        let open = (0..it.able.len()).filter(|&place| !it.able[place].fixed);
        let mut seen: Vec<f64> = open.map(|place| self.seen(&self.prices, show, place)).collect();
        seen.sort_by(f64::total_cmp);
        let last = it.seats.saturating_sub(fixed + 1);
        seen.get(last).map_or(self.problem.unstaffed, |level| level.min(self.problem.unstaffed))
    }

    /// Returns what a machine costs a showing at these prices.
    pub fn seen(&self, prices: &[f64], show: usize, place: usize) -> f64 {
        let able = &self.problem.shows[show].able[place];
        let priced: f64 = self.pricing[able.machine]
            .iter()
            .map(|&part| prices[self.parts[part].runs.start + able.at])
            .sum();
        able.journeys + able.base_risk - priced
    }

    fn offers_at(&self, prices: &[f64], bench: usize) -> Vec<Offer> {
        let offer = |&(job, at): &(usize, usize)| Offer {
            job,
            gain: prices[self.parts[job].slots.start + at],
            may: if self.problem.jobs[job].slots[at].fixed { May::Must } else { May::Either },
        };
        self.offers[bench].iter().map(offer).collect()
    }

    /// Returns the least cost of a session in a slot at these prices.
    pub fn session(&self, prices: &[f64], bench: usize) -> f64 {
        best_session(self.problem, bench, &self.offers_at(prices, bench)).0
    }

    fn alone<T: Number + Into<f64>>(&self, prices: &[f64]) -> Vec<Alone> {
        self.for_each_part(Room::<T>::default, |part, room| {
            let (runs, slots) = self.prices_of(prices, part);
            self.grids[part].alone(&self.run_prices(runs, part), slots, room)
        })
    }

    /// Asks every part, on all threads; the answers do not depend on how many there are.
    pub fn for_each_part<T: Send, S>(
        &self,
        scratch: impl Fn() -> S + Sync,
        ask: impl Fn(usize, &mut S) -> T + Sync,
    ) -> Vec<T> {
        ask_all(self.parts.len(), self.threads, scratch, ask)
    }

    /// Work to which runs do not matter sees none of them priced.
    pub fn run_prices(&self, runs: &[f64], part: usize) -> Vec<f64> {
        let shows = self.problem.machines[self.parts[part].machine].shows.len();
        if runs.is_empty() { vec![0.0; shows] } else { runs.to_vec() }
    }

    /// Fills the tables of all parts at the best prices.
    pub fn tables(&self) -> Vec<Vec<f64>> {
        self.for_each_part(Vec::<f64>::new, |part, _| {
            let (runs, slots) = self.prices_of(&self.prices, part);
            let mut table = Vec::new();
            self.grids[part].fill(&self.run_prices(runs, part), slots, &mut table);
            table
        })
    }
}

/// The price of a doing moves so many times as freely as that of a run: of 3, 10, 30 and 60, 100 the one that raised the
/// bound of an invented depot most in 80 steps.
const DOING_FREEDOM: f64 = 30.0;
