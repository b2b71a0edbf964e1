//! Every diary that one machine could have, with all its work on it, as a network: from stand to stand, step by step in
//! the order of time.
//!
//! A stand is what a machine has come to: hours since each piece of work was last done, until when that holds, and what
//! it is still away or on the bench for. Diaries that come to the same stand go on together, so the network stays
//! small where the tables of single pieces of work know early what can no longer be part of a better plan.

use crate::dual::Dual;
use crate::problem::Problem;
use crate::stands::Stands;

/// Something in the diary of all.
#[derive(Clone, Copy)]
pub(crate) enum Step {
    Show(usize),
    Slot(usize),
}

/// Lists all showings and slots in the order of time; a slot that begins with a showing comes first.
pub(crate) fn steps(problem: &Problem<'_>) -> Vec<Step> {
    let mut steps: Vec<Step> = (0..problem.shows.len()).map(Step::Show).collect();
    steps.extend((0..problem.benches.len()).map(Step::Slot));
    steps.sort_by_key(|step| match *step {
        Step::Slot(bench) => (problem.benches[bench].starts, 0, bench),
        Step::Show(show) => (problem.shows[show].starts, 1, show),
    });
    steps
}

/// A step of a machine's own diary.
pub(crate) struct Own {
    /// Which of all steps it is.
    pub step: usize,
    pub what: What,
}

/// What it is, and what can be chosen there.
pub(crate) enum What {
    /// A showing, by its place among the machine's: it stays away (0) or runs (1).
    Show(usize),
    /// A slot: one of the sets of work.
    Slot {
        /// Work that may be done there, with the slot's place among the work's.
        offers: Vec<(usize, usize)>,
        sets: Vec<Set>,
    },
}

/// Work that could be done on one machine in one slot.
pub(crate) struct Set {
    /// Places among the offers.
    pub takes: Vec<usize>,
    /// Minutes, preparations counted in.
    pub minutes: i64,
    /// What its preparations cost.
    pub prepared: f64,
}

/// From one stand to one of the next step.
#[derive(Clone, Copy)]
pub(crate) struct Arc {
    pub to: u32,
    pub choice: u32,
    pub cost: f64,
}

/// The stands before one step, each with its arcs.
#[derive(Default)]
pub(crate) struct Layer {
    /// Where each stand's arcs begin; one more at the end.
    pub starts: Vec<u32>,
    pub arcs: Vec<Arc>,
}

impl Layer {
    /// Returns the arcs of a stand.
    pub fn arcs(&self, stand: usize) -> &[Arc] {
        &self.arcs[self.starts[stand] as usize..self.starts[stand + 1] as usize]
    }

    /// Returns how many stands there are.
    pub fn len(&self) -> usize {
        self.starts.len() - 1
    }
}

/// The diaries of a machine, and of all that are like it.
pub(crate) struct Lives {
    /// The first is the one that was looked at.
    pub members: Vec<usize>,
    pub own: Vec<Own>,
    pub layers: Vec<Layer>,
    /// What each last stand leaves over.
    pub left: Vec<f64>,
}

/// What choices at the machine's own steps cost besides.
pub(crate) type Prices = Vec<Vec<f64>>;

impl Lives {
    /// Finds the diaries of like machines that could be part of a plan under `slack` more than the bound, at most so
    /// many stands side by side. Returns them with the slack within which nothing is missing, and by how much the
    /// cheapest of them costs more than the work alone; nothing where too many sets of work could be done in one slot.
    pub fn find(
        dual: &Dual<'_, '_>,
        tables: &[Vec<f64>],
        members: Vec<usize>,
        slack: f64,
        most: usize,
    ) -> Option<(Self, f64, f64)> {
        let stands = Stands::new(dual, tables, members[0])?;
        let (own, layers, left, prices, least, kept) = stands.follow(slack, most);
        let mut lives = Self { members, own, layers, left };
        let gain = lives.thin(&prices, kept) - least;
        Some((lives, kept, gain))
    }

    /// Returns the least cost from each stand of each step to the end.
    pub fn rest(&self, prices: &Prices) -> Vec<Vec<f64>> {
        let mut rest: Vec<Vec<f64>> = Vec::with_capacity(self.layers.len() + 1);
        rest.push(self.left.clone());
        for (layer, prices) in self.layers.iter().zip(prices).rev() {
            let after = rest.last().expect("the end is there");
            let least = |stand: usize| {
                let cost = |arc: &Arc| arc.cost + prices[arc.choice as usize] + after[arc.to as usize];
                layer.arcs(stand).iter().map(cost).fold(f64::INFINITY, f64::min)
            };
            let row = (0..layer.len()).map(least).collect();
            rest.push(row);
        }
        rest.reverse();
        rest
    }

    /// Returns what is chosen at each step on the cheapest way.
    pub fn cheapest(&self, prices: &Prices, rest: &[Vec<f64>]) -> Vec<usize> {
        let mut stand = 0;
        let mut choices = Vec::with_capacity(self.layers.len());
        for (at, layer) in self.layers.iter().enumerate() {
            let cost = |arc: &Arc| arc.cost + prices[at][arc.choice as usize] + rest[at + 1][arc.to as usize];
            let best = layer.arcs(stand).iter().min_by(|a, b| cost(a).total_cmp(&cost(b)));
            let Some(best) = best else { return choices };
            choices.push(best.choice as usize);
            stand = best.to as usize;
        }
        choices
    }

    /// Takes out what no diary within `slack` of the cheapest comes by; returns what the cheapest costs.
    pub fn thin(&mut self, prices: &Prices, slack: f64) -> f64 {
        let rest = self.rest(prices);
        let least = rest[0].first().copied().unwrap_or(f64::INFINITY);
        let most = least + slack;
        let mut spent: Vec<f64> = vec![0.0];
        let mut names: Vec<u32> = vec![0];
        for (at, layer) in self.layers.iter_mut().enumerate() {
            let mut after = vec![f64::INFINITY; rest[at + 1].len()];
            let mut kept: Vec<(u32, Arc)> = Vec::with_capacity(layer.arcs.len());
            for (stand, &spent) in spent.iter().enumerate().filter(|it| it.1.is_finite()) {
                for arc in layer.arcs(stand) {
                    let cost = spent + arc.cost + prices[at][arc.choice as usize];
                    let whole = cost + rest[at + 1][arc.to as usize];
                    if whole.is_finite() && whole <= most {
                        kept.push((names[stand], *arc));
                        after[arc.to as usize] = after[arc.to as usize].min(cost);
                    }
                }
            }
            let mut next = 0;
            let renamed: Vec<u32> = after
                .iter()
                .map(|spent| {
                    next += u32::from(spent.is_finite());
                    if spent.is_finite() { next - 1 } else { u32::MAX }
                })
                .collect();
            let count = names.iter().filter(|&&name| name != u32::MAX).count();
            layer.starts = vec![0; count + 1];
            for (name, _) in &kept {
                layer.starts[*name as usize + 1] += 1;
            }
            for stand in 0..count {
                layer.starts[stand + 1] += layer.starts[stand];
            }
            let to = |arc: Arc| Arc { to: renamed[arc.to as usize], ..arc };
            layer.arcs = kept.into_iter().map(|(_, arc)| to(arc)).collect();
            (spent, names) = (after, renamed);
        }
        let mut names = names.iter();
        self.left.retain(|_| names.next().is_some_and(|&name| name != u32::MAX));
        least
    }

    /// Returns whether no diary is left.
    pub fn none(&self) -> bool {
        self.left.is_empty()
    }
}
