//! Between which two prices the best of all plans lies, where there are too many plans to try them all.
//!
//! # Method
//! Each state of a case has a price from below (whoever were told there which causes it is could not do it for less)
//! and one from above (the simple plan). From the beginning on, the step that could be the cheapest by the prices from
//! below is followed to the answer where the two prices lie farthest apart; the state at the end is looked into, and
//! the prices on the way are brought up to date: the cheapest step, over its answers. A step whose price from below is
//! not under the state's price from above is dropped. So the two prices of the beginning close in on the optimum, and
//! meet there if they are given the time.
//!
//! # Reference
//! McMahan, Likhachev and Gordon, "Bounded real-time dynamic programming", ICML 2005: from memory.

use super::{
    apart::PairPrices,
    problem::{Near, Problem},
    search::{Node, Reached, Search, outcomes},
    setting::Setting,
    told::ToldPrices,
    work_cost::stand_after,
};
use crate::{
    case::{Case, Settled},
    model::TroubleModel,
};
use serde::Serialize;
use std::collections::HashMap;

/// Prices this near to each other, as a share, have met.
const MET: f64 = 0.002;

/// What the best of all plans costs at least and at most, in minutes of an operator's time after the show.
///
/// A plan may do every step that its operator is allowed, once, tests each remedy at once, and may pass the case on at
/// any time. Limits for the sake of safety, and the duty to try what may still help, are not counted: they can only
/// make it dearer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bounds {
    /// What it would cost somebody who were told the causes at the beginning.
    pub told: f64,
    /// No plan is expected to cost less.
    pub at_least: f64,
    /// There is a plan that is expected to cost no more.
    pub at_most: f64,
    /// How many states were looked into.
    pub looks: usize,
}

impl Bounds {
    /// Whether the two prices have met: then they are the exact optimum.
    pub fn is_exact(&self) -> bool {
        self.at_most - self.at_least <= MET * self.at_most
    }
}

/// Returns the bounds of a case, after so many looks at most.
pub fn bounds(model: &TroubleModel, case: &Case, setting: &Setting, most_looks: usize) -> Bounds {
    closed_in(&problem(model, case, setting), most_looks)
}

/// The same, with what it costs to tell two causes apart: slower for each look, and much nearer to the truth.
pub fn bounds_apart(model: &TroubleModel, case: &Case, setting: &Setting, most_looks: usize) -> Bounds {
    Bounding::new(&problem(model, case, setting), true).closes_in(most_looks)
}

fn problem(model: &TroubleModel, case: &Case, setting: &Setting) -> Problem {
    let settled = Settled::of(model, case, setting.slip);
    let (_, stand) = stand_after(model, &case.answers, setting);
    Problem::of(model, &settled, setting, stand, Near::AsAllowed)
}

/// The bounds of a problem without the help of pairs.
pub(super) fn closed_in(problem: &Problem, most_looks: usize) -> Bounds {
    Bounding::new(problem, false).closes_in(most_looks)
}

struct State {
    node: Node,
    low: f64,
    high: f64,
    /// The steps that may still be the best; none before the state is looked into.
    steps: Option<Vec<Step>>,
}

struct Step {
    act: usize,
    /// What it costs, weighed with the chance to come here.
    cost: f64,
    low: f64,
    /// The states that it may lead to; empty before it is followed.
    next: Vec<usize>,
}

struct Bounding<'a> {
    problem: &'a Problem,
    told: ToldPrices<'a>,
    pairs: Option<PairPrices<'a>>,
    simple: Search<'a>,
    states: Vec<State>,
    known: HashMap<Reached, usize>,
}

impl<'a> Bounding<'a> {
    fn new(problem: &'a Problem, with_pairs: bool) -> Self {
        Self {
            problem,
            told: ToldPrices::new(problem),
            pairs: with_pairs.then(|| PairPrices::new(problem)),
            simple: Search::new(problem, f64::INFINITY),
            states: Vec::new(),
            known: HashMap::new(),
        }
    }

    /// Follows the most promising plans until the prices of the beginning meet.
    fn closes_in(mut self, most_looks: usize) -> Bounds {
        let node = Node::start(self.problem);
        let told = self.told.price(&node);
        let start = self.enter(node);
        let mut looks = 0;
        while looks < most_looks && !self.has_met(start, MET) {
            self.follow(start);
            looks += 1;
        }
        let start = &self.states[start];
        Bounds { told, at_least: start.low, at_most: start.high, looks }
    }

    fn enter(&mut self, node: Node) -> usize {
        let key = node.reached();
        if let Some(&place) = self.known.get(&key) {
            return place;
        }
        let mut low = self.told.price(&node);
        if let Some(pairs) = &mut self.pairs {
            low += pairs.adds(&node, self.told.prices(&node));
        }
        let low = low.min(node.total() * self.problem.give_up);
        let high = self.simple.simple_plan(&node).max(low);
        self.states.push(State { node, low, high, steps: None });
        self.known.insert(key, self.states.len() - 1);
        self.states.len() - 1
    }

    fn has_met(&self, place: usize, within: f64) -> bool {
        let state = &self.states[place];
        state.high - state.low <= within * state.high
    }

    /// Follows the most promising steps from a state to one that was not looked into, looks into it, and brings the
    /// prices on the way up to date.
    fn follow(&mut self, start: usize) {
        let mut way = vec![start];
        let mut at = start;
        loop {
            let is_new = self.states[at].steps.is_none();
            if is_new {
                self.look_into(at);
            }
            let Some(next) = self.most_open(at) else { break };
            if is_new || self.open_by(next) <= 0.0 {
                break;
            }
            way.push(next);
            at = next;
        }
        for &place in way.iter().rev() {
            self.bring_up_to_date(place);
        }
    }

    /// Prices every step from below.
    fn look_into(&mut self, place: usize) {
        let node = self.states[place].node.clone();
        let (total, high) = (node.total(), self.states[place].high);
        let mut steps = Vec::new();
        for act in (0..self.problem.acts.len()).filter(|act| !node.is_done(*act)) {
            let (cost, next) = outcomes(self.problem, &node, act);
            let cost = cost * total;
            let low = cost + next.iter().map(|node| self.told.price(node)).sum::<f64>();
            if low < high {
                steps.push(Step { act, cost, low, next: Vec::new() });
            }
        }
        self.states[place].steps = Some(steps);
    }

    /// The answer, to the step that could be the cheapest, whose prices lie farthest apart.
    fn most_open(&mut self, place: usize) -> Option<usize> {
        let steps = self.states[place].steps.as_ref()?;
        let best = (0..steps.len()).min_by(|&a, &b| steps[a].low.total_cmp(&steps[b].low))?;
        let give_up = self.states[place].node.total() * self.problem.give_up;
        if steps[best].low >= give_up {
            return None;
        }
        if steps[best].next.is_empty() {
            let (_, next) = outcomes(self.problem, &self.states[place].node, steps[best].act);
            let next: Vec<usize> = next.into_iter().map(|node| self.enter(node)).collect();
            self.states[place].steps.as_mut()?[best].next = next;
        }
        let next = &self.states[place].steps.as_ref()?[best].next;
        next.iter().copied().max_by(|&a, &b| self.open_by(a).total_cmp(&self.open_by(b)))
    }

    /// How much farther the prices of a state lie apart than what counts as met.
    fn open_by(&self, place: usize) -> f64 {
        let state = &self.states[place];
        state.high - state.low - MET / 2.0 * state.high
    }

    fn bring_up_to_date(&mut self, place: usize) {
        let state = &self.states[place];
        let give_up = state.node.total() * self.problem.give_up;
        let (mut low, mut high) = (give_up, state.high);
        let Some(mut steps) = self.states[place].steps.take() else { return };
        for step in &mut steps {
            if !step.next.is_empty() {
                let sum = |of: fn(&State) -> f64| -> f64 {
                    step.next.iter().map(|next| of(&self.states[*next])).sum()
                };
                let (from_below, from_above) = (sum(|state| state.low), sum(|state| state.high));
                step.low = step.low.max(step.cost + from_below);
                high = high.min(step.cost + from_above);
            }
            low = low.min(step.low);
        }
        steps.retain(|step| step.low < high);
        let state = &mut self.states[place];
        // What was dropped cost no less than the price from above.
        state.low = state.low.max(low.min(high));
        state.high = high;
        state.steps = Some(steps);
    }
}
