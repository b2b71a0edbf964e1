//! When to do one piece of work, if it is known when its machine runs: the cheapest way through the slots.

use crate::problem::Problem;

/// What may become of a piece of work in a slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum May {
    /// As is best.
    Either,
    /// It is done.
    Must,
    /// It is not done.
    Not,
}

/// What each stretch between two doings costs, for known runs. Stretch 0 begins at the plan's zero.
pub(crate) struct Stretches {
    n: usize,
    /// From a doing (or the beginning) to a doing: stoppages, overdue runs, waste, and the doing itself.
    between: Vec<f64>,
    /// From a doing (or the beginning) to the end.
    to_end: Vec<f64>,
    /// What may become of it in each slot: pins, and the machine away.
    pub may: Vec<May>,
}

impl Stretches {
    /// Counts all stretches of a piece of work.
    pub fn new(problem: &Problem<'_>, job: usize, runs: &[usize]) -> Self {
        let it = &problem.jobs[job];
        let n = it.slots.len();
        let may = it.slots.iter().map(|chance| match chance.fixed {
            true => May::Must,
            false if runs.iter().any(|&at| !problem.home_for(it.machine, at, chance.slot)) => May::Not,
            false => May::Either,
        });
        let mut stretches = Self {
            n,
            between: vec![f64::INFINITY; (n + 1) * n],
            to_end: vec![f64::INFINITY; n + 1],
            may: may.collect(),
        };
        let shows = &problem.machines[it.machine].shows;
        // The last doing whose stretches were counted, with how many runs begin before it.
        let mut counted = None;
        stretches.fill(problem, job, runs, 0);
        for slot in (0..n).filter(|&slot| stretches.may[slot] != May::Not).collect::<Vec<_>>() {
            let begins = problem.benches[it.slots[slot].slot].starts;
            let before = runs.partition_point(|&at| problem.shows[shows[at]].starts < begins);
            let from = slot + 1;
            match counted {
                // Nothing runs between the two, and nothing that holds for a time runs out.
                Some((like, same)) if same == before && it.holds.is_none() => {
                    stretches.copy(problem, job, like, from);
                }
                _ => stretches.fill(problem, job, runs, from),
            }
            counted = Some((from, before));
        }
        stretches
    }

    /// Counts the stretches from a doing as those from an earlier one.
    fn copy(&mut self, problem: &Problem<'_>, job: usize, like: usize, from: usize) {
        let bench = |slot: usize| &problem.benches[problem.jobs[job].slots[slot].slot];
        let ends = bench(from - 1).ends;
        for slot in from..self.n {
            let cost = self.between[like * self.n + slot];
            self.arrive(from, slot, cost, ends, bench(slot).starts);
        }
        self.to_end[from] = self.to_end[like];
    }

    fn fill(&mut self, problem: &Problem<'_>, job: usize, runs: &[usize], from: usize) {
        let it = &problem.jobs[job];
        let shows = &problem.machines[it.machine].shows;
        let bench = |slot: usize| &problem.benches[it.slots[slot].slot];
        let (mut since, expiry, begins, ends) = match from.checked_sub(1) {
            None => (it.since, it.first_expiry(), i64::MIN, i64::MIN),
            Some(slot) => (0, it.expiry(bench(slot).ends), bench(slot).starts, bench(slot).ends),
        };
        let mut cost = 0.0;
        let mut next = from;
        let first = runs.partition_point(|&at| problem.shows[shows[at]].starts < begins);
        for &at in &runs[first..] {
            let show = &problem.shows[shows[at]];
            while next < self.n && bench(next).starts <= show.starts {
                self.arrive(
                    from,
                    next,
                    cost + it.waste(since) + it.slots[next].cost,
                    ends,
                    bench(next).starts,
                );
                next += 1;
            }
            cost += show.stoppage * it.stoppages(since, show.run);
            if it.over(since, show.run) || show.ends > expiry {
                cost += problem.overdue;
            }
            since += show.run;
        }
        for slot in next..self.n {
            self.arrive(from, slot, cost + it.waste(since) + it.slots[slot].cost, ends, bench(slot).starts);
        }
        self.to_end[from] = cost + it.left * since as f64;
    }

    /// A doing cannot begin before the last one has ended.
    fn arrive(&mut self, from: usize, slot: usize, cost: f64, ends: i64, begins: i64) {
        if ends <= begins {
            self.between[from * self.n + slot] = cost;
        }
    }

    /// Returns the cheapest way, where being done in a slot costs its price besides; the way as places among the
    /// work's slots. Infinite where what must be cannot be.
    pub fn cheapest(&self, price: impl Fn(usize) -> f64, may: &[May]) -> (f64, Vec<usize>) {
        let n = self.n;
        let closed = |slot: usize| may[slot] == May::Not || self.may[slot] == May::Not;
        let must = |slot: usize| may[slot] == May::Must;
        if (0..n).any(|slot| must(slot) && closed(slot)) {
            return (f64::INFINITY, Vec::new());
        }
        let prices: Vec<f64> =
            (0..n).map(|slot| if closed(slot) { f64::INFINITY } else { price(slot) }).collect();
        // The least cost of coming to each slot, and from where; node 0 is the beginning, then the slots.
        let mut least = vec![f64::INFINITY; n];
        let mut from_node = vec![0; n];
        let mut end = (f64::INFINITY, 0);
        for node in 0..=n {
            let here = node.checked_sub(1).map_or(0.0, |slot| least[slot] + prices[slot]);
            if here.is_infinite() {
                continue;
            }
            // No stretch leads past a doing that must be.
            let next = (node..n).find(|&slot| must(slot));
            let until = next.map_or(n, |slot| slot + 1);
            let stretches = &self.between[node * n..][node..until];
            let (least, from_node) = (&mut least[node..until], &mut from_node[node..until]);
            for ((least, from), stretch) in least.iter_mut().zip(from_node).zip(stretches) {
                let cost = here + stretch;
                let better = cost < *least;
                *least = if better { cost } else { *least };
                *from = if better { node } else { *from };
            }
            let cost = here + self.to_end[node];
            if cost < end.0 && next.is_none() {
                end = (cost, node);
            }
        }
        let mut way = Vec::new();
        let mut node = end.1;
        while node > 0 && end.0.is_finite() {
            way.push(node - 1);
            node = from_node[node - 1];
        }
        way.reverse();
        (end.0, way)
    }

    /// Returns what a given way costs.
    pub fn cost_of(&self, way: &[usize]) -> f64 {
        let mut node = 0;
        let mut cost = 0.0;
        for &slot in way {
            cost += self.between[node * self.n + slot];
            node = slot + 1;
        }
        cost + self.to_end[node]
    }
}
