//! The exact optimum, by trying everything: for small models, to measure the advice against.

use super::{
    answer::{Do, Outcome, advise},
    machine::Stand,
    problem::{Near, Problem, What},
    search::{Node, Reached, outcomes},
    setting::Setting,
    work_cost::stand_after,
};
use crate::{
    case::{Answer, Case, Reply, Settled, Tried},
    model::TroubleModel,
};
use std::collections::HashMap;

/// At most so many states are looked at before the search is given up.
const MOST_STATES: usize = 2_000_000;
/// States less likely than this are priced with giving up: it cannot matter.
const NOTHING: f64 = 1e-9;

/// The cheapest plan of all.
#[derive(Debug, Clone, PartialEq)]
pub struct Optimum {
    /// What the case is expected to cost, in minutes of an operator's time after the show.
    pub expected: f64,
    /// The first step of the cheapest plan; none: give up at once.
    pub first: Option<Do>,
    /// How many states were looked at.
    pub states: usize,
}

/// Returns the optimum over all plans by dynamic programming over everything that may have been done and answered, or
/// none where that is too much.
///
/// As in the advice, nothing is done twice, each remedy is tested at once, and the case may be passed on at any time.
pub fn exact_optimum(model: &TroubleModel, case: &Case, setting: &Setting) -> Option<Optimum> {
    let settled = Settled::of(model, case, setting.slip);
    let (_, stand) = stand_after(model, &case.answers, setting);
    let problem = Problem::of(model, &settled, setting, stand, Near::AsAllowed);
    let mut exhaustive = Exhaustive { problem: &problem, memo: HashMap::new(), cheapest: cheapest(&problem) };
    let (expected, first) = exhaustive.best(&Node::start(&problem))?;
    let name = |act: usize| match &problem.acts[act].what {
        What::Check { check, .. } => Do::Check(model.checks()[*check].id.clone()),
        What::Remedy { remedy, .. } => Do::Remedy(model.remedies()[*remedy].id.clone()),
    };
    Some(Optimum { expected, first: first.map(name), states: exhaustive.memo.len() })
}

/// For each combination the least that can end it: its cheapest remedy, all prepared, or giving up.
fn cheapest(problem: &Problem) -> Vec<f64> {
    let mut least = vec![problem.give_up; problem.hypotheses.sets.len()];
    for act in &problem.acts {
        if let What::Remedy { fixed, .. } = &act.what {
            let state = act.need.state.unwrap_or(problem.stand.state);
            let (cost, _) = problem.ways.work(Stand { state, open: act.need.access }, act.need);
            for (least, fixed) in least.iter_mut().zip(fixed) {
                if *fixed > 0.0 {
                    *least = least.min(cost);
                }
            }
        }
    }
    least
}

struct Exhaustive<'a> {
    problem: &'a Problem,
    memo: HashMap<Reached, f64>,
    cheapest: Vec<f64>,
}

impl Exhaustive<'_> {
    /// The price of a state and the step to take; none where it was too much.
    fn best(&mut self, node: &Node) -> Option<(f64, Option<usize>)> {
        let total = node.total();
        let mut best = (total * self.problem.give_up, None);
        if total < NOTHING {
            return Some(best);
        }
        for act in 0..self.problem.acts.len() {
            if node.is_done(act) {
                continue;
            }
            let (cost, next) = outcomes(self.problem, node, act);
            let least: f64 = next.iter().map(|node| self.least(node)).sum();
            let mut price = cost * total + least;
            for node in &next {
                // A branch that cannot win any more is left, with the bound for a price.
                if price >= best.0 {
                    break;
                }
                price += self.price(node)? - self.least(node);
            }
            if price < best.0 {
                best = (price, Some(act));
            }
        }
        Some(best)
    }

    fn price(&mut self, node: &Node) -> Option<f64> {
        let key = node.reached();
        if let Some(&known) = self.memo.get(&key) {
            return Some(known);
        }
        if self.memo.len() >= MOST_STATES {
            return None;
        }
        let price = self.best(node)?.0;
        self.memo.insert(key, price);
        Some(price)
    }

    /// No plan can cost less than curing each combination outright.
    fn least(&self, node: &Node) -> f64 {
        node.chances.iter().zip(&self.cheapest).map(|(chance, least)| chance * least).sum()
    }
}

/// Returns what it is expected to cost to follow the advice from here to its end, every answer weighed: for
/// comparison with [`exact_optimum`]. None where there are more than `most` states to look at.
pub fn expected_cost(model: &TroubleModel, case: &Case, setting: &Setting, most: usize) -> Option<f64> {
    let mut left = most;
    follow(model, case, setting, 1.0, &mut left)
}

fn follow(
    model: &TroubleModel,
    case: &Case,
    setting: &Setting,
    reached: f64,
    left: &mut usize,
) -> Option<f64> {
    *left = left.checked_sub(1)?;
    let advice = advise(model, case, setting);
    let step = match &advice.outcome {
        Outcome::Closed { .. } => return Some(0.0),
        Outcome::Next(step) if reached > NOTHING * 1e3 => step,
        _ => return Some(setting.costs.give_up),
    };
    let mut cost = step.cost;
    for may in &step.may {
        let ends = matches!(may.answer, Answer::Tried { result: Tried::Fixed, .. });
        let counts = matches!(
            may.answer,
            Answer::Checked { reply: Reply::Yes | Reply::No, .. }
                | Answer::Tried { result: Tried::NotFixed, .. }
        );
        let chance = may.chance.value();
        if !ends && counts && chance > 0.0 {
            cost += chance * follow(model, &case.with(may.answer.clone()), setting, reached * chance, left)?;
        }
    }
    Some(cost)
}
