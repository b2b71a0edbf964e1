//! What a case would still cost somebody who were told which causes are there: less than any plan can.

use super::{
    machine::Stand,
    problem::{Problem, What},
    search::Node,
};
use crate::model::MachineState;
use std::collections::HashMap;

/// Prices of combinations, once it is told which of them it is.
///
/// # Method
/// For one cause the cheapest plan tries its remedies in the order of chance over cost, for as long as that is worth
/// the call; for several at once each remedy may be tried again and again, with luck of its own each time, which no
/// real plan is better than. What was done already is not done again.
pub(super) struct ToldPrices<'a> {
    problem: &'a Problem,
    remedies: Vec<usize>,
    known: HashMap<(Stand, u64), usize>,
    prices: Vec<Vec<f64>>,
    /// Combinations, those with the fewest causes first.
    rising: Vec<usize>,
}

impl<'a> ToldPrices<'a> {
    pub(super) fn new(problem: &'a Problem) -> Self {
        let is_remedy = |act: &usize| matches!(problem.acts[*act].what, What::Remedy { .. });
        let remedies = (0..problem.acts.len()).filter(is_remedy).collect();
        let sets = &problem.hypotheses.sets;
        let mut rising: Vec<usize> = (0..sets.len()).collect();
        rising.sort_by_key(|&place| sets[place].count_ones());
        Self { problem, remedies, known: HashMap::new(), prices: Vec::new(), rising }
    }

    /// The least that any plan costs from a state on, weighed with the chance to come there.
    pub(super) fn price(&mut self, node: &Node) -> f64 {
        node.chances.iter().zip(self.prices(node)).map(|(chance, price)| chance * price).sum()
    }

    /// The same for each combination by itself, if it were told to be it.
    pub(super) fn prices(&mut self, node: &Node) -> &[f64] {
        let tried = self.remedies.iter().enumerate().filter(|(_, act)| node.is_done(**act));
        let tried = tried.fold(0, |tried, (bit, _)| tried | 1_u64 << bit);
        let place = self.at_stand(node.stand, tried);
        &self.prices[place]
    }

    /// The prices from a stand: the first remedy from there, the rest from the test that follows it.
    fn at_stand(&mut self, stand: Stand, tried: u64) -> usize {
        if let Some(&place) = self.known.get(&(stand, tried)) {
            return place;
        }
        let running = Stand { state: MachineState::Running, open: 0 };
        let prices = if stand == running {
            self.while_running(tried)
        } else {
            let mut prices = vec![self.problem.give_up; self.problem.hypotheses.sets.len()];
            for (bit, act) in self.open(tried).collect::<Vec<_>>() {
                let rest = self.at_stand(running, tried | 1 << bit);
                let (cost, moves) = self.remedy(act, stand);
                let mut after = vec![cost; prices.len()];
                for &(from, to, part) in moves {
                    after[from as usize] += part * self.prices[rest][to as usize];
                }
                prices.iter_mut().zip(after).for_each(|(price, after)| *price = price.min(after));
            }
            prices
        };
        self.prices.push(prices);
        self.known.insert((stand, tried), self.prices.len() - 1);
        self.prices.len() - 1
    }

    fn while_running(&self, tried: u64) -> Vec<f64> {
        let problem = self.problem;
        let running = Stand { state: MachineState::Running, open: 0 };
        let mut prices = vec![problem.give_up; problem.hypotheses.sets.len()];
        let remedies: Vec<_> =
            self.open(tried).map(|(_, act)| (self.remedy(act, running), self.fixed(act))).collect();
        for &set in &self.rising {
            if problem.hypotheses.sets[set].is_power_of_two() {
                let cures = remedies.iter().map(|((cost, _), fixed)| (*cost, fixed[set]));
                prices[set] = in_order(cures.collect(), problem.give_up);
                continue;
            }
            for ((cost, moves), _) in &remedies {
                let (mut rest, mut again) = (*cost, 0.0);
                for &(_, to, part) in moves.iter().filter(|one| one.0 as usize == set) {
                    if to as usize == set {
                        again += part;
                    } else {
                        rest += part * prices[to as usize];
                    }
                }
                if again < 1.0 {
                    prices[set] = prices[set].min(rest / (1.0 - again));
                }
            }
        }
        prices
    }

    /// The remedies that were not tried, each with its bit.
    fn open(&self, tried: u64) -> impl Iterator<Item = (usize, usize)> {
        self.remedies.iter().copied().enumerate().filter(move |(bit, _)| tried >> bit & 1 == 0)
    }

    fn remedy(&self, act: usize, stand: Stand) -> (f64, &[(u32, u32, f64)]) {
        let act = &self.problem.acts[act];
        let (work, then) = self.problem.ways.work(stand, act.need);
        let (test, _) = self.problem.ways.test(then);
        match &act.what {
            What::Remedy { moves, .. } => (work + test, moves),
            What::Check { .. } => unreachable!("only remedies are listed"),
        }
    }

    fn fixed(&self, act: usize) -> &[f64] {
        match &self.problem.acts[act].what {
            What::Remedy { fixed, .. } => fixed,
            What::Check { .. } => unreachable!("only remedies are listed"),
        }
    }
}

/// The cheapest plan for one cause: its remedies by chance over cost, those left out that are not worth it.
fn in_order(mut cures: Vec<(f64, f64)>, give_up: f64) -> f64 {
    cures.retain(|(_, chance)| *chance > 0.0);
    cures.sort_by(|a, b| (a.1 / a.0).total_cmp(&(b.1 / b.0)));
    cures.iter().fold(give_up, |rest, (cost, chance)| rest.min(cost + (1.0 - chance) * rest))
}
