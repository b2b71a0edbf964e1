//! The proof for one booth: the diaries of each machine that could still be part of a better plan, a bound with one
//! answer for each machine, and all beginnings of the diary of all side by side.

use crate::alike::classes;
use crate::climb::Climb;
use crate::cost::Choice;
use crate::dual::Dual;
use crate::joint::Joint;
use crate::layers::Layers;
use crate::lives::Lives;

/// How far one round goes.
struct Round {
    /// Of the stands of one machine that may be told apart at one step one in so many.
    stands: usize,
    /// Of all price steps one in so many.
    price_steps: usize,
    /// Of the beginnings side by side one in so many.
    beginnings: usize,
}

/// Quick looks for a better plan, since a better plan leaves fewer diaries; then the proof.
const ROUNDS: [Round; 3] = [
    Round { stands: 25, price_steps: 1, beginnings: 100 },
    Round { stands: 2, price_steps: 2, beginnings: 20 },
    Round { stands: 1, price_steps: 2, beginnings: 1 },
];
/// Moves of prices between two looks at what diaries are left.
const CLIMBS: usize = 8;

/// What is known of one class of like machines at the prices of the bound that knows each piece of work alone.
#[derive(Clone, Copy)]
struct Gain {
    members: f64,
    /// By how much its best diary costs more than its work alone.
    each: f64,
}

/// The proof as far as it has come.
struct Proof {
    best: f64,
    found: Option<Choice>,
    bound: f64,
    gains: Vec<Gain>,
    /// The prices of the last round.
    climb: Option<Climb>,
}

impl Proof {
    fn done(&self) -> bool {
        self.bound >= self.best - self.margin()
    }

    /// Raises the joint bound and takes out the diaries that it leaves no room for; says whether any are left.
    fn rise(&mut self, joint: &mut Joint<'_, '_>, window: f64, steps: usize) -> bool {
        for _ in 0..CLIMBS {
            if !joint.classes.iter().any(Lives::none) {
                joint.climb(self.best, steps);
                joint.thin(self.best);
                self.bound = self.bound.max(joint.climb.bound.min(window).min(self.best));
            }
        }
        let left = !joint.classes.iter().any(Lives::none);
        if !left {
            self.bound = self.bound.max(window.min(self.best));
        }
        left
    }

    fn margin(&self) -> f64 {
        1e-9 * self.best.abs().max(1.0)
    }

    /// Returns the bound at the same prices with one answer for each machine but one of this class.
    fn bound_with_others(&self, bound: f64, class: usize) -> f64 {
        let all: f64 = self.gains.iter().map(|gain| gain.members * gain.each).sum();
        bound + all - self.gains[class].each
    }
}

/// Looks for a plan under `best`; returns one that is better, if there is any, and what no plan costs less than.
pub(crate) fn prove(
    dual: &mut Dual<'_, '_>,
    best: f64,
    price_steps: usize,
    most: usize,
) -> (Option<Choice>, f64) {
    let classes = classes(dual.problem);
    dual.even_out(&classes);
    let tables = dual.tables();
    let gains = classes.iter().map(|class| Gain { members: class.len() as f64, each: 0.0 }).collect();
    let mut proof = Proof { best, found: None, bound: dual.bound, gains, climb: None };
    let mut complete = None;
    for round in &ROUNDS {
        let complete_one = complete.take().map(|joint| (joint, f64::INFINITY));
        let anew = || look_anew(dual, &tables, &classes, &mut proof, (most / round.stands).max(1));
        let Some((mut joint, window)) = complete_one.or_else(anew) else { break };
        if !proof.rise(&mut joint, window, price_steps / round.price_steps / CLIMBS) {
            continue;
        }
        let told = Layers::new(&joint, proof.best).run((most / round.beginnings).max(1));
        proof.bound = proof.bound.max(told.bound.min(window));
        let is_complete = window >= proof.best;
        if let Some(choice) = told.choice {
            let cost = choice.cost(dual.problem);
            if cost < proof.best {
                (proof.best, proof.found) = (cost, Some(choice));
            }
        }
        if proof.done() {
            break;
        }
        proof.climb = Some(joint.climb.clone());
        complete = is_complete.then_some(joint);
    }
    (proof.found, proof.bound)
}

/// Finds the diaries that could still be part of a better plan; with the cost under which no diary is missing. Nothing
/// where too much could be done in one slot.
fn look_anew<'p, 'm>(
    dual: &Dual<'p, 'm>,
    tables: &[Vec<f64>],
    classes: &[Vec<usize>],
    proof: &mut Proof,
    stands: usize,
) -> Option<(Joint<'p, 'm>, f64)> {
    let mut lives = Vec::with_capacity(classes.len());
    let mut kepts = Vec::with_capacity(classes.len());
    for (at, class) in classes.iter().enumerate() {
        let slack = proof.best - proof.bound_with_others(dual.bound, at) + proof.margin();
        let (found, kept, gain) = Lives::find(dual, tables, class.clone(), slack, stands)?;
        let each = &mut proof.gains[at].each;
        *each = each.max(gain.min(kept));
        kepts.push(kept);
        lives.push(found);
    }
    let window = |at: usize| proof.bound_with_others(dual.bound, at) + kepts[at];
    let window = (0..classes.len()).map(window).fold(f64::INFINITY, f64::min);
    let mut joint = Joint::new(dual, lives);
    if let Some(mut climb) = proof.climb.take() {
        climb.ask_anew();
        joint.climb = climb;
    }
    Some((joint, window))
}
