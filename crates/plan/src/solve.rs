//! The way to a plan: a first one, a bound, a better one by what the bound's prices say, and, where the effort allows,
//! the proof.

use crate::answer::Plan;
use crate::check::{Fault, ModelError};
use crate::cost::{Choice, insert};
use crate::dual::Dual;
use crate::model::{Cost, Model};
use crate::primal::{Dice, Draft};
use crate::problem::Problem;
use crate::search::Search;
use crate::why;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// How hard to try. The same effort on the same model gives the same plan; no clock is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Effort {
    /// Steps in which the bound's prices are moved.
    pub price_steps: usize,
    /// Sweeps over the diary in which a plan is mended.
    pub sweeps: usize,
    /// Beginnings of the diary that are looked at for the proof; 0: no proof is tried.
    pub nodes: u64,
    /// Threads; they change how long it takes, not what comes out.
    pub threads: usize,
    /// What the order of trying things is drawn from.
    pub seed: u64,
}

impl Effort {
    /// Enough for one booth, proof and all.
    pub const BOOTH: Self = Self { price_steps: 400, sweeps: 60, nodes: 100_000, threads: 1, seed: 1 };
    /// Enough for a service of hundreds of machines; near the best, with its bound, without proof.
    pub const SERVICE: Self = Self { price_steps: 120, sweeps: 2, nodes: 0, threads: 2, seed: 1 };

    /// Returns what suits the size of a model.
    pub fn for_model(model: &Model) -> Self {
        if model.machines.len() <= 12 && model.showings.len() <= 200 { Self::BOOTH } else { Self::SERVICE }
    }
}

/// How often a plan is made anew from better prices.
const ROUNDS: usize = 4;
/// So many rounds of single changes at most; each makes the plan cheaper, so few are needed.
const POLISH_ROUNDS: usize = 20;
/// A plan this near its bound, relatively, is proven.
const PROVEN: f64 = 1e-9;

/// Makes the best plan that the effort finds, with the bound that no plan undercuts.
///
/// Fails where the model is not in order or the pins cannot hold, naming everything that is wrong.
pub fn solve(model: &Model, effort: &Effort) -> Result<Plan, ModelError> {
    let problem = Problem::new(model)?;
    let (choice, bound) = best_choice(&problem, effort);
    let cost = choice.cost(&problem);
    let faults = choice.faults(&problem);
    if !faults.is_empty() {
        return Err(ModelError::Pins(faults));
    }
    Ok(why::plan(&problem, &choice, cost, bound.min(cost), PROVEN))
}

fn best_choice(problem: &Problem<'_>, effort: &Effort) -> (Choice, f64) {
    let mut dice = Dice(effort.seed);
    let mut draft = Draft::make(problem, None);
    draft.mend(effort.sweeps, &mut dice);
    let mut best = draft.choice;
    let mut cost = best.cost(problem);
    let most: Vec<i64> = most_minutes(problem, &best, effort.nodes > 0);
    let mut dual = Dual::new(problem, &most, effort.threads);
    dual.begin_from(&best);
    let mut steps = effort.price_steps / ROUNDS;
    for round in 0..ROUNDS {
        if round + 1 == ROUNDS {
            steps = effort.price_steps - steps * (ROUNDS - 1);
        }
        dual.climb(cost, steps);
        if dual.bound >= cost - PROVEN * cost.abs().max(1.0) {
            return (best, dual.bound);
        }
        let seen = |show: usize, place: usize| dual.seen(&dual.prices, show, place);
        for mut draft in [Draft::make(problem, Some(&seen)), Draft::from(problem, best.clone())] {
            draft.mend(effort.sweeps, &mut dice);
            let other = draft.cost();
            if other < cost {
                (best, cost) = (draft.choice, other);
            }
        }
    }
    let bound = dual.bound;
    let mut draft = Draft::from(problem, best.clone());
    draft.polish(POLISH_ROUNDS);
    if draft.cost() < cost {
        (best, cost) = (draft.choice.clone(), draft.cost());
    }
    if effort.nodes == 0 {
        return (best, bound);
    }
    let mut search = Search::new(problem, &dual, cost, effort.nodes);
    search.run();
    if let Some(found) = search.found.take() {
        best = found;
    }
    let cost = best.cost(problem);
    (best, if search.cut_short { bound } else { cost - PROVEN * cost.abs() * 0.5 })
}

/// Minutes of running that the bound tells apart: all there are for a booth; for a service, well over what each
/// machine has in a good plan.
fn most_minutes(problem: &Problem<'_>, choice: &Choice, all: bool) -> Vec<i64> {
    let run = |machine: usize, at: usize| problem.shows[problem.machines[machine].shows[at]].run;
    let one = |(machine, runs): (usize, &Vec<usize>)| {
        if all {
            return i64::MAX / 4;
        }
        let has: i64 = runs.iter().map(|&at| run(machine, at)).sum();
        has * 3 / 2 + SPARE_MINUTES
    };
    choice.runs.iter().enumerate().map(one).collect()
}

/// Ten hours: room for the runs that prices may tempt a machine to beyond its share.
const SPARE_MINUTES: i64 = 600;

/// Returns what given choices cost: `crews` as pairs of showing and machine, `doings` as pairs of work and slot.
///
/// Fails where a name is not known or the choices break a rule of the model.
pub fn cost_of(
    model: &Model,
    crews: &[(String, String)],
    doings: &[(String, String)],
) -> Result<Cost, ModelError> {
    let problem = Problem::new(model)?;
    let mut choice = Choice {
        crews: vec![Vec::new(); problem.shows.len()],
        runs: vec![Vec::new(); problem.machines.len()],
        done: vec![Vec::new(); problem.jobs.len()],
    };
    let mut faults = Vec::new();
    let shows: HashMap<&str, usize> = (0..problem.shows.len()).map(|it| (problem.show_id(it), it)).collect();
    for (showing, machine) in crews {
        let able = shows.get(showing.as_str()).and_then(|&show| {
            problem.shows[show].able.iter().find(|able| model.machines[able.machine].id == *machine)
        });
        match able {
            Some(able) => choice.put(&problem, able.machine, able.at),
            None => faults.push(Fault {
                at: format!("machine `{machine}` at showing `{showing}`"),
                what: "it cannot run there".to_owned(),
            }),
        }
    }
    for (work, slot) in doings {
        let job = model.work.iter().position(|it| it.id == *work);
        let at = job.and_then(|job| {
            problem.jobs[job].slots.iter().position(|chance| problem.bench_id(chance.slot) == slot)
        });
        match (job, at) {
            (Some(job), Some(at)) => insert(&mut choice.done[job], at),
            _ => faults.push(Fault {
                at: format!("work `{work}` in slot `{slot}`"),
                what: "it cannot be done there".to_owned(),
            }),
        }
    }
    for (show, crew) in choice.crews.iter().enumerate() {
        if crew.len() > problem.shows[show].seats || crew.windows(2).any(|pair| pair[0] == pair[1]) {
            faults.push(Fault {
                at: format!("showing `{}`", problem.show_id(show)),
                what: format!("it takes {} different machines", problem.shows[show].seats),
            });
        }
    }
    if faults.is_empty() {
        faults = choice.faults(&problem);
    }
    if faults.is_empty() { Ok(Cost(choice.cost(&problem))) } else { Err(ModelError::Choices(faults)) }
}
