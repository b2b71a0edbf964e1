//! The proof of the advice: invented faults with a known cause and imperfect checks, worked to their end.

use crate::{
    advise::{Decision, Do, Outcome, Passed, Setting, decide, stand_after, work_cost},
    case::{Answer, Case, Hypotheses, Reply, Settled, Tried, with_slips, yes_chance},
    model::{Check, Level, Remedy, SymptomId, TroubleModel},
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde::Serialize;
use std::collections::{HashMap, HashSet};

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
    /// What the work of the advice cost, sorted, in minutes of an operator's time; without the price of a call.
    pub work: Vec<f64>,
    /// What working down the printed list cost for the same faults, sorted, in the same minutes.
    pub printed_work: Vec<f64>,
    /// How many of these the printed list cured.
    pub printed_fixed: usize,
    /// How many no plan could cure: for something that shows the symptom no remedy of this operator would have worked.
    pub beyond_cure: usize,
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

    /// The same for working down the printed list.
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
/// holds that, and checks answer and remedies succeed as the model says. The printed list is worked down from the
/// top: for each cause its own check, where it has one, and the remedy where the check calls for it; then a test.
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
    let mut prover = Prover { model, setting, settled: &settled, decided: HashMap::new() };
    let mut found = Distribution {
        symptom: symptom.clone(),
        n,
        fixed: 0,
        rightly_passed_on: 0,
        passed_on_for_safety: 0,
        wrongly_passed_on: 0,
        work: Vec::with_capacity(n),
        printed_work: Vec::with_capacity(n),
        printed_fixed: 0,
        beyond_cure: 0,
        give_up: setting.costs.give_up,
    };
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    for _ in 0..n {
        let fault = prover.draw(&hypotheses, &mut dice);
        found.beyond_cure += usize::from(!prover.curable(&fault));
        let (end, work) = prover.by_advice(&case, fault.clone());
        found.work.push(work);
        match end {
            End::Fixed => found.fixed += 1,
            End::Rightly => found.rightly_passed_on += 1,
            End::ForSafety => found.passed_on_for_safety += 1,
            End::Wrongly => found.wrongly_passed_on += 1,
        }
        let (fixed, work) = prover.by_printed_list(symptom, fault);
        found.printed_work.push(work);
        found.printed_fixed += usize::from(fixed);
    }
    found.work.sort_by(f64::total_cmp);
    found.printed_work.sort_by(f64::total_cmp);
    Some(found)
}

enum End {
    Fixed,
    Rightly,
    ForSafety,
    Wrongly,
}

/// A fault that nobody at the machine can see. All luck is drawn beforehand, so that it is the same fault whichever way
/// it is worked on.
#[derive(Clone)]
struct Fault {
    /// The causes that are there, and whether each brings the symptom about.
    causes: Vec<(usize, bool)>,
    /// For each check, where its answer falls between 0 and 1.
    replies: Vec<f64>,
    /// The remedies that cure, each with its cause.
    cures: HashSet<(usize, usize)>,
}

struct Prover<'a> {
    model: &'a TroubleModel,
    setting: &'a Setting,
    settled: &'a Settled,
    /// What the advice was for the same answers before.
    decided: HashMap<String, Decided>,
}

#[derive(Clone)]
enum Decided {
    MakeSafe,
    Next(Do),
    Passed(Passed),
    Over,
}

impl Prover<'_> {
    /// Draws the causes, and which of them show the symptom, given that at least one does.
    fn draw(&self, hypotheses: &Hypotheses, dice: &mut ChaCha8Rng) -> Fault {
        let mut point: f64 = dice.random();
        let drawn = hypotheses.chances.iter().position(|chance| {
            point -= chance;
            point < 0.0
        });
        let set = hypotheses.sets[drawn.unwrap_or(0)];
        let there = |bit: usize| set >> bit & 1 == 1;
        let causes: Vec<usize> = (0..hypotheses.causes.len())
            .filter(|&bit| there(bit))
            .map(|bit| hypotheses.causes[bit])
            .collect();
        let links = &self.settled.situation.symptoms[0];
        let strength = |cause: usize| links.iter().find(|link| link.0 == cause).map_or(0.0, |link| link.1);
        loop {
            let shows: Vec<(usize, bool)> =
                causes.iter().map(|&cause| (cause, dice.random::<f64>() < strength(cause))).collect();
            if shows.iter().any(|(_, shows)| *shows) {
                let replies = self.model.checks().iter().map(|_| dice.random()).collect();
                let cures = self.lucky_cures(&shows, dice);
                return Fault { causes: shows, replies, cures };
            }
        }
    }

    /// Which remedies would cure which of these causes.
    fn lucky_cures(&self, causes: &[(usize, bool)], dice: &mut ChaCha8Rng) -> HashSet<(usize, usize)> {
        let mut lucky = HashSet::new();
        for (place, remedy) in self.model.remedies().iter().enumerate() {
            for cure in &remedy.cures {
                let cause = self.model.known(&cure.cause);
                let is_there = causes.iter().any(|(there, _)| *there == cause);
                if is_there && dice.random::<f64>() < cure.success.value() {
                    lucky.insert((place, cause));
                }
            }
        }
        lucky
    }

    /// Is there, for everything that shows the symptom, a remedy that this operator may try and that would cure it?
    fn curable(&self, fault: &Fault) -> bool {
        let own = |remedy: usize| self.model.remedies()[remedy].work.level <= self.setting.who;
        let mut showing = fault.causes.iter().filter(|(_, shows)| *shows);
        showing.all(|(cause, _)| fault.cures.iter().any(|(remedy, of)| of == cause && own(*remedy)))
    }

    fn by_advice(&mut self, start: &Case, mut fault: Fault) -> (End, f64) {
        let mut case = start.clone();
        for _ in 0..MOST_STEPS {
            let answer = match self.decide(&case) {
                Decided::MakeSafe => Answer::MadeSafe,
                Decided::Next(Do::Check(check)) => {
                    let known = self.model.check(&check).expect("the advice names what the model has");
                    let reply = self.answer(known, &fault);
                    Answer::Checked { check, reply }
                }
                Decided::Next(Do::Remedy(remedy)) => {
                    let known = self.model.remedy(&remedy).expect("the advice names what the model has");
                    let result = self.treat(known, &mut fault);
                    Answer::Tried { remedy, result }
                }
                Decided::Passed(passed) => {
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

    fn answer(&self, check: &Check, fault: &Fault) -> Reply {
        let answers = check
            .answers
            .iter()
            .map(|one| (self.model.known(&one.cause), with_slips(one.yes, self.setting.slip)));
        let otherwise = with_slips(check.otherwise, self.setting.slip);
        let there = |cause: usize| fault.causes.iter().any(|(other, _)| *other == cause);
        let place = self.model.checks().iter().position(|known| known.id == check.id);
        let drawn = fault.replies[place.expect("the check is the model's own")];
        if drawn < yes_chance(answers, otherwise, there) { Reply::Yes } else { Reply::No }
    }

    /// Treats the fault, and runs the machine to see.
    fn treat(&self, remedy: &Remedy, fault: &mut Fault) -> Tried {
        let place = self.model.remedies().iter().position(|known| known.id == remedy.id);
        let place = place.expect("the remedy is the model's own");
        fault.causes.retain(|(cause, _)| !fault.cures.contains(&(place, *cause)));
        if fault.causes.iter().any(|(_, shows)| *shows) { Tried::NotFixed } else { Tried::Fixed }
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

    /// Works down the printed list; returns whether that cured it, and what the work cost.
    fn by_printed_list(&self, symptom: &SymptomId, mut fault: Fault) -> (bool, f64) {
        let links = &self.model.symptom(symptom).expect("looked up before").links;
        let mut worked = work_cost::Worked::new(self.model, self.setting);
        let mut answered: HashMap<&str, Reply> = HashMap::new();
        let mut tried: Vec<&str> = Vec::new();
        // Once with the checks; then, before anybody is called, what was passed over is done all the same.
        for with_checks in [true, false] {
            for link in links {
                let own_check = self.own_check(link).filter(|_| with_checks);
                let called = own_check.is_none_or(|check| {
                    let reply = *answered.entry(check.id.as_str()).or_insert_with(|| {
                        worked.check(check);
                        self.answer(check, &fault)
                    });
                    let expected = check.answers.iter().find(|one| one.cause == link.cause);
                    let on_yes = expected.is_some_and(|one| one.yes > check.otherwise);
                    (reply == Reply::Yes) == on_yes
                });
                let remedies = self.model.remedies().iter().filter(|remedy| {
                    remedy.work.level <= self.setting.who
                        && remedy.cures.iter().any(|cure| cure.cause == link.cause)
                });
                for remedy in remedies.filter(|_| called) {
                    if tried.contains(&remedy.id.as_str()) {
                        continue;
                    }
                    tried.push(remedy.id.as_str());
                    worked.remedy(remedy);
                    if self.treat(remedy, &mut fault) == Tried::Fixed {
                        return (true, worked.cost());
                    }
                }
            }
        }
        (false, worked.cost())
    }

    /// The check that a printed table puts beside a cause: the one that tells it best from the rest.
    fn own_check(&self, link: &crate::model::Link) -> Option<&Check> {
        let telling = |check: &&Check| {
            let one = check.answers.iter().find(|one| one.cause == link.cause)?;
            Some((one.yes.value() - check.otherwise.value()).abs())
        };
        let allowed = self.model.checks().iter().filter(|check| check.work.level == Level::Operator);
        let told = allowed.filter_map(|check| telling(&check).map(|telling| (telling, check)));
        told.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, check)| check)
    }
}
