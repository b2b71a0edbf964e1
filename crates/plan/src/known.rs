//! Beginnings of the diary side by side, each found by the stands that it leaves the machines in.

use rustc_hash::FxHasher;
use std::hash::Hasher;

/// The beginnings that have come to one step.
pub(crate) struct Beginnings {
    /// Stands of each beginning.
    n: usize,
    stands: Vec<u32>,
    cost: Vec<f64>,
    bound: Vec<f64>,
    /// Where each is found: open addresses, twice as many as beginnings at least.
    table: Vec<u32>,
}

const EMPTY: u32 = u32::MAX;

impl Beginnings {
    /// Makes room for beginnings of so many stands.
    pub fn new(n: usize) -> Self {
        Self { n, stands: Vec::new(), cost: Vec::new(), bound: Vec::new(), table: vec![EMPTY; 64] }
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

    fn place(&self, stands: &[u32]) -> usize {
        let mut hasher = FxHasher::default();
        for &stand in stands {
            hasher.write_u32(stand);
        }
        let mask = self.table.len() - 1;
        let mut place = hasher.finish() as usize & mask;
        while self.table[place] != EMPTY && self.stands(self.table[place] as usize) != stands {
            place = (place + 1) & mask;
        }
        place
    }

    /// Adds a beginning, or makes a known one cheaper; returns which and whether it is new, nothing where the known
    /// one is as cheap.
    pub fn add(&mut self, stands: &[u32], cost: f64, bound: f64) -> Option<(usize, bool)> {
        let place = self.place(stands);
        if self.table[place] != EMPTY {
            let known = self.table[place] as usize;
            if cost >= self.cost[known] {
                return None;
            }
            (self.cost[known], self.bound[known]) = (cost, bound);
            return Some((known, false));
        }
        let name = self.len();
        self.table[place] = name as u32;
        self.stands.extend_from_slice(stands);
        self.cost.push(cost);
        self.bound.push(bound);
        if 2 * self.len() > self.table.len() {
            self.index(2 * self.table.len());
        }
        Some((name, true))
    }

    fn index(&mut self, size: usize) {
        self.table = vec![EMPTY; size];
        for at in 0..self.len() {
            let place = self.place(self.stands(at));
            self.table[place] = at as u32;
        }
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
