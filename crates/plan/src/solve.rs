//! The way to a plan: a first one, a bound, a better one by what the bound's prices say, and, where the effort allows,
//! the proof.

use crate::answer::Plan;
use crate::check::{Fault, ModelError};
use crate::cost::{Choice, insert};
use crate::dual::Dual;
use crate::model::{Cost, Model, Work};
use crate::primal::{Dice, Draft};
use crate::problem::Problem;
use crate::prove::prove;
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
    /// Beginnings of the diary, of one machine and of all, that the proof keeps side by side; 0: no proof is tried.
    pub nodes: u64,
    /// Threads; they change how long it takes, not what comes out.
    pub threads: usize,
    /// What the order of trying things is drawn from.
    pub seed: u64,
}

impl Effort {
    /// Enough for one booth, proof and all.
    pub const BOOTH: Self = Self { price_steps: 400, sweeps: 60, nodes: 60_000, threads: 1, seed: 1 };
    /// Enough for a service of hundreds of machines; near the best, with its bound, without proof.
    pub const SERVICE: Self = Self { price_steps: 80, sweeps: 2, nodes: 0, threads: 2, seed: 1 };

    /// Returns what suits the size of a model.
    pub fn for_model(model: &Model) -> Self {
        if model.machines.len() <= 12 && model.showings.len() <= 200 {
            Self::BOOTH
        } else if model.work.iter().any(Work::minds_hours) {
            Self::SERVICE
        } else {
            // Tables without hours are soon filled.
            Self { price_steps: STEPS_WITHOUT_HOURS * Self::SERVICE.price_steps, ..Self::SERVICE }
        }
    }
}

/// A service in which nothing depends on hours has time for so many times the usual steps.
const STEPS_WITHOUT_HOURS: usize = 11;
/// Trades that are tried in each sweep, for each showing.
const TRADES: usize = 8;
/// A booth's plan that is not proven is traded on so often, fewer times where one go has more sweeps.
const SWEEPS_OF_GOES: usize = 192;
/// The fewest and the most goes.
const GOES: (usize, usize) = (4, 16);
/// How often a plan is made anew from better prices.
const ROUNDS: usize = 4;
/// A service has one sweep in which prices agree for so many steps of the volume method.
const STEPS_FOR_A_SWEEP: usize = 16;
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

/// The best plan known so far.
struct Known {
    choice: Choice,
    cost: f64,
}

impl Known {
    fn try_draft(&mut self, draft: Draft<'_, '_>) {
        let cost = draft.cost();
        if cost < self.cost {
            (self.choice, self.cost) = (draft.choice, cost);
        }
    }

    /// Makes plans by what the bound's prices say.
    fn try_prices(&mut self, dual: &Dual<'_, '_>, sweeps: usize, dice: &mut Dice) {
        let seen = |show: usize, place: usize| dual.seen(&dual.prices, show, place);
        let anew = Draft::make(dual.problem, Some(&seen));
        for mut draft in [anew, Draft::from(dual.problem, self.choice.clone())] {
            draft.mend(sweeps, dice);
            self.try_draft(draft);
        }
    }

    /// Where there is no proof a better plan may be some trades away, which no single change comes by; or it lies
    /// elsewhere altogether: every other go begins anew.
    fn trade_on(&mut self, problem: &Problem<'_>, effort: &Effort, dice: &mut Dice) {
        let goes = (SWEEPS_OF_GOES / effort.sweeps.max(1)).clamp(GOES.0, GOES.1);
        for go in 0..goes {
            let mut draft = if go % 2 == 0 {
                Draft::from(problem, self.choice.clone())
            } else {
                anew(problem, effort, dice)
            };
            trade_and_mend(&mut draft, effort, dice);
            draft.polish(effort.sweeps);
            self.try_draft(draft);
        }
    }

    fn proven_by(&self, dual: &Dual<'_, '_>) -> bool {
        dual.bound >= self.cost - PROVEN * self.cost.abs().max(1.0)
    }
}

fn best_choice(problem: &Problem<'_>, effort: &Effort) -> (Choice, f64) {
    let mut dice = Dice(effort.seed);
    let to_prove = effort.nodes > 0;
    let mut best = first_plan(problem, effort, &mut dice);
    let mut dual = Dual::new(problem, to_prove, effort.threads);
    dual.begin_from(&best.choice);
    // The first sweeps rise quickly and soon end where no price alone can be bettered; the volume method goes on.
    if to_prove {
        dual.agree(best.cost, effort.price_steps / 4);
    } else {
        dual.agree(best.cost, effort.price_steps / STEPS_FOR_A_SWEEP);
        dual.climb(best.cost, effort.price_steps);
    }
    for _ in 0..if to_prove { ROUNDS } else { 0 } {
        dual.climb(best.cost, effort.price_steps / ROUNDS);
        if best.proven_by(&dual) {
            break;
        }
        best.try_prices(&dual, effort.sweeps, &mut dice);
    }
    if best.proven_by(&dual) {
        return (best.choice, dual.bound);
    }
    let mut draft = Draft::from(problem, best.choice.clone());
    draft.polish(effort.sweeps);
    best.try_draft(draft);
    if !to_prove {
        return (best.choice, dual.bound);
    }
    let most = usize::try_from(effort.nodes).unwrap_or(usize::MAX);
    let (found, bound) = prove(&mut dual, best.cost, effort.price_steps, most);
    dual.bound = bound;
    if let Some(choice) = found {
        best = Known { cost: choice.cost(problem), choice };
    }
    if !best.proven_by(&dual) {
        best.trade_on(problem, effort, &mut dice);
    }
    (best.choice, bound)
}

/// A plan to begin with. A booth has its proof first, and trades only where that does not come to its end.
fn first_plan(problem: &Problem<'_>, effort: &Effort, dice: &mut Dice) -> Known {
    let mut draft = anew(problem, effort, dice);
    let mut best = Known { cost: draft.cost(), choice: draft.choice.clone() };
    if effort.nodes == 0 {
        trade_and_mend(&mut draft, effort, dice);
        best.try_draft(draft);
    }
    best
}

/// A plan that is filled in the order of time and mended.
fn anew<'p, 'm>(problem: &'p Problem<'m>, effort: &Effort, dice: &mut Dice) -> Draft<'p, 'm> {
    let mut draft = Draft::make(problem, None);
    draft.mend(effort.sweeps, dice);
    draft
}

fn trade_and_mend(draft: &mut Draft<'_, '_>, effort: &Effort, dice: &mut Dice) {
    draft.trade(effort.sweeps * TRADES * draft.problem.shows.len(), dice, effort.threads);
    draft.mend(effort.sweeps, dice);
}

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
