//! The proof of the advice: invented faults with a known cause and imperfect checks, worked to their end.

mod luck;
mod printed;

use crate::{
    advise::{Decision, Do, Outcome, Passed, Setting, decide, stand_after},
    case::{Answer, Case, Hypotheses, Settled, Tried},
    model::{SymptomId, TroubleModel},
};
use luck::{Fault, Luck};
use printed::by_printed_list;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use serde::Serialize;
use std::collections::HashMap;

/// The printed list, which is quick to work down, is worked down for so many times as many faults.
const LONG_RUN: usize = 10;
/// No case is followed further than this.
const MOST_STEPS: usize = 400;

/// How the invented faults of one symptom ended.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Distribution {
    /// Which symptom.
    pub symptom: SymptomId,
    /// How many faults.
    pub n: usize,
    /// Ended by a cure.
    pub fixed: usize,
    /// Passed on, and rightly: at least one cause was beyond the operator, or not listed, or the operator's own
    /// remedies for it had all failed.
    pub rightly_passed_on: usize,
    /// Passed on early because it was likely to be dangerous, though the cause was one that the operator may mend.
    pub passed_on_for_safety: usize,
    /// Passed on, and wrongly.
    pub wrongly_passed_on: usize,
    /// Passed on, rightly or not, because something electrical, xenon or nitrate was likely.
    pub stopped_for_danger: usize,
    /// What the work of the advice cost, sorted, in minutes of an operator's time; without the price of a call.
    pub work: Vec<f64>,
    /// What working down the printed list cost for the same faults, sorted, in the same minutes.
    pub printed_work: Vec<f64>,
    /// How many of these the printed list cured.
    pub printed_fixed: usize,
    /// The same as [`Self::printed_mean_avoidable`] over ten times as many faults, for what must not hang on luck.
    pub printed_avoidable_in_the_long_run: f64,
    /// How many no plan could cure: for something that shows the symptom no remedy of this operator would have worked.
    pub beyond_cure: usize,
    /// How likely it is, in the long run, that no plan can cure it.
    pub beyond_cure_chance: f64,
    /// What a call costs, in the same minutes.
    pub give_up: f64,
}

impl Distribution {
    /// The share that was fixed or rightly passed on, be it for safety.
    pub fn right(&self) -> f64 {
        1.0 - self.wrongly_passed_on as f64 / self.n.max(1) as f64
    }

    /// The mean cost of the work.
    pub fn mean_work(&self) -> f64 {
        mean(&self.work)
    }

    /// The mean cost of working down the printed list.
    pub fn printed_mean_work(&self) -> f64 {
        mean(&self.printed_work)
    }

    /// The mean cost of the work and of the calls.
    pub fn mean_cost(&self) -> f64 {
        self.mean_work() + self.give_up * (self.n - self.fixed) as f64 / self.n.max(1) as f64
    }

    /// The mean cost of the work and of those calls that could have been spared: what a plan can make better or worse.
    /// A call for a fault that no operator can cure costs the same whatever was done before it.
    pub fn mean_avoidable(&self) -> f64 {
        self.mean_work() + self.give_up * self.spared(self.fixed)
    }

    /// The mean cost of the work and of all calls, with those that nobody can spare as likely as they are in the long
    /// run: nearer to the expected cost than [`Self::mean_cost`].
    pub fn mean_cost_in_the_long_run(&self) -> f64 {
        self.mean_avoidable() + self.give_up * self.beyond_cure_chance
    }

    /// The same as [`Self::mean_avoidable`] for working down the printed list.
    pub fn printed_mean_avoidable(&self) -> f64 {
        self.printed_mean_work() + self.give_up * self.spared(self.printed_fixed)
    }

    /// The share of faults that could have been cured and were not.
    fn spared(&self, fixed: usize) -> f64 {
        (self.n - self.beyond_cure).saturating_sub(fixed) as f64 / self.n.max(1) as f64
    }

    /// The mean cost of the work and of all calls, by the printed list.
    pub fn printed_mean_cost(&self) -> f64 {
        self.printed_mean_work() + self.give_up * (self.n - self.printed_fixed) as f64 / self.n.max(1) as f64
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// Works `n` invented faults that show this symptom to their end, by the advice and by the printed list. The same
/// seed gives the same faults. None where the model does not know the symptom.
///
/// The causes of each are drawn as likely as the model holds them given the symptom, several at once as often as it
/// holds that, and checks answer and remedies succeed as the model says. The rules of the printed list stand in
/// `docs/faults.md`.
pub fn prove_symptom(
    model: &TroubleModel,
    symptom: &SymptomId,
    setting: &Setting,
    n: usize,
    seed: u64,
) -> Option<Distribution> {
    model.symptom(symptom)?;
    let case = Case::of(symptom.clone());
    let settled = Settled::of(model, &case, setting.slip);
    let hypotheses = Hypotheses::of(&settled.situation, &settled.now);
    let luck = Luck { model, setting, settled: &settled };
    let mut prover = Prover { model, setting, luck: &luck, decided: HashMap::new(), stopped_for_danger: 0 };
    let mut found = Distribution {
        symptom: symptom.clone(),
        n,
        fixed: 0,
        rightly_passed_on: 0,
        passed_on_for_safety: 0,
        wrongly_passed_on: 0,
        stopped_for_danger: 0,
        work: Vec::with_capacity(n),
        printed_work: Vec::with_capacity(n),
        printed_fixed: 0,
        printed_avoidable_in_the_long_run: 0.0,
        beyond_cure: 0,
        beyond_cure_chance: luck.beyond_cure(&hypotheses),
        give_up: setting.costs.give_up,
    };
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let mut in_the_long_run = 0.0;
    for _ in 0..n {
        let fault = luck.draw(&hypotheses, &mut dice);
        found.beyond_cure += usize::from(!luck.curable(&fault));
        let (end, work) = prover.by_advice(&case, fault.clone());
        found.work.push(work);
        match end {
            End::Fixed => found.fixed += 1,
            End::Rightly => found.rightly_passed_on += 1,
            End::ForSafety => found.passed_on_for_safety += 1,
            End::Wrongly => found.wrongly_passed_on += 1,
        }
        let printed = by_printed_list(&luck, symptom, fault.clone());
        in_the_long_run += avoidable(&luck, &fault, printed);
        found.printed_work.push(printed.1);
        found.printed_fixed += usize::from(printed.0);
    }
    for _ in n..n * LONG_RUN {
        let fault = luck.draw(&hypotheses, &mut dice);
        in_the_long_run += avoidable(&luck, &fault, by_printed_list(&luck, symptom, fault.clone()));
    }
    found.printed_avoidable_in_the_long_run = in_the_long_run / (n * LONG_RUN).max(1) as f64;
    found.stopped_for_danger = prover.stopped_for_danger;
    found.work.sort_by(f64::total_cmp);
    found.printed_work.sort_by(f64::total_cmp);
    Some(found)
}

/// What the printed list came to (whether it cured, and its work), with the call where that could have been spared.
fn avoidable(luck: &Luck<'_>, fault: &Fault, (fixed, work): (bool, f64)) -> f64 {
    let spared = !fixed && luck.curable(fault);
    work + if spared { luck.setting.costs.give_up } else { 0.0 }
}

enum End {
    Fixed,
    Rightly,
    ForSafety,
    Wrongly,
}

struct Prover<'a> {
    model: &'a TroubleModel,
    setting: &'a Setting,
    luck: &'a Luck<'a>,
    /// What the advice was for the same answers before.
    decided: HashMap<String, Decided>,
    stopped_for_danger: usize,
}

#[derive(Clone)]
enum Decided {
    MakeSafe,
    Next(Do),
    Passed(Passed),
    Over,
}

impl Prover<'_> {
    fn by_advice(&mut self, start: &Case, mut fault: Fault) -> (End, f64) {
        let mut case = start.clone();
        for _ in 0..MOST_STEPS {
            let answer = match self.decide(&case) {
                Decided::MakeSafe => Answer::MadeSafe,
                Decided::Next(Do::Check(check)) => {
                    let known = self.model.check(&check).expect("the advice names what the model has");
                    let reply = self.luck.answer(known, &fault);
                    Answer::Checked { check, reply }
                }
                Decided::Next(Do::Remedy(remedy)) => {
                    let known = self.model.remedy(&remedy).expect("the advice names what the model has");
                    let result = self.luck.treat(known, &mut fault);
                    Answer::Tried { remedy, result }
                }
                Decided::Passed(passed) => {
                    self.stopped_for_danger += usize::from(passed == Passed::Danger);
                    let (spent, _) = stand_after(self.model, &case.answers, self.setting);
                    return (self.judge(&fault, passed, &case), spent);
                }
                Decided::Over => {
                    let (spent, _) = stand_after(self.model, &case.answers, self.setting);
                    return (End::Wrongly, spent);
                }
            };
            let fixed = matches!(answer, Answer::Tried { result: Tried::Fixed, .. });
            case.answers.push(answer);
            if fixed {
                let (spent, _) = stand_after(self.model, &case.answers, self.setting);
                return (End::Fixed, spent);
            }
        }
        let (spent, _) = stand_after(self.model, &case.answers, self.setting);
        (End::Wrongly, spent)
    }

    fn decide(&mut self, case: &Case) -> Decided {
        let key = format!("{:?}", case.answers);
        if let Some(known) = self.decided.get(&key) {
            return known.clone();
        }
        let decided = match decide(self.model, case, self.setting) {
            Decision::Next(act) => Decided::Next(act),
            Decision::Ended(Outcome::MakeSafe { .. }) => Decided::MakeSafe,
            Decision::Ended(Outcome::Refer(referral)) => Decided::Passed(referral.passed),
            Decision::Ended(Outcome::Later) => Decided::Passed(Passed::CheaperToCall),
            Decision::Ended(_) => Decided::Over,
        };
        self.decided.insert(key, decided.clone());
        decided
    }

    /// Was it right to pass this on?
    fn judge(&self, fault: &Fault, passed: Passed, case: &Case) -> End {
        let beyond = |&(cause, shows): &(usize, bool)| {
            if !shows {
                return false;
            }
            let Some(cause) = self.model.causes().get(cause) else { return true };
            let mut own = self
                .model
                .remedies()
                .iter()
                .filter(|remedy| remedy.work.level <= self.setting.who)
                .filter(|remedy| remedy.cures.iter().any(|cure| cure.cause == cause.id));
            cause.level > self.setting.who
                || own.all(|remedy| {
                    let done = |answer: &Answer| {
                        matches!(answer, Answer::Tried { remedy: tried, .. } if *tried == remedy.id)
                    };
                    case.answers.iter().any(done)
                })
        };
        match passed {
            _ if fault.causes.iter().any(beyond) => End::Rightly,
            Passed::Danger => End::ForSafety,
            _ => End::Wrongly,
        }
    }
}
