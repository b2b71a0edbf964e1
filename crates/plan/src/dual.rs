//! What no plan can undercut.
//!
//! The question falls apart once two agreements are given a price instead of being held: that a piece of work sees
//! its machine run where the diary sends it, and that work is done in the sessions that are held. Then each showing
//! picks its cheapest machines, each piece of work its own best life (on a machine that is in one place at a time),
//! each slot its best session, and each of these is answered exactly. The sum is a bound for any prices.
//!
//! `agree` raises it by passing on what each choice is worth (`hand_over`, `share_out`); `climb` goes on with the
//! volume method (F. Barahona and R. Anbil, "The volume algorithm: producing primal solutions with a subgradient
//! method", Mathematical Programming 87, 2000; from memory).

use crate::grid::{Alone, Grid};
use crate::problem::Problem;
use crate::session::{Offer, best_session};
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
    threads: usize,
    pub prices: Vec<f64>,
    pub bound: f64,
}

/// What the parts answered to a set of prices.
struct Answer {
    bound: f64,
    /// Disagreement at each price: positive where the price should rise.
    apart: Vec<f64>,
}

impl<'p, 'm> Dual<'p, 'm> {
    /// Makes ready; `most_minutes` of running are told apart for each machine.
    pub fn new(problem: &'p Problem<'m>, most_minutes: &[i64], threads: usize) -> Self {
        let mut grids: Vec<Grid> = problem
            .jobs
            .iter()
            .enumerate()
            .map(|(job, it)| Grid::new(problem, job, most_minutes[it.machine]))
            .collect();
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
        let mut apart = vec![0.0; prices.len()];
        let mut bound = 0.0;
        for (part, alone) in self.alone(prices).into_iter().enumerate() {
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

    fn alone(&self, prices: &[f64]) -> Vec<Alone> {
        self.for_each_part(Vec::new, |part, table: &mut Vec<f64>| {
            let (runs, slots) = self.prices_of(prices, part);
            let free = self.run_prices(runs, part);
            self.grids[part].fill(&free, slots, table);
            self.grids[part].follow(&free, slots, table, slots.len())
        })
    }

    /// Asks every part, on all threads; the answers do not depend on how many there are.
    pub fn for_each_part<T: Send + Default + Clone, S>(
        &self,
        scratch: impl Fn() -> S + Sync,
        ask: impl Fn(usize, &mut S) -> T + Sync,
    ) -> Vec<T> {
        let parts = self.parts.len();
        let mut all = vec![T::default(); parts];
        let share = parts.div_ceil(self.threads.max(1)).max(1);
        let fill = |first: usize, into: &mut [T]| {
            let mut scratch = scratch();
            for (at, answer) in into.iter_mut().enumerate() {
                *answer = ask(first + at, &mut scratch);
            }
        };
        if self.threads <= 1 {
            fill(0, &mut all);
        } else {
            std::thread::scope(|scope| {
                for (chunk, into) in all.chunks_mut(share).enumerate() {
                    let fill = &fill;
                    scope.spawn(move || fill(chunk * share, into));
                }
            });
        }
        all
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
