//! Looking ahead: what a step is worth, when the rest is done as well as can be seen.
//!
//! # Method
//! The *simple plan* takes, again and again, the remedy (alone, or after a check that calls for it) with the most
//! chance of a cure for its cost, preparation included, and gives up where that is cheaper: the efficiency order of
//! the literature, with checks. It gives every state of the case a price. From the present state all steps are tried
//! in mind, their answers too, and the states that they lead to are priced: by the simple plan at first, then deeper,
//! with fewer and fewer branches, for as long as the allowance for looking ahead lasts.
//!
//! Chances are carried along unscaled: the sum of a state's chances is the chance to come there, and its price is
//! already weighed with it.
//!
//! # Reference
//! Heckerman, Breese and Rommelse, "Decision-theoretic troubleshooting", CACM 38(3), 1995; Kalagnanam and Henrion,
//! "A comparison of decision analysis and expert rules for sequential diagnosis", 1990; Jensen et al., "The SACSO
//! methodology for troubleshooting complex systems", AI EDAM 15, 2001: from memory.

use super::{
    machine::Stand,
    problem::{Problem, What},
    told::ToldPrices,
};
use std::collections::HashMap;

/// States less likely than this are priced with giving up: it cannot matter.
const NOTHING: f64 = 1e-9;
/// Prices that differ by less than this, in minutes, are as good as equal.
const AS_GOOD_AS_EQUAL: f64 = 0.15;
/// What a pair or a step costs the allowance beside its combinations.
const OF_EACH_PAIR: f64 = 12.0;
/// A depth is begun where so many times what the depths before it took is there.
const OF_THE_DEPTH_BEFORE: f64 = 4.0;
/// So many checks in a row are looked at for being idle.
const MOST_IDLE: usize = 4;
/// The share of the allowance that goes into that.
const FOR_IDLE_CHECKS: f64 = 0.1;
/// How many steps are looked into at each depth, from the top.
const WIDTHS: [usize; 6] = [12, 6, 4, 3, 2, 2];

/// A state of the case in mind.
#[derive(Debug, Clone)]
pub(crate) struct Node {
    pub(crate) chances: Vec<f64>,
    pub(crate) stand: Stand,
    /// Two bits for each act: not done, yes or not fixed, no.
    pub(crate) done: u128,
}

/// What tells states apart: what was done and answered, how the machine stands, and how likely it is to come there (in
/// another order the same answers may mean something else).
pub(crate) type Reached = (u128, Stand, u64);

impl Node {
    pub(crate) fn start(problem: &Problem) -> Self {
        Self { chances: problem.hypotheses.chances.clone(), stand: problem.stand, done: 0 }
    }

    pub(crate) fn total(&self) -> f64 {
        self.chances.iter().sum()
    }

    pub(crate) fn is_done(&self, act: usize) -> bool {
        self.done >> (2 * act) & 3 != 0
    }

    pub(crate) fn reached(&self) -> Reached {
        // Sums in another order differ in their last digits.
        (self.done, self.stand, (self.total() * 1e12).round() as u64)
    }

    fn mark(&self, act: usize, outcome: u128) -> u128 {
        self.done | outcome << (2 * act)
    }
}

/// What a step costs from a state, for each time that it is taken, and the states that it may lead to.
pub(crate) fn outcomes(problem: &Problem, node: &Node, place: usize) -> (f64, Vec<Node>) {
    let act = &problem.acts[place];
    let (cost, stand) = problem.ways.work(node.stand, act.need);
    match &act.what {
        What::Check { yes, .. } => {
            let split = |on_yes: bool| Node {
                chances: node
                    .chances
                    .iter()
                    .zip(yes)
                    .map(|(chance, yes)| chance * if on_yes { *yes } else { 1.0 - yes })
                    .collect(),
                stand,
                done: node.mark(place, if on_yes { 1 } else { 2 }),
            };
            (cost, vec![split(true), split(false)])
        }
        What::Remedy { moves, .. } => {
            let (test, stand) = problem.ways.test(stand);
            let mut chances = vec![0.0; node.chances.len()];
            for &(from, to, part) in moves {
                chances[to as usize] += node.chances[from as usize] * part;
            }
            (cost + test, vec![Node { chances, stand, done: node.mark(place, 1) }])
        }
    }
}

/// The price of each step from the present state.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Priced {
    pub(crate) act: usize,
    /// What it costs by itself, now.
    pub(crate) cost: f64,
    /// What the case is expected to cost from here when this is done next.
    pub(crate) expected: f64,
}

/// Looks ahead within an allowance of small steps of reckoning.
pub(crate) struct Search<'a> {
    problem: &'a Problem,
    told: ToldPrices<'a>,
    left: f64,
    memo: HashMap<(u128, Stand, usize), f64>,
    /// A step that is not to be taken in mind: to see what the case would cost without it.
    without: Option<usize>,
}

impl<'a> Search<'a> {
    pub(crate) fn new(problem: &'a Problem, allowance: f64) -> Self {
        let told = ToldPrices::new(problem);
        Self { problem, told, left: allowance, memo: HashMap::new(), without: None }
    }

    /// All steps from a state, the cheapest plan first.
    pub(crate) fn steps(&mut self, node: &Node) -> Vec<Priced> {
        let allowance = self.left;
        let mut priced = self.by_simple_plan(node, f64::INFINITY);
        let mut reached = 0;
        for depth in 1..WIDTHS.len() {
            if priced.len() < 2 {
                break;
            }
            // Each further depth costs several times the ones before: begin it only with most of the allowance left.
            let spent = allowance - self.left;
            let is_affordable = spent * OF_THE_DEPTH_BEFORE <= allowance;
            let deeper = is_affordable.then(|| self.deeper(node, priced.clone(), depth, WIDTHS[0]));
            // Deeper prices are lower: those of some steps must not be held against the shallower ones of others.
            let Some(deeper) = deeper.filter(|_| self.left > 0.0) else {
                begin_cheaply(&mut priced);
                break;
            };
            priced = deeper;
            reached = depth;
        }
        self.left = allowance * FOR_IDLE_CHECKS;
        self.put_off_idle_checks(node, &mut priced, reached);
        priced
    }

    /// A check at the front whose answers change nothing costs what it costs and looks cheap only because the rest was
    /// looked into one answer further: as deep without it the case costs less.
    fn put_off_idle_checks(&mut self, node: &Node, priced: &mut [Priced], depth: usize) {
        for _ in 0..MOST_IDLE {
            let Some(first) = priced.first() else { return };
            let (act, cost, expected) = (first.act, first.cost, first.expected);
            if matches!(self.problem.acts[act].what, What::Remedy { .. }) {
                return;
            }
            let without = self.without(node, act, depth);
            // Without an allowance left the price is too high to tell.
            if expected < without || self.left <= 0.0 {
                return;
            }
            priced[0].expected = without + cost;
            sort(priced);
            if priced[0].act == act {
                return;
            }
        }
    }

    /// What the case is expected to cost from a state when one step is never taken.
    pub(crate) fn without(&mut self, node: &Node, act: usize, depth: usize) -> f64 {
        self.memo.clear();
        self.without = Some(act);
        let price = self.price(node, depth);
        self.without = None;
        self.memo.clear();
        price
    }

    /// Prices the steps that may come to less than `most`: whoever were told the causes could do it for less.
    fn by_simple_plan(&mut self, node: &Node, most: f64) -> Vec<Priced> {
        let (mut priced, total, mut best) = (Vec::new(), node.total(), most);
        for act in 0..self.problem.acts.len() {
            if node.is_done(act) || self.without == Some(act) {
                continue;
            }
            self.left -= node.chances.len() as f64 + OF_EACH_PAIR;
            let (cost, next) = outcomes(self.problem, node, act);
            if best.is_finite() {
                self.left -= node.chances.len() as f64;
                let at_least: f64 = next.iter().map(|node| self.told.price(node)).sum();
                if cost * total + at_least >= best {
                    continue;
                }
            }
            let rest: f64 = next.iter().map(|node| self.simple_plan(node)).sum();
            let expected = cost * total + rest;
            if most.is_finite() {
                best = best.min(expected);
            }
            priced.push(Priced { act, cost, expected });
        }
        sort(&mut priced);
        priced
    }

    /// Prices the first `width` steps again by looking one answer further.
    fn deeper(&mut self, node: &Node, mut priced: Vec<Priced>, depth: usize, width: usize) -> Vec<Priced> {
        for step in priced.iter_mut().take(width) {
            if self.left <= 0.0 {
                break;
            }
            let (cost, next) = outcomes(self.problem, node, step.act);
            let rest: f64 = next.iter().map(|node| self.price(node, depth)).sum();
            step.expected = cost * node.total() + rest;
        }
        sort(&mut priced);
        priced
    }

    /// The price of a state: the best that was seen.
    fn price(&mut self, node: &Node, depth: usize) -> f64 {
        let total = node.total();
        let give_up = total * self.problem.give_up;
        if total < NOTHING {
            return give_up;
        }
        if depth == 0 {
            return self.simple_plan(node);
        }
        let key = (node.done, node.stand, depth);
        if let Some(&known) = self.memo.get(&key) {
            return known;
        }
        let simple = self.simple_plan(node);
        let mut best = simple.min(give_up);
        if self.left > 0.0 {
            let mut priced = self.by_simple_plan(node, best);
            best = priced.iter().map(|step| step.expected).fold(best, f64::min);
            if depth > 1 {
                let width = WIDTHS[(WIDTHS.len() - depth).min(WIDTHS.len() - 1)].min(WIDTHS[1]);
                priced = self.deeper(node, priced, depth - 1, width);
                best = priced.iter().take(width).map(|step| step.expected).fold(best, f64::min);
            }
        }
        self.memo.insert(key, best);
        best
    }

    /// The price of the simple plan: remedies by efficiency, each alone or after a check.
    ///
    /// Where a remedy was called for and did not help, it is not thought of again; the plan forgets which of the
    /// remedies that was, so it is dearer than the best, never cheaper.
    pub(crate) fn simple_plan(&mut self, node: &Node) -> f64 {
        let problem = self.problem;
        let mut plan = Plan {
            fresh: node.chances.clone(),
            failed: vec![0.0; node.chances.len()],
            any_failed: false,
            tried: 0,
            stand: node.stand,
            done: node.done,
        };
        let mut alive = plan.alive();
        let (mut so_far, mut best) = (0.0, alive * problem.give_up);
        while alive > NOTHING {
            let Some(next) = self.most_efficient(&plan, alive) else { break };
            if next.helps * problem.give_up < next.cost {
                break;
            }
            so_far += next.cost;
            plan.follow(problem, &next);
            alive = plan.alive();
            best = best.min(so_far + alive * problem.give_up);
        }
        best
    }

    fn most_efficient(&mut self, plan: &Plan, alive: f64) -> Option<Next> {
        let problem = self.problem;
        let mut best: Option<(f64, Next)> = None;
        for (place, pair) in problem.pairs.iter().enumerate() {
            let is_done = |act: usize| plan.done >> (2 * act) & 3 != 0 || self.without == Some(act);
            if is_done(pair.remedy) || pair.check.is_some_and(is_done) {
                continue;
            }
            self.left -= plan.fresh.len() as f64 + OF_EACH_PAIR;
            let helps = plan.sum(&pair.helps, pair.remedy);
            if helps <= 0.0 {
                continue;
            }
            let (mut cost, mut after) = (0.0, plan.stand);
            let mut called = alive;
            if let Some(check) = pair.check {
                let (of_check, then) = problem.ways.work(after, problem.acts[check].need);
                cost += alive * of_check;
                after = then;
                called = plan.sum(&pair.called, pair.remedy);
            }
            let (of_work, then) = problem.ways.work(after, problem.acts[pair.remedy].need);
            let (of_test, tested) = problem.ways.test(then);
            cost += called * (of_work + of_test);
            // After a check that mostly calls for nothing the machine mostly stays as the check left it.
            let stand = if pair.check.is_some() && called < alive / 2.0 { after } else { tested };
            let efficiency = helps / (cost + NOTHING);
            if best.as_ref().is_none_or(|(most, _)| efficiency > *most) {
                best = Some((efficiency, Next { pair: place, helps, cost, stand }));
            }
        }
        best.map(|(_, next)| next)
    }
}

/// How far a simple plan has come.
struct Plan {
    /// Cases in which none of the plan's remedies was called for.
    fresh: Vec<f64>,
    /// Cases in which some was, and did not help.
    failed: Vec<f64>,
    any_failed: bool,
    /// One bit for each remedy that was called for in some case.
    tried: u64,
    stand: Stand,
    done: u128,
}

impl Plan {
    fn alive(&self) -> f64 {
        self.fresh.iter().sum::<f64>() + self.failed.iter().sum::<f64>()
    }

    /// Sums over all cases in which this remedy may still be called for.
    fn sum(&self, of: &[f64], remedy: usize) -> f64 {
        let again = self.any_failed && self.tried >> remedy & 1 == 0;
        dot(&self.fresh, of) + if again { dot(&self.failed, of) } else { 0.0 }
    }

    fn follow(&mut self, problem: &Problem, next: &Next) {
        let pair = &problem.pairs[next.pair];
        let first_time = self.tried >> pair.remedy & 1 == 0;
        for (place, (called, helps)) in pair.called.iter().zip(&pair.helps).enumerate() {
            if first_time {
                self.failed[place] -= self.failed[place] * helps;
            }
            let called = self.fresh[place] * called;
            self.failed[place] += called - self.fresh[place] * helps;
            self.fresh[place] -= called;
        }
        self.any_failed = true;
        self.tried |= 1 << pair.remedy;
        self.done |= 1 << (2 * pair.check.unwrap_or(pair.remedy));
        self.stand = next.stand;
    }
}

struct Next {
    pair: usize,
    helps: f64,
    cost: f64,
    stand: Stand,
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    // Four sums side by side: one alone would wait for each addition before it begins the next.
    let mut sums = [0.0; 4];
    let (a_fours, b_fours) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a_fours.remainder().iter().zip(b_fours.remainder()).map(|(a, b)| a * b).sum();
    for (a, b) in a_fours.zip(b_fours) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    sums.iter().sum::<f64>() + rest
}

/// Of plans whose prices are as good as equal, takes the one that begins with the cheapest step to the front. Where
/// looking ahead was cut short, prices are bounds from above, and no nearer to the truth than that. A question that tells
/// nothing makes a plan dearer by what it costs: it is not equal.
fn begin_cheaply(priced: &mut [Priced]) {
    let Some(best) = priced.first().map(|best| best.expected) else { return };
    let is_equal = |step: &Priced| step.expected <= best + AS_GOOD_AS_EQUAL.min(step.cost / 2.0);
    let cheapest = (0..priced.len()).filter(|&place| is_equal(&priced[place]));
    let cheapest = cheapest.min_by(|&a, &b| priced[a].cost.total_cmp(&priced[b].cost)).unwrap_or(0);
    priced[..=cheapest].rotate_right(1);
}

fn sort(priced: &mut [Priced]) {
    priced.sort_by(|a, b| a.expected.total_cmp(&b.expected).then(a.act.cmp(&b.act)));
}
