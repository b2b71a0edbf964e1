//! Beginnings of the diary side by side, each found by the stands that it leaves the machines in.

use hashbrown::HashTable;
use rustc_hash::FxHasher;
use std::hash::Hasher;

/// The beginnings that have come to one step.
pub(crate) struct Beginnings {
    /// Stands of each beginning.
    n: usize,
    stands: Vec<u32>,
    cost: Vec<f64>,
    bound: Vec<f64>,
    /// Each by its stands.
    table: HashTable<usize>,
}

fn hash(stands: &[u32]) -> u64 {
    let mut hasher = FxHasher::default();
    for &stand in stands {
        hasher.write_u32(stand);
    }
    hasher.finish()
}

impl Beginnings {
    /// Makes room for beginnings of so many stands.
    pub fn new(n: usize) -> Self {
        Self { n, stands: Vec::new(), cost: Vec::new(), bound: Vec::new(), table: HashTable::new() }
    }

    pub fn len(&self) -> usize {
        self.cost.len()
    }

    pub fn cost(&self, at: usize) -> f64 {
        self.cost[at]
    }

    pub fn bound(&self, at: usize) -> f64 {
        self.bound[at]
    }

    pub fn stands(&self, at: usize) -> &[u32] {
        &self.stands[at * self.n..(at + 1) * self.n]
    }

    /// Adds a beginning, or makes a known one cheaper; returns which and whether it is new, nothing where the known
    /// one is as cheap.
    pub fn add(&mut self, stands: &[u32], cost: f64, bound: f64) -> Option<(usize, bool)> {
        let its = hash(stands);
        let same = |&at: &usize| self.stands(at) == stands;
        if let Some(&known) = self.table.find(its, same) {
            if cost >= self.cost[known] {
                return None;
            }
            (self.cost[known], self.bound[known]) = (cost, bound);
            return Some((known, false));
        }
        let name = self.len();
        self.stands.extend_from_slice(stands);
        self.cost.push(cost);
        self.bound.push(bound);
        let (n, all) = (self.n, &self.stands);
        self.table.insert_unique(its, name, |&at| hash(&all[at * n..(at + 1) * n]));
        Some((name, true))
    }

    /// Keeps the `most` with the least bounds. Returns which these were, and the least bound of the others; nothing
    /// where there are no more.
    pub fn narrow(&mut self, most: usize) -> Option<(Vec<usize>, f64)> {
        if self.len() <= most {
            return None;
        }
        let mut order: Vec<usize> = (0..self.len()).collect();
        let by = |a: &usize, b: &usize| self.bound[*a].total_cmp(&self.bound[*b]).then(a.cmp(b));
        let (_, &mut next, _) = order.select_nth_unstable_by(most, by);
        let least = self.bound[next];
        order.truncate(most);
        order.sort_unstable();
        let mut kept = Self::new(self.n);
        for &at in &order {
            kept.stands.extend_from_slice(self.stands(at));
            kept.cost.push(self.cost[at]);
            kept.bound.push(self.bound[at]);
        }
        *self = kept;
        Some((order, least))
    }
}
