//! Which causes may be there together, one by one: every single one, every pair, and the likeliest threes.
//!
//! The exact chances of each cause come from the whole network; what may be done next is weighed on this list, which
//! leaves out only what is a thousand times rarer.

use super::{exact::Life, findings::Situation};
use std::collections::BTreeMap;

/// Causes that are told apart; the rest are too unlikely to plan for.
const MOST_CAUSES: usize = 48;
/// Causes less likely than this are not planned for.
const LEAST_CAUSE: f64 = 1e-5;
/// Combinations of three are made of so many of the likeliest.
const OF_THREES: usize = 6;
/// So many combinations are kept.
const MOST_SETS: usize = 48;
/// Combinations this much rarer than all together are dropped.
const LEAST_SET: f64 = 1e-4;

/// Combinations of causes that are there now, and how likely each is; the chances add up to 1.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Hypotheses {
    /// The causes, by their place in the situation; bit n of a set is the n-th of these.
    pub(crate) causes: Vec<usize>,
    pub(crate) sets: Vec<u64>,
    pub(crate) chances: Vec<f64>,
}

impl Hypotheses {
    /// `now`: how likely each cause is, to choose those that count.
    pub(crate) fn of(situation: &Situation, now: &[f64]) -> Self {
        let causes = candidates(situation, now);
        let lives: Vec<Life> = causes.iter().map(|&cause| Life::of(situation, cause)).collect();
        let mut items = Vec::new();
        for (place, life) in lives.iter().enumerate() {
            items.extend((1..life.n_states()).map(|state| (place, state)));
        }
        let mut lister = Lister { situation, causes: &causes, lives: &lives, found: BTreeMap::new() };
        let mut singles: Vec<(f64, (usize, usize))> =
            items.iter().map(|&item| (lister.add(&[item]), item)).collect();
        for (place, &a) in items.iter().enumerate() {
            for &b in items[place + 1..].iter().filter(|b| b.0 != a.0) {
                lister.add(&[a, b]);
            }
        }
        singles.sort_by(|a, b| b.0.total_cmp(&a.0));
        singles.truncate(OF_THREES);
        lister.threes(&singles);
        let found = lister.found;
        Self::from_weights(causes, found)
    }

    fn from_weights(causes: Vec<usize>, found: BTreeMap<u64, f64>) -> Self {
        let total: f64 = found.values().sum();
        let mut kept: Vec<(u64, f64)> =
            found.into_iter().filter(|(_, weight)| *weight > total * LEAST_SET).collect();
        kept.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        kept.truncate(MOST_SETS);
        let mut hypotheses =
            Self { causes, sets: Vec::with_capacity(kept.len()), chances: Vec::with_capacity(kept.len()) };
        for (set, weight) in kept {
            hypotheses.sets.push(set);
            hypotheses.chances.push(weight);
        }
        hypotheses.scale();
        hypotheses
    }

    fn scale(&mut self) {
        let total: f64 = self.chances.iter().sum();
        if total > 0.0 {
            self.chances.iter_mut().for_each(|chance| *chance /= total);
        }
    }

    /// The chance of each cause by itself, by its place in the situation.
    pub(crate) fn marginals(&self, n: usize) -> Vec<f64> {
        let mut found = vec![0.0; n];
        for (set, chance) in self.sets.iter().zip(&self.chances) {
            for (bit, &cause) in self.causes.iter().enumerate() {
                if set >> bit & 1 == 1 {
                    found[cause] += chance;
                }
            }
        }
        found
    }

    /// The last remedy did it: weighs each combination with the chance of that, and leaves in it what was cured.
    pub(crate) fn given_fixed(&mut self, situation: &Situation, cures: &[(usize, f64)]) {
        let mut found = BTreeMap::new();
        for (&set, &chance) in self.sets.iter().zip(&self.chances) {
            for (left, part) in self.after(set, cures) {
                let gone = 1.0 - self.still_there(situation, set, left);
                *found.entry(set & !left).or_insert(0.0) += chance * part * gone;
            }
        }
        *self = Self::from_weights(std::mem::take(&mut self.causes), found);
    }

    /// What a remedy leaves of a combination, and how likely.
    pub(crate) fn after(&self, set: u64, cures: &[(usize, f64)]) -> Vec<(u64, f64)> {
        let mut found = vec![(set, 1.0)];
        for &(cause, success) in cures {
            let Some(bit) = self.causes.iter().position(|&of| of == cause) else { continue };
            if set >> bit & 1 == 1 {
                found = found
                    .into_iter()
                    .flat_map(|(left, part)| {
                        [(left & !(1 << bit), part * success), (left, part * (1.0 - success))]
                    })
                    .filter(|(_, part)| *part > 0.0)
                    .collect();
            }
        }
        found
    }

    /// The chance that a symptom is still there when of these causes only those are left: what one of them brought
    /// about, it keeps up for as long as it is there.
    pub(crate) fn still_there(&self, situation: &Situation, before: u64, left: u64) -> f64 {
        let quiet = |symptom: &[(usize, f64)], set: u64| -> f64 {
            let fires = |(cause, strength): &(usize, f64)| {
                let bit = self.causes.iter().position(|of| of == cause);
                bit.filter(|bit| set >> bit & 1 == 1).map_or(1.0, |_| 1.0 - strength)
            };
            symptom.iter().map(fires).product()
        };
        let gone: f64 = situation
            .symptoms
            .iter()
            .map(|symptom| {
                let (was, is) = (quiet(symptom, before), quiet(symptom, left));
                if was >= 1.0 { 1.0 } else { (is - was) / (1.0 - was) }
            })
            .product();
        1.0 - gone
    }
}

/// The causes of the symptoms that are likely enough to plan for, the likeliest first.
fn candidates(situation: &Situation, now: &[f64]) -> Vec<usize> {
    let mut causes: Vec<usize> = situation.symptoms.iter().flatten().map(|link| link.0).collect();
    causes.sort_unstable();
    causes.dedup();
    let most = causes.iter().map(|&cause| now[cause]).fold(0.0, f64::max);
    causes.retain(|&cause| now[cause] >= most * LEAST_CAUSE);
    causes.sort_by(|&a, &b| now[b].total_cmp(&now[a]).then(a.cmp(&b)));
    causes.truncate(MOST_CAUSES);
    causes
}

struct Lister<'a> {
    situation: &'a Situation,
    causes: &'a [usize],
    lives: &'a [Life],
    found: BTreeMap<u64, f64>,
}

impl Lister<'_> {
    /// Adds one combination of causes in given states to what is there now; returns its weight.
    fn add(&mut self, items: &[(usize, usize)]) -> f64 {
        let odds: f64 = items
            .iter()
            .map(|&(place, state)| self.lives[place].chances[state] / self.lives[place].chances[0])
            .product();
        if odds <= 0.0 {
            return 0.0;
        }
        let mut weight = odds;
        for finding in &self.situation.findings {
            weight *= finding.likelihood(|cause| {
                items.iter().any(|&(place, state)| {
                    self.causes[place] == cause && self.lives[place].there(state, finding.time)
                })
            });
        }
        let there = |&&(place, state): &&(usize, usize)| state + 1 == self.lives[place].n_states();
        let now = items.iter().filter(there).fold(0, |set, &(place, _)| set | 1 << place);
        if weight > 0.0 {
            *self.found.entry(now).or_insert(0.0) += weight;
        }
        weight
    }

    fn threes(&mut self, singles: &[(f64, (usize, usize))]) {
        for (a, &(_, first)) in singles.iter().enumerate() {
            for (b, &(_, second)) in singles.iter().enumerate().skip(a + 1) {
                for &(_, third) in &singles[b + 1..] {
                    if first.0 != second.0 && second.0 != third.0 && first.0 != third.0 {
                        self.add(&[first, second, third]);
                    }
                }
            }
        }
    }
}
