//! What it costs at least to tell two combinations apart: a bound from below that gives less away than telling all.
//!
//! # Method
//! Whoever is told in which of several groups the truth lies can do no worse than before. So the best plan costs at
//! least the sum of what each group costs by itself, each weighed with its chance; with groups of one that is the price
//! of being told everything. Here the likeliest single causes are put into pairs, those first for which the second
//! cause costs the most beside what telling would.
//!
//! A chance may also be spread over several pairs; of the two ways the better counts.
//!
//! What a pair costs is concave in how its chance is shared between the two, for a plan's cost is linear in it and the
//! best plan is the least of all. So a straight line between bounds at two shares is a bound between them.

use super::{bounds::closed_in, machine::Stand, problem::Problem, search::Node};
use std::collections::HashMap;

/// The shares of the second of a pair at which its bound is worked out.
const SHARES: [f64; 15] =
    [0.0, 0.01, 0.03, 0.08, 0.16, 0.26, 0.38, 0.5, 0.62, 0.74, 0.84, 0.92, 0.97, 0.99, 1.0];
/// Of these, the places at which a chance that is spread over several pairs is shared.
const EVENLY: [usize; 3] = [5, 7, 9];
/// So many states are looked into for one of them.
const LOOKS: usize = 200;
/// So many single causes are put into pairs, the likeliest.
const MOST_PAIRED: usize = 14;

/// Prices of pairs, from below.
pub(super) struct PairPrices<'a> {
    problem: &'a Problem,
    known: HashMap<(usize, usize, Stand, u64, usize), f64>,
    /// For each pair, a bit for each act that tells the two apart or may cure one of them.
    bearing: HashMap<(usize, usize), u64>,
}

impl<'a> PairPrices<'a> {
    pub(super) fn new(problem: &'a Problem) -> Self {
        Self { problem, known: HashMap::new(), bearing: HashMap::new() }
    }

    /// What pairing adds to the price of a state, where each combination costs as told.
    pub(super) fn adds(&mut self, node: &Node, told: &[f64]) -> f64 {
        let is_single = |place: &usize| self.problem.hypotheses.sets[*place].is_power_of_two();
        let least = node.total() * 1e-4;
        let mut singles: Vec<usize> =
            (0..node.chances.len()).filter(|&place| node.chances[place] > least).filter(is_single).collect();
        singles.sort_by(|&a, &b| node.chances[b].total_cmp(&node.chances[a]));
        singles.truncate(MOST_PAIRED);
        let mut gains = Vec::new();
        let mut shared = Vec::new();
        for (at, &one) in singles.iter().enumerate() {
            for &other in &singles[at + 1..] {
                // Always in the same order, so that a pair is known again.
                let (one, other) = (one.min(other), one.max(other));
                let of_told = node.chances[one] * told[one] + node.chances[other] * told[other];
                let gain = self.price(node, one, other) - of_told;
                if gain <= 0.0 {
                    continue;
                }
                gains.push((gain, one, other));
                let done = self.done(node, one, other);
                for place in EVENLY {
                    let share = SHARES[place];
                    let of_told = (1.0 - share) * told[one] + share * told[other];
                    let gain = self.at((one, other, node.stand, done, place)) - of_told;
                    shared.push(Shared { gain, one, of_one: 1.0 - share, other, of_other: share });
                }
            }
        }
        matched(gains).max(spread(shared, &node.chances))
    }

    /// The least that two combinations cost together at their chances.
    fn price(&mut self, node: &Node, one: usize, other: usize) -> f64 {
        let (x, y) = (node.chances[one], node.chances[other]);
        let share = y / (x + y);
        let above = SHARES.iter().position(|&at| at >= share).unwrap_or(SHARES.len() - 1).max(1);
        let (low, high) = (SHARES[above - 1], SHARES[above]);
        let part = ((share - low) / (high - low)).clamp(0.0, 1.0);
        let done = self.done(node, one, other);
        let at_low = self.at((one, other, node.stand, done, above - 1));
        let at_high = self.at((one, other, node.stand, done, above));
        (x + y) * (at_low + part * (at_high - at_low))
    }

    /// What was done of all that bears on a pair.
    fn done(&mut self, node: &Node, one: usize, other: usize) -> u64 {
        let acts = &self.problem.acts;
        let bits = |wanted: &dyn Fn(usize) -> bool| {
            (0..acts.len()).filter(|&act| wanted(act)).fold(0, |bits, act| bits | 1_u64 << act)
        };
        let bearing = self
            .bearing
            .entry((one, other))
            .or_insert_with(|| bits(&|act| acts[act].bears_on(&[one, other])));
        *bearing & bits(&|act| node.is_done(act))
    }

    fn at(&mut self, key: (usize, usize, Stand, u64, usize)) -> f64 {
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let (one, other, stand, done, place) = key;
        let share = SHARES[place];
        let part =
            self.problem.only(&[one, other], vec![1.0 - share, share], stand, |act| done >> act & 1 == 1);
        let price = part.map_or(0.0, |part| closed_in(&part, LOOKS).at_least);
        self.known.insert(key, price);
        price
    }
}

/// A pair at one of the ways in which it may be shared, and what it adds for each whole that it uses up.
struct Shared {
    gain: f64,
    one: usize,
    of_one: f64,
    other: usize,
    of_other: f64,
}

/// Puts each combination into one pair, the pairs that add most first.
fn matched(mut gains: Vec<(f64, usize, usize)>) -> f64 {
    gains.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (mut taken, mut sum) = (0_u64, 0.0);
    for (gain, one, other) in gains {
        let both = 1_u64 << (one % 64) | 1 << (other % 64);
        if taken & both == 0 {
            taken |= both;
            sum += gain;
        }
    }
    sum
}

/// Spreads the chance of each combination over several pairs, each shared in one of a few ways, those first that add
/// most for the chance that they use up.
fn spread(mut shared: Vec<Shared>, chances: &[f64]) -> f64 {
    shared.retain(|pair| pair.gain > 0.0);
    shared.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    let (mut left, mut sum) = (chances.to_vec(), 0.0);
    for Shared { gain, one, of_one, other, of_other } in shared {
        let uses = (left[one] / of_one).min(left[other] / of_other);
        left[one] -= uses * of_one;
        left[other] -= uses * of_other;
        sum += uses * gain;
    }
    sum
}
