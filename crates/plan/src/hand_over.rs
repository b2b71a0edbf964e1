//! What each choice is worth to one piece of work: how much dearer its best life becomes with a run or a doing than
//! without. The work hands that over into the prices, choice by choice in the order of time, and keeps its own least
//! cost; whoever decides the choice sees it then.

use crate::events::{Event, What};
use crate::grid::{Grid, LANES};

/// Room to work in, kept from one piece of work to the next.
#[derive(Default)]
pub(crate) struct Scratch {
    pub table: Vec<f64>,
    forward: Vec<f64>,
    row: Vec<f64>,
}

/// Choices that reach beyond the present event: until where, and the least cost of a life with one of them.
struct UnderWay(Vec<(usize, f64)>);

impl UnderWay {
    fn least(&mut self, event: usize) -> f64 {
        self.0.retain(|&(after, _)| after > event);
        self.0.iter().map(|&(_, cost)| cost).fold(f64::INFINITY, f64::min)
    }
}

impl Grid {
    /// Moves `share` of what each choice is worth into its price, and returns the least cost at the new prices.
    pub fn hand_over(
        &self,
        run_price: &mut [f64],
        slot_price: &mut [f64],
        share: f64,
        scratch: &mut Scratch,
    ) -> f64 {
        self.fill(run_price, slot_price, &mut scratch.table);
        scratch.forward.clear();
        scratch.forward.resize(self.size(), f64::INFINITY);
        scratch.forward[0] = 0.0;
        scratch.row.resize(self.levels * self.phases.len(), 0.0);
        let mut under_way = UnderWay(Vec::new());
        for (event, it) in self.events.iter().enumerate() {
            let passing = under_way.least(event);
            // What lies beyond the last level is reached from it alone.
            let brim = if self.reached(event) == self.levels { self.phases.len() } else { 0 };
            for phase in 0..brim {
                let range = self.row(event, phase);
                let (row, beyond) = scratch.forward[range].split_at_mut(self.levels);
                let top = beyond.iter().copied().fold(row[self.levels - 1], f64::min);
                row[self.levels - 1] = top;
            }
            if self.out(it, run_price) {
                self.pass(event, scratch);
                continue;
            }
            let without = if it.fixed { f64::INFINITY } else { passing.min(self.without(event, scratch)) };
            let with = self.with(event, it, run_price, slot_price, scratch);
            let price = match it.what {
                What::Run { at, .. } => &mut run_price[at],
                What::Slot { at, .. } => &mut slot_price[at],
            };
            let worth = with - without;
            let moved = if worth.is_finite() { share * worth } else { 0.0 };
            *price -= moved;
            self.push(event, it, *price, scratch);
            if it.after > event + 1 {
                under_way.0.push((it.after, with - moved));
            }
        }
        let last = self.events.len();
        (0..self.phases.len())
            .map(|phase| {
                let range = self.row(last, phase);
                least_sum(&scratch.forward[range.clone()], &scratch.table[range])
            })
            .fold(f64::INFINITY, f64::min)
    }

    fn active(&self, event: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.phases.len()).filter(move |&phase| self.phases[phase].from <= event)
    }

    /// The least cost of a life that comes to this event and lets it pass.
    fn without(&self, event: usize, scratch: &Scratch) -> f64 {
        self.active(event)
            .map(|phase| {
                let (now, next) = (self.row(event, phase).start, self.row(event + 1, phase).start);
                let reached = self.reached(event);
                let (forward, table) = (&scratch.forward[now..now + reached], &scratch.table[next..]);
                least_sum(forward, &table[..reached])
            })
            .fold(f64::INFINITY, f64::min)
    }

    /// The least cost of a life with this event; what it comes to before, without the price, is left in the scratch.
    fn with(&self, event: usize, it: &Event, runs: &[f64], slots: &[f64], scratch: &mut Scratch) -> f64 {
        let mut least = f64::INFINITY;
        for phase in self.active(event) {
            let forward = &scratch.forward[self.row(event, phase)][..self.reached(event)];
            let into = &mut scratch.row[phase * self.levels..][..self.reached(event)];
            match it.what {
                What::Run { at, stoppage, table, steps, run, ends } => {
                    let risk = self.risk(phase, table);
                    for ((cell, &forward), &risk) in into.iter_mut().zip(forward).zip(risk) {
                        *cell = forward + stoppage * risk;
                    }
                    let over_from = self.over_from(phase, run, ends).min(into.len());
                    for cell in &mut into[over_from..] {
                        *cell += self.overdue;
                    }
                    let rest = &scratch.table[self.row(it.after, phase)][steps..];
                    least = least.min(least_sum(into, rest) + runs[at]);
                }
                What::Slot { at, cost, phase: begins } => {
                    let before = least_sum(forward, self.waste(phase)) + cost;
                    into[0] = before;
                    least = least.min(before + slots[at] + scratch.table[self.row(it.after, begins).start]);
                }
            }
        }
        least
    }

    /// Carries on what was spent past an event.
    fn pass(&self, event: usize, scratch: &mut Scratch) {
        let start = (event + 1) * self.phases.len() * self.width;
        let (before, after) = scratch.forward.split_at_mut(start);
        for phase in self.active(event) {
            let next = self.row(event + 1, phase).start - start;
            let now = self.row(event, phase).start;
            let reached = self.reached(event);
            lower(&mut after[next..next + reached], &before[now..now + reached], 0.0);
        }
    }

    /// Carries on what was spent with and without an event, at its new price.
    fn push(&self, event: usize, it: &Event, price: f64, scratch: &mut Scratch) {
        if !it.fixed {
            self.pass(event, scratch);
        }
        let start = (event + 1) * self.phases.len() * self.width;
        let after = &mut scratch.forward[start..];
        for phase in self.active(event) {
            let row = &scratch.row[phase * self.levels..][..self.reached(event)];
            match it.what {
                What::Run { steps, .. } => {
                    let next = self.row(it.after, phase).start - start + steps;
                    let room = self.width - steps;
                    lower(&mut after[next..next + room], row, price);
                }
                What::Slot { phase: begins, .. } => {
                    let next = self.row(it.after, begins).start - start;
                    after[next] = after[next].min(row[0] + price);
                }
            }
        }
    }
}

/// Lowers each number to what stands beside it and a price, where that is less.
fn lower(into: &mut [f64], from: &[f64], price: f64) {
    for (into, &from) in into.iter_mut().zip(from) {
        let other = from + price;
        *into = if other < *into { other } else { *into };
    }
}

/// Returns the least sum of two numbers that stand beside each other.
fn least_sum(one: &[f64], other: &[f64]) -> f64 {
    let n = one.len().min(other.len());
    let (one, other) = (&one[..n], &other[..n]);
    let mut least = [f64::INFINITY; LANES];
    let (ones, rest) = one.as_chunks::<LANES>();
    let (others, other_rest) = other.as_chunks::<LANES>();
    for (a, b) in ones.iter().zip(others) {
        for lane in 0..LANES {
            let sum = a[lane] + b[lane];
            least[lane] = if sum < least[lane] { sum } else { least[lane] };
        }
    }
    let all = rest.iter().zip(other_rest).map(|(a, b)| a + b).chain(least);
    all.fold(f64::INFINITY, f64::min)
}
