//! The advice itself: the next step with its worth, or the end of what an operator can do.

use super::{
    machine::{Preparing, Stand},
    problem::{Near, Problem, What},
    search::{Node, Priced, Search, outcomes},
    setting::{Clock, Setting},
    work_cost::stand_after,
};
use crate::{
    case::{Answer, Belief, Beliefs, Case, Hypotheses, Reply, SetAside, Settled, Tried, beliefs},
    model::{CauseId, CheckId, Hazard, Level, RemedyId, SymptomId, TroubleModel, Work},
};
use serde::Serialize;
use std::collections::BTreeSet;
use units::{Probability, Seconds};

/// So many other steps are shown beside the next one.
const OTHERS: usize = 4;
/// The share of looking ahead that goes again into how a case would go without a step.
const FOR_REASONS: f64 = 0.2;
/// So many of the likeliest causes are shown with an answer that may come.
const SHOWN_CAUSES: usize = 5;
/// A cause that was tried or ruled out has less than this left.
const RULED_OUT: f64 = 0.01;
/// What a repair request names as likely has at least this.
const LIKELY: f64 = 0.05;
/// A call is never made where it is needless with more than this chance, as long as no audience waits.
const MOST_NEEDLESS: f64 = 0.25;
/// A step that saves less than this, in minutes, against passing the case on is not worth a hand's turn.
const WORTH_A_STEP: f64 = 0.05;

/// What to do next, and why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Advice {
    /// What to believe as the case stands.
    pub beliefs: Beliefs,
    /// What to do.
    pub outcome: Outcome,
    /// Other steps, the cheapest plan first.
    pub others: Vec<Step>,
    /// What was spent so far, in minutes of an operator's time after the show.
    pub spent: f64,
    /// What is expected to be spent from here, in the same minutes, with a call for service where it comes to that.
    pub still_expected: f64,
}

/// What to do.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "do")]
pub enum Outcome {
    /// Before anything else: stop and make safe, then answer [`Answer::MadeSafe`].
    MakeSafe {
        /// What is in danger.
        hazards: BTreeSet<Hazard>,
        /// Which of the symptoms say so.
        symptoms: Vec<SymptomId>,
    },
    /// The next check or remedy.
    Next(Step),
    /// Pass it on to a technician.
    Refer(Referral),
    /// Nothing more that pays while the audience waits; after the show there is.
    Later,
    /// Done: what it was.
    Closed {
        /// The causes that may have been it, the likeliest first.
        causes: Vec<Belief>,
        /// The remedy that did it.
        remedy: RemedyId,
    },
    /// Nothing of the case is known to the model.
    NothingToGoOn,
}

/// One step and its worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// What to do.
    pub act: Do,
    /// What to do first, in order.
    pub prepare: Vec<Preparing>,
    /// How long the step takes, with its preparation.
    pub time: Seconds,
    /// What it costs by itself, in minutes of an operator's time after the show.
    pub cost: f64,
    /// What the whole case is expected to cost from here, with this step next.
    pub expected_with: f64,
    /// What it is expected to cost from here when this step is never taken.
    pub expected_without: f64,
    /// What may come of it.
    pub may: Vec<May>,
    /// How much the answer narrows the question down, in bits.
    pub bits: f64,
    /// Cautions of the step: keys of texts.
    pub cautions: Vec<String>,
    /// How the causes in question can hurt.
    pub hazards: BTreeSet<Hazard>,
}

/// A check or a remedy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Do {
    /// Answer this.
    Check(CheckId),
    /// Try this.
    Remedy(RemedyId),
}

/// An answer that may come, how likely, and what it would leave to believe.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct May {
    /// The answer.
    pub answer: Answer,
    /// How likely it is.
    pub chance: Probability,
    /// The likeliest causes then.
    pub then: Vec<Belief>,
}

/// All that a repair request needs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Referral {
    /// Why it is passed on.
    pub passed: Passed,
    /// What was noticed.
    pub symptoms: Vec<SymptomId>,
    /// What was answered and tried, by place in the case.
    pub answers: Vec<Answer>,
    /// The causes that are ruled out or were cured without the symptom going away.
    pub ruled_out: Vec<CauseId>,
    /// The causes that are likely, the likeliest first.
    pub likely: Vec<Belief>,
    /// How those can hurt.
    pub hazards: BTreeSet<Hazard>,
}

/// Why a case is passed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Passed {
    /// It is likely an electrical, xenon or nitrate matter that an operator leaves alone.
    Danger,
    /// Nothing that is left may be put right by an operator.
    Beyond,
    /// What is left to try costs more than the call.
    CheaperToCall,
}

/// Returns what to do next. The same model, case and setting always give the same advice.
pub fn advise(model: &TroubleModel, case: &Case, setting: &Setting) -> Advice {
    Desk::new(model, case, setting).advice()
}

/// What a case has come to.
enum Weighed {
    Ended(Outcome),
    /// The problem, and all steps, the cheapest plan first.
    Steps(Box<Problem>, Vec<Priced>),
}

/// The advice without its reasons.
pub(crate) enum Decision {
    /// It is over, or something comes before all weighing.
    Ended(Outcome),
    /// Do this.
    Next(Do),
}

/// Returns what [`advise`] advises, without working out what each step is worth.
pub(crate) fn decide(model: &TroubleModel, case: &Case, setting: &Setting) -> Decision {
    let desk = Desk::new(model, case, setting);
    match desk.weigh() {
        Weighed::Ended(outcome) => Decision::Ended(outcome),
        Weighed::Steps(problem, priced) => {
            let best = priced.first().expect("there is a step, or the case has ended");
            let act = match &problem.acts[best.act].what {
                What::Check { check, .. } => Do::Check(model.checks()[*check].id.clone()),
                What::Remedy { remedy, .. } => Do::Remedy(model.remedies()[*remedy].id.clone()),
            };
            Decision::Next(act)
        }
    }
}

struct Desk<'a> {
    model: &'a TroubleModel,
    case: &'a Case,
    setting: &'a Setting,
    settled: Settled,
    beliefs: Beliefs,
    spent: f64,
    stand: Stand,
}

impl<'a> Desk<'a> {
    fn new(model: &'a TroubleModel, case: &'a Case, setting: &'a Setting) -> Self {
        let settled = Settled::of(model, case, setting.slip);
        let beliefs = settled.clone().beliefs(model);
        let (spent, stand) = stand_after(model, &case.answers, setting);
        Self { model, case, setting, settled, beliefs, spent, stand }
    }

    fn advice(self) -> Advice {
        let give_up = self.setting.costs.give_up;
        let (problem, priced) = match self.weigh() {
            Weighed::Ended(outcome @ (Outcome::Refer(_) | Outcome::Later)) => {
                return self.done(outcome, Vec::new(), give_up);
            }
            Weighed::Ended(outcome) => return self.done(outcome, Vec::new(), 0.0),
            Weighed::Steps(problem, priced) => (problem, priced),
        };
        let node = Node::start(&problem);
        let mut search = Search::new(&problem, self.setting.look_ahead * 1e6 * FOR_REASONS);
        let mut steps = priced
            .iter()
            .take(1 + OTHERS)
            .enumerate()
            // How the case would go without a step is worked out with more care for the step that is advised.
            .map(|(place, step)| self.step(&problem, &mut search, &node, step, usize::from(place == 0)));
        let next = steps.next().expect("there is a step, or the case has ended");
        let others = steps.collect();
        let expected = next.expected_with;
        self.done(Outcome::Next(next), others, expected)
    }

    /// Has the case come to an end, or else: what may be done, the cheapest plan first?
    fn weigh(&self) -> Weighed {
        if let Some(outcome) = self.before_all() {
            return Weighed::Ended(outcome);
        }
        let mut problem = self.problem(Near::AsAllowed);
        let danger = self.is_likely_dangerous(&problem);
        if danger {
            if self.stops_for_people() {
                return Weighed::Ended(self.pass_on(Passed::Danger));
            }
            problem = self.problem(Near::KeepAway);
        }
        let needless = problem.needless();
        let why = match needless {
            _ if danger => Passed::Danger,
            needless if needless < LIKELY => Passed::Beyond,
            _ => Passed::CheaperToCall,
        };
        let mut search = Search::new(&problem, self.setting.look_ahead * 1e6);
        let priced = search.steps(&Node::start(&problem));
        let must_go_on =
            self.setting.clock == Clock::AfterShow && !danger && needless > self.needless_calls_allowed();
        match priced.first() {
            Some(best) if must_go_on || best.expected < self.setting.costs.give_up - WORTH_A_STEP => {
                Weighed::Steps(Box::new(problem), priced)
            }
            _ => Weighed::Ended(self.pass_on(why)),
        }
    }

    /// How likely a call may be needless at its moment, so that over all cases like this one no more are than the
    /// limit says: where few are passed on at all, each of them may be so more likely.
    fn needless_calls_allowed(&self) -> f64 {
        let start = Case { answers: Vec::new(), ..self.case.clone() };
        let settled = Settled::of(self.model, &start, self.setting.slip);
        let hypotheses = Hypotheses::of(&settled.situation, &settled.now);
        let cured = |cause: usize| match self.model.causes().get(cause) {
            Some(known) if known.level <= self.setting.who => self.model.cure_chance(cause, self.setting.who),
            _ => 0.0,
        };
        let cured: Vec<f64> = hypotheses.causes.iter().map(|&cause| cured(cause)).collect();
        let all_cured = |set: u64| -> f64 {
            (0..cured.len()).filter(|bit| set >> bit & 1 == 1).map(|bit| cured[bit]).product()
        };
        let mended =
            hypotheses.sets.iter().zip(&hypotheses.chances).map(|(set, chance)| chance * all_cured(*set));
        let passed_on = (1.0 - mended.sum::<f64>()).max(0.0);
        (self.setting.limits.needless.value() / passed_on).min(MOST_NEEDLESS)
    }

    fn problem(&self, near: Near) -> Problem {
        Problem::of(self.model, &self.settled, self.setting, self.stand, near)
    }

    fn done(self, outcome: Outcome, others: Vec<Step>, still_expected: f64) -> Advice {
        Advice { beliefs: self.beliefs, outcome, others, spent: self.spent, still_expected }
    }

    /// What comes before any weighing: an end, an emptiness, a danger.
    fn before_all(&self) -> Option<Outcome> {
        if self.beliefs.closed
            && let Some(Answer::Tried { remedy, .. }) = self.case.answers.last()
        {
            let causes = self.likely(LIKELY);
            return Some(Outcome::Closed { causes, remedy: remedy.clone() });
        }
        if self.settled.situation.symptoms.is_empty() {
            return Some(Outcome::NothingToGoOn);
        }
        // What was noticed after it was made safe asks for it anew.
        let made_safe = self.case.answers.iter().rposition(|answer| *answer == Answer::MadeSafe);
        let noticed = |id: &SymptomId| {
            let is_it =
                |answer: &Answer| matches!(answer, Answer::Noticed { symptom, there: true } if symptom == id);
            self.case.answers.iter().position(is_it).filter(|_| !self.case.symptoms.contains(id))
        };
        let is_safe = |id: &SymptomId| made_safe.is_some_and(|made| noticed(id).is_none_or(|at| at < made));
        let (mut hazards, mut symptoms) = (BTreeSet::new(), Vec::new());
        for id in self.settled.situation.symptom_ids.iter().filter(|id| !is_safe(id)) {
            let stop_now = &self.model.symptom(id).expect("only known symptoms are kept").stop_now;
            if !stop_now.is_empty() {
                hazards.extend(stop_now.iter().copied());
                symptoms.push(id.clone());
            }
        }
        (!symptoms.is_empty()).then_some(Outcome::MakeSafe { hazards, symptoms })
    }

    /// Does one of the symptoms say that people are in danger? Then nothing is run again to see.
    fn stops_for_people(&self) -> bool {
        let symptoms = self.settled.situation.symptom_ids.iter().filter_map(|id| self.model.symptom(id));
        symptoms.flat_map(|symptom| &symptom.stop_now).any(|hazard| hazard.stops_an_operator())
    }

    /// Is it likely enough an electrical, xenon or nitrate matter that is not for who is there?
    fn is_likely_dangerous(&self, problem: &Problem) -> bool {
        let dangerous = |cause: usize| {
            self.model.causes().get(cause).is_some_and(|cause| {
                cause.level > self.setting.who
                    && cause.hazards.iter().any(|hazard| hazard.stops_an_operator())
            })
        };
        let causes = &problem.hypotheses.causes;
        let danger: f64 = problem
            .hypotheses
            .sets
            .iter()
            .zip(&problem.hypotheses.chances)
            .filter(|(set, _)| (0..causes.len()).any(|bit| *set >> bit & 1 == 1 && dangerous(causes[bit])))
            .map(|(_, chance)| chance)
            .sum();
        danger >= self.setting.limits.danger.value() && self.setting.who == Level::Operator
    }

    /// During a show nobody is called: what is left waits, unless it is dangerous.
    fn pass_on(&self, passed: Passed) -> Outcome {
        if self.setting.clock == Clock::ShowRunning && passed != Passed::Danger {
            return Outcome::Later;
        }
        let likely = self.likely(LIKELY);
        let hazards = self.hazards(likely.iter().map(|belief| &belief.cause));
        let ruled_out = self.beliefs.causes.iter().filter(|belief| belief.now.value() < RULED_OUT);
        Outcome::Refer(Referral {
            passed,
            symptoms: self.settled.situation.symptom_ids.clone(),
            answers: self.case.answers.clone(),
            ruled_out: ruled_out.map(|belief| belief.cause.clone()).collect(),
            likely,
            hazards,
        })
    }

    fn likely(&self, least: f64) -> Vec<Belief> {
        self.beliefs.causes.iter().filter(|belief| belief.now.value() >= least).cloned().collect()
    }

    fn hazards<'b>(&self, causes: impl Iterator<Item = &'b CauseId>) -> BTreeSet<Hazard> {
        causes
            .filter_map(|cause| self.model.cause(cause))
            .flat_map(|cause| cause.hazards.iter().copied())
            .collect()
    }

    fn step(
        &self,
        problem: &Problem,
        search: &mut Search<'_>,
        node: &Node,
        priced: &Priced,
        depth: usize,
    ) -> Step {
        let act = &problem.acts[priced.act];
        let (act_id, work, in_question): (Do, &Work, Vec<&CauseId>) = match &act.what {
            What::Check { check, .. } => {
                let check = &self.model.checks()[*check];
                let causes = check.answers.iter().map(|answers| &answers.cause).collect();
                (Do::Check(check.id.clone()), &check.work, causes)
            }
            What::Remedy { remedy, .. } => {
                let remedy = &self.model.remedies()[*remedy];
                let causes = remedy.cures.iter().map(|cure| &cure.cause).collect();
                (Do::Remedy(remedy.id.clone()), &remedy.work, causes)
            }
        };
        let (mut prepare, after) = problem.ways.preparing(self.stand, act.need);
        let mut time: f64 = prepare.iter().map(|step| step.time.seconds()).sum();
        time += work.time.seconds();
        if matches!(act.what, What::Remedy { .. }) {
            let (testing, _) = problem.ways.testing(after);
            time += testing.iter().map(|step| step.time.seconds()).sum::<f64>();
        }
        prepare.retain(|step| step.time > Seconds::ZERO);
        let hazards = self
            .hazards(in_question.into_iter().filter(|cause| self.beliefs.now(cause).value() >= RULED_OUT));
        Step {
            may: self.may(problem, node, priced.act, &act_id),
            act: act_id,
            prepare,
            time: Seconds::new(time),
            cost: priced.cost,
            expected_with: priced.expected,
            // A step never makes a case dearer than it would be without: one may still leave it undone.
            expected_without: search.without(node, priced.act, depth).max(priced.expected),
            bits: bits(problem, node, priced.act),
            cautions: work.cautions.clone(),
            hazards,
        }
    }

    fn may(&self, problem: &Problem, node: &Node, place: usize, act: &Do) -> Vec<May> {
        let (_, next) = outcomes(problem, node, place);
        let may = |answer: Answer, chance: f64| {
            let then = beliefs(self.model, &self.case.with(answer.clone()), self.setting.slip);
            let then = then.causes.into_iter().take(SHOWN_CAUSES).collect();
            May { answer, chance: Probability::clamped(chance), then }
        };
        match act {
            Do::Check(check) => [Reply::Yes, Reply::No]
                .into_iter()
                .zip(&next)
                .map(|(reply, node)| may(Answer::Checked { check: check.clone(), reply }, node.total()))
                .collect(),
            Do::Remedy(remedy) => {
                let not_fixed: f64 = next.iter().map(Node::total).sum();
                [(Tried::Fixed, 1.0 - not_fixed), (Tried::NotFixed, not_fixed)]
                    .into_iter()
                    .map(|(result, chance)| may(Answer::Tried { remedy: remedy.clone(), result }, chance))
                    .collect()
            }
        }
    }
}

/// How much the answer to a step narrows down which causes are there, in bits.
fn bits(problem: &Problem, node: &Node, place: usize) -> f64 {
    let (_, next) = outcomes(problem, node, place);
    let entropy = |chances: &[f64]| -> f64 {
        let total: f64 = chances.iter().sum();
        chances.iter().filter(|&&chance| chance > 0.0).map(|&chance| -chance * (chance / total).log2()).sum()
    };
    // What is fixed needs no more asking.
    (entropy(&node.chances) - next.iter().map(|node| entropy(&node.chances)).sum::<f64>()).max(0.0)
}

impl Advice {
    /// What is not counted, and why.
    pub fn set_aside(&self) -> &[SetAside] {
        &self.beliefs.set_aside
    }

    /// The next step, where there is one.
    pub fn next(&self) -> Option<&Step> {
        match &self.outcome {
            Outcome::Next(step) => Some(step),
            _ => None,
        }
    }
}
