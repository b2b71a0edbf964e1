//! When to do all work that shares slots, if it is known when the machines run.
//!
//! Each piece of work alone is a cheapest way through its slots; what binds them is that a session is opened once, a
//! machine is prepared once, and the minutes of a slot are what they are. `settle` improves a plan step by step.

use crate::cost::Held;
use crate::problem::{Group, Problem};
use crate::work_path::{May, Stretches};

/// A group's work with its stretches, for known runs.
pub(crate) struct Question<'p, 'm> {
    problem: &'p Problem<'m>,
    pub group: &'p Group,
    pub stretches: Vec<Stretches>,
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
        Self { problem, group, stretches }
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
}

/// So many rounds of improvement at most; each makes the plan cheaper, so few are needed.
const ROUNDS: usize = 20;
/// Less than this is no improvement but rounding.
const EPSILON: f64 = 1e-9;
