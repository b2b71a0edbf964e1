//! From a network to an order of elimination: the moral graph, and which variable to take out next.

use crate::network::Network;

/// An undirected graph, one row of bits for each node.
#[derive(Debug, Clone)]
pub(super) struct Graph {
    n: usize,
    words: usize,
    bits: Vec<u64>,
}

impl Graph {
    fn empty(n: usize) -> Self {
        let words = n.div_ceil(64);
        Self { n, words, bits: vec![0; n * words] }
    }

    /// Every variable is joined with its parents, and the parents of one variable with each other.
    pub(super) fn moral(network: &Network) -> Self {
        let mut graph = Self::empty(network.variables().len());
        for (child, variable) in network.variables().iter().enumerate() {
            let family: Vec<usize> =
                variable.parents().iter().map(|parent| parent.index()).chain([child]).collect();
            for &a in &family {
                for &b in &family {
                    graph.join(a, b);
                }
            }
        }
        graph
    }

    fn join(&mut self, a: usize, b: usize) {
        if a != b {
            self.bits[a * self.words + b / 64] |= 1 << (b % 64);
            self.bits[b * self.words + a / 64] |= 1 << (a % 64);
        }
    }

    fn row(&self, a: usize) -> &[u64] {
        &self.bits[a * self.words..(a + 1) * self.words]
    }

    fn neighbours(&self, a: usize) -> Vec<usize> {
        ones(self.row(a))
    }

    /// For a node, the pairs of its neighbours that are not joined, each pair seen from one side at a time.
    fn missing(&self, a: usize) -> Vec<(usize, usize)> {
        let neighbours = self.neighbours(a);
        let mut pairs = Vec::new();
        for (place, &b) in neighbours.iter().enumerate() {
            let row = self.row(b);
            let apart = |c: &&usize| row[**c / 64] >> (**c % 64) & 1 == 0;
            pairs.extend(neighbours[place + 1..].iter().filter(apart).map(|&c| (b, c)));
        }
        pairs
    }

    fn take_out(&mut self, a: usize) {
        for b in self.neighbours(a) {
            self.bits[b * self.words + a / 64] &= !(1 << (a % 64));
        }
        self.bits[a * self.words..(a + 1) * self.words].fill(0);
    }
}

fn ones(row: &[u64]) -> Vec<usize> {
    let mut found = Vec::new();
    for (place, &word) in row.iter().enumerate() {
        let mut word = word;
        while word != 0 {
            found.push(place * 64 + word.trailing_zeros() as usize);
            word &= word - 1;
        }
    }
    found
}

/// What the next variable to take out should have least of; no rule is best on every network.
#[derive(Debug, Clone, Copy)]
pub(super) enum Rule {
    /// New joins.
    Fill,
    /// New joins, each weighed with the states of its two ends.
    WeightedFill,
    /// Joint states of itself and its neighbours.
    States,
    /// Neighbours.
    Degree,
}

pub(super) const RULES: [Rule; 4] = [Rule::Fill, Rule::WeightedFill, Rule::States, Rule::Degree];

impl Rule {
    /// What this rule counts, and what settles a tie.
    fn score(self, graph: &Graph, cards: &[f64], a: usize) -> (f64, f64) {
        let states = || graph.neighbours(a).into_iter().map(|b| cards[b]).product::<f64>() * cards[a];
        match self {
            Self::Fill => (graph.missing(a).len() as f64, states()),
            Self::WeightedFill => {
                (graph.missing(a).into_iter().map(|(b, c)| cards[b] * cards[c]).sum(), states())
            }
            Self::States => (states(), graph.missing(a).len() as f64),
            Self::Degree => (graph.neighbours(a).len() as f64, states()),
        }
    }
}

/// One variable taken out: it, and the neighbours it had then.
pub(super) struct Eliminated {
    pub(super) node: usize,
    pub(super) rest: Vec<usize>,
}

/// Takes all variables out by a rule; returns the order, and how many joint states all cliques have together.
pub(super) fn eliminate(mut graph: Graph, cards: &[f64], rule: Rule) -> (Vec<Eliminated>, f64) {
    let mut scores: Vec<Option<(f64, f64)>> =
        (0..graph.n).map(|a| Some(rule.score(&graph, cards, a))).collect();
    let mut order = Vec::with_capacity(graph.n);
    let mut total = 0.0;
    while let Some(node) = least(&scores) {
        let rest = graph.neighbours(node);
        let fill = graph.missing(node);
        graph.take_out(node);
        for &(b, c) in &fill {
            graph.join(b, c);
        }
        total += rest.iter().map(|&b| cards[b]).product::<f64>() * cards[node];
        scores[node] = None;
        for changed in touched(&graph, &rest, fill.is_empty()) {
            if scores[changed].is_some() {
                scores[changed] = Some(rule.score(&graph, cards, changed));
            }
        }
        order.push(Eliminated { node, rest });
    }
    (order, total)
}

fn least(scores: &[Option<(f64, f64)>]) -> Option<usize> {
    let known = scores.iter().enumerate().filter_map(|(node, score)| score.map(|score| (node, score)));
    known.min_by(|(_, a), (_, b)| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))).map(|(node, _)| node)
}

/// The nodes whose score may have changed: the neighbours and, when joins were added, theirs.
fn touched(graph: &Graph, rest: &[usize], no_fill: bool) -> Vec<usize> {
    if no_fill {
        return rest.to_vec();
    }
    let mut bits = vec![0u64; graph.words];
    for &b in rest {
        bits[b / 64] |= 1 << (b % 64);
        for (word, row) in bits.iter_mut().zip(graph.row(b)) {
            *word |= row;
        }
    }
    ones(&bits)
}
