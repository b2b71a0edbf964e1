//! When to do all work that shares slots, if it is known when the machines run.
//!
//! Each piece of work alone is a cheapest way through its slots; what binds them is that a session is opened once, a
//! machine is prepared once, and the minutes of a slot are what they are. `settle` improves a plan step by step;
//! `prove` finds the best one: prices on each doing split the question into pieces of work and slots, each answered
//! exactly, which bounds the cost from below; where the two sides disagree it tries both.

use crate::cost::Held;
use crate::problem::{Group, Problem};
use crate::session::{Offer, best_session};
use crate::work_path::{May, Stretches};

/// What is left of the effort that may be spent.
pub(crate) struct Budget {
    pub left: u64,
}

impl Budget {
    /// Takes so much; says whether it was there.
    pub fn take(&mut self, steps: u64) -> bool {
        let there = self.left >= steps;
        self.left = self.left.saturating_sub(steps);
        there
    }
}

/// A group's work with its stretches, for known runs.
pub(crate) struct Question<'p, 'm> {
    problem: &'p Problem<'m>,
    pub group: &'p Group,
    pub stretches: Vec<Stretches>,
    /// For each of the group's slots: piece of work (its place in the group) and the slot's place among the work's.
    offers: Vec<Vec<(usize, usize)>>,
}

/// For each piece of work of a group the places among its slots in which it is done.
pub(crate) type Doings = Vec<Vec<usize>>;

impl<'p, 'm> Question<'p, 'm> {
    /// Counts everything that known runs decide.
    pub fn new(problem: &'p Problem<'m>, group: &'p Group, runs: &[Vec<usize>]) -> Self {
        let stretches = group
            .jobs
            .iter()
            .map(|&job| Stretches::new(problem, job, &runs[problem.jobs[job].machine]))
            .collect();
        let offer = |bench: usize| {
            let at = |(place, &job): (usize, &usize)| {
                problem.jobs[job].slots.iter().position(|chance| chance.slot == bench).map(|at| (place, at))
            };
            group.jobs.iter().enumerate().filter_map(at).collect()
        };
        Self { problem, group, stretches, offers: group.benches.iter().map(|&bench| offer(bench)).collect() }
    }

    fn slot(&self, place: usize, at: usize) -> usize {
        self.problem.jobs[self.group.jobs[place]].slots[at].slot
    }

    fn held(&self, done: &Doings) -> Vec<Held> {
        let mut held = vec![Held::default(); self.problem.benches.len()];
        for (place, way) in done.iter().enumerate() {
            for &at in way {
                let bench = self.slot(place, at);
                held[bench].put(self.problem, bench, self.group.jobs[place]);
            }
        }
        held
    }

    /// Returns what doings cost, sessions counted in; infinite where they do not fit.
    pub fn cost(&self, done: &Doings) -> f64 {
        let held = self.held(done);
        let fits = |&bench: &usize| {
            held[bench].jobs.is_empty() || held[bench].minutes <= self.problem.benches[bench].minutes
        };
        if !self.group.benches.iter().all(fits) {
            return f64::INFINITY;
        }
        self.group.benches.iter().map(|&bench| held[bench].cost).sum::<f64>()
            + done.iter().zip(&self.stretches).map(|(way, it)| it.cost_of(way)).sum::<f64>()
    }

    /// Improves doings until no piece of work alone, and no session closed as a whole, makes them cheaper.
    pub fn settle(&self, done: &mut Doings) {
        for _ in 0..ROUNDS {
            let moved = self.settle_each(done, None);
            let closed = self.close_sessions(done);
            if !moved && !closed {
                return;
            }
        }
    }

    /// Moves each piece of work to where it is cheapest as the others stand; says whether anything moved.
    fn settle_each(&self, done: &mut Doings, closed: Option<usize>) -> bool {
        let mut held = self.held(done);
        let mut any = false;
        for _ in 0..ROUNDS {
            let mut moved = false;
            for place in 0..done.len() {
                moved |= self.settle_one(done, &mut held, place, closed);
            }
            any |= moved;
            if !moved {
                break;
            }
        }
        any
    }

    fn settle_one(&self, done: &mut Doings, held: &mut [Held], place: usize, closed: Option<usize>) -> bool {
        let job = self.group.jobs[place];
        let it = &self.stretches[place];
        for &at in &done[place] {
            let bench = self.slot(place, at);
            held[bench].take(self.problem, bench, job);
        }
        let price = |at: usize| {
            let bench = self.slot(place, at);
            let (minutes, cost) = held[bench].adds(self.problem, bench, job);
            let fits = held[bench].minutes + minutes <= self.problem.benches[bench].minutes;
            if fits && closed != Some(bench) { cost } else { f64::INFINITY }
        };
        let now = it.cost_of(&done[place]) + done[place].iter().map(|&at| price(at)).sum::<f64>();
        let (cost, way) = it.cheapest(price, &it.may);
        let moved = cost.is_finite() && (cost < now - EPSILON || now.is_infinite());
        if moved {
            done[place] = way;
        }
        for &at in &done[place] {
            let bench = self.slot(place, at);
            held[bench].put(self.problem, bench, job);
        }
        moved
    }

    fn close_sessions(&self, done: &mut Doings) -> bool {
        let mut cost = self.cost(done);
        let mut any = false;
        for &bench in &self.group.benches {
            if self.held(done)[bench].jobs.is_empty() {
                continue;
            }
            let mut other = done.clone();
            for (place, way) in other.iter_mut().enumerate() {
                way.retain(|&at| self.slot(place, at) != bench || self.stretches[place].may[at] == May::Must);
            }
            self.settle_each(&mut other, Some(bench));
            self.settle_each(&mut other, None);
            let less = self.cost(&other);
            if less < cost - EPSILON {
                *done = other;
                cost = less;
                any = true;
            }
        }
        any
    }

    /// Finds the best doings that cost less than `cutoff`, if there are any. Returns a bound that no doings undercut
    /// (or `cutoff`, if they do not come under it), and the doings.
    ///
    /// `prices` are the first prices to try, for each piece of work and each of its slots.
    pub fn prove(&self, prices: Vec<Vec<f64>>, cutoff: f64, budget: &mut Budget) -> Proof {
        let mut search = Search { question: self, best: cutoff, done: None, open: f64::INFINITY, budget };
        let may = self.stretches.iter().map(|it| it.may.clone()).collect();
        search.node(may, prices, ROOT_STEPS);
        Proof { bound: search.best.min(search.open), cost: search.best, done: search.done }
    }
}

/// What was found by `prove`.
pub(crate) struct Proof {
    /// No doings cost less than this, or than the cutoff.
    pub bound: f64,
    /// What the best doings cost; the cutoff where none come under it.
    pub cost: f64,
    /// The best doings, if any come under the cutoff.
    pub done: Option<Doings>,
}

/// So many rounds of improvement at most; each makes the plan cheaper, so few are needed.
const ROUNDS: usize = 20;
/// Less than this is no improvement but rounding.
const EPSILON: f64 = 1e-9;
/// Price steps at the first node and at the others.
const ROOT_STEPS: usize = 120;
const NODE_STEPS: usize = 30;

struct Search<'q, 'p, 'm, 'b> {
    question: &'q Question<'p, 'm>,
    best: f64,
    done: Option<Doings>,
    /// The least bound of what was left unopened for want of budget.
    open: f64,
    budget: &'b mut Budget,
}

/// One answer to a set of prices.
struct Split {
    bound: f64,
    ways: Doings,
    sessions: Vec<Vec<bool>>,
}

impl Search<'_, '_, '_, '_> {
    fn keep(&mut self, done: &Doings) {
        let cost = self.question.cost(done);
        if cost < self.best - EPSILON {
            self.best = cost;
            self.done = Some(done.clone());
        }
    }

    fn node(&mut self, may: Vec<Vec<May>>, mut prices: Vec<Vec<f64>>, steps: usize) {
        let mut bound = f64::NEG_INFINITY;
        let mut best_prices = prices.clone();
        let mut doubt: Vec<Vec<f64>> = prices.iter().map(|row| vec![0.0; row.len()]).collect();
        let mut pace = 1.0;
        for step in 0..steps {
            if !self.budget.take(1) {
                self.open = self.open.min(bound);
                return;
            }
            let split = self.split(&may, &prices);
            if split.bound >= self.best - EPSILON {
                return;
            }
            self.keep(&split.ways);
            if step % 10 == 0 {
                let mut settled = split.ways.clone();
                self.question.settle(&mut settled);
                self.keep(&settled);
            }
            if split.bound > bound {
                bound = split.bound;
                best_prices.clone_from(&prices);
            } else {
                pace *= 0.9;
            }
            if !self.step(&split, &mut prices, &mut doubt, pace) {
                // Both sides agree: this is the best of the node.
                return;
            }
            if bound >= self.best - EPSILON {
                return;
            }
        }
        self.branch(may, &best_prices, &doubt, bound);
    }

    /// Moves prices towards agreement; says whether there was any disagreement.
    fn step(&self, split: &Split, prices: &mut [Vec<f64>], doubt: &mut [Vec<f64>], pace: f64) -> bool {
        let mut apart = 0.0;
        for (place, row) in split.sessions.iter().enumerate() {
            for (at, &held) in row.iter().enumerate() {
                let done = split.ways[place].contains(&at);
                if done == held {
                    doubt[place][at] *= 0.95;
                } else {
                    apart += 1.0;
                    doubt[place][at] += 1.0;
                }
            }
        }
        if apart == 0.0 {
            return false;
        }
        let by = pace * (self.best - split.bound).min(split.bound.abs().max(1.0)) / apart;
        for (place, row) in split.sessions.iter().enumerate() {
            for (at, &held) in row.iter().enumerate() {
                let done = split.ways[place].contains(&at);
                prices[place][at] += by * (f64::from(u8::from(done)) - f64::from(u8::from(held)));
            }
        }
        true
    }

    fn split(&self, may: &[Vec<May>], prices: &[Vec<f64>]) -> Split {
        let question = self.question;
        let mut bound = 0.0;
        let mut ways = Vec::with_capacity(may.len());
        for (place, it) in question.stretches.iter().enumerate() {
            let (cost, way) = it.cheapest(|at| prices[place][at], &may[place]);
            bound += cost;
            ways.push(way);
        }
        let mut sessions: Vec<Vec<bool>> = may.iter().map(|row| vec![false; row.len()]).collect();
        for (of_group, offers) in question.offers.iter().enumerate() {
            let offer = |&(place, at): &(usize, usize)| Offer {
                job: question.group.jobs[place],
                gain: prices[place][at],
                may: may[place][at],
            };
            let list: Vec<Offer> = offers.iter().map(offer).collect();
            let (cost, taken) = best_session(question.problem, question.group.benches[of_group], &list);
            bound += cost;
            for it in taken {
                let (place, at) = offers[it];
                sessions[place][at] = true;
            }
        }
        Split { bound, ways, sessions }
    }

    fn branch(&mut self, mut may: Vec<Vec<May>>, prices: &[Vec<f64>], doubt: &[Vec<f64>], bound: f64) {
        let split = self.split(&may, prices);
        let mut most: Option<(f64, usize, usize)> = None;
        for (place, row) in may.iter().enumerate() {
            for (at, &it) in row.iter().enumerate() {
                if it == May::Either && most.is_none_or(|(least, _, _)| doubt[place][at] > least) {
                    most = Some((doubt[place][at], place, at));
                }
            }
        }
        // Nothing is left to decide: the only way was kept, or cannot be.
        let Some((_, place, at)) = most else {
            self.open = self.open.min(bound.max(f64::NEG_INFINITY));
            return;
        };
        let first =
            if split.ways[place].contains(&at) { [May::Must, May::Not] } else { [May::Not, May::Must] };
        for it in first {
            may[place][at] = it;
            self.node(may.clone(), prices.to_vec(), NODE_STEPS);
        }
    }
}
