//! A case as a problem of deciding: which combinations of causes there may be, what may be done, what that costs.

use super::{
    machine::{Need, Stand, Ways},
    setting::{Clock, Setting},
};
use crate::{
    case::{Hypotheses, Settled, Situation, split, with_slips},
    model::{Check, MachineState, Remedy, TroubleModel, Work},
};
use std::collections::{BTreeSet, HashMap};

/// So many checks and remedies are weighed, the most promising of them.
pub(crate) const MOST_ACTS: usize = 60;
/// For each remedy so many checks are thought of as its forerunner.
const FORERUNNERS: usize = 3;
/// A check whose yes is as likely under all combinations, within this, tells nothing now.
const TELLS: f64 = 0.01;

/// Something that may be done.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Act {
    pub(crate) what: What,
    pub(crate) need: Need,
}

/// What it is, by its place in the model, and what it does to each combination.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum What {
    /// A check: the chance of a yes.
    Check { check: usize, yes: Vec<f64> },
    /// A remedy.
    Remedy {
        remedy: usize,
        /// The chance that the symptom is gone.
        fixed: Vec<f64>,
        /// From which combination to which, not fixed, with which chance.
        moves: Vec<(u32, u32, f64)>,
    },
}

/// A remedy, alone or after a check that calls for it: a step of the simple plan.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pair {
    pub(crate) remedy: usize,
    /// The check, and what the remedy follows on.
    pub(crate) check: Option<usize>,
    /// For each combination: the chance that the remedy is called for.
    pub(crate) called: Vec<f64>,
    /// And that it then helps.
    pub(crate) helps: Vec<f64>,
}

/// All there is to decide about.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Problem {
    pub(crate) hypotheses: Hypotheses,
    pub(crate) acts: Vec<Act>,
    pub(crate) pairs: Vec<Pair>,
    pub(crate) ways: Ways,
    pub(crate) give_up: f64,
    pub(crate) stand: Stand,
    /// For each combination: is all of it the operator's own to mend, with a remedy at hand?
    is_own: Vec<bool>,
}

impl Problem {
    pub(crate) fn of(
        model: &TroubleModel,
        settled: &Settled,
        setting: &Setting,
        stand: Stand,
        near: Near,
    ) -> Self {
        let situation = &settled.situation;
        let mut hypotheses = Hypotheses::of(situation, &settled.now);
        close_under_cures(model, &mut hypotheses);
        let ways = Ways::new(&model.parts().preparation, setting.costs);
        let mut acts = Vec::new();
        let table = Table { hypotheses: &hypotheses, situation, model };
        for (place, check) in model.checks().iter().enumerate() {
            if may(setting, &check.work, near) && !situation.used_checks.contains(check.id.as_str()) {
                acts.extend(
                    table
                        .check(place, check, setting)
                        .map(|what| Act { what, need: ways.need_of_check(check) }),
                );
            }
        }
        for (place, remedy) in model.remedies().iter().enumerate() {
            if may(setting, &remedy.work, near) && !situation.used_remedies.contains(remedy.id.as_str()) {
                acts.extend(
                    table.remedy(place, remedy).map(|what| Act { what, need: ways.need(&remedy.work) }),
                );
            }
        }
        keep_most_promising(&mut acts, &hypotheses.chances);
        let pairs = pairs(&acts, &hypotheses.chances);
        let is_own = is_own(model, setting, &acts, &hypotheses);
        Self { hypotheses, acts, pairs, ways, give_up: setting.costs.give_up, stand, is_own }
    }

    /// The same problem with these combinations only, as if it were told that it is one of them: what tells them apart
    /// and what cures them stays, but for what was done. None where a remedy may lead out of them.
    pub(crate) fn only(
        &self,
        kept: &[usize],
        chances: Vec<f64>,
        stand: Stand,
        is_done: impl Fn(usize) -> bool,
    ) -> Option<Self> {
        let place = |of: u32| kept.iter().position(|&one| one == of as usize);
        let of_kept = |values: &[f64]| -> Vec<f64> { kept.iter().map(|&at| values[at]).collect() };
        let mut acts = Vec::new();
        for (at, act) in self.acts.iter().enumerate() {
            if is_done(at) || !act.bears_on(kept) {
                continue;
            }
            let what = match &act.what {
                What::Check { check, yes } => What::Check { check: *check, yes: of_kept(yes) },
                What::Remedy { remedy, fixed, moves } => {
                    let fixed = of_kept(fixed);
                    let moves = moves.iter().filter(|(from, ..)| place(*from).is_some());
                    let moves: Option<Vec<_>> = moves
                        .map(|&(from, to, part)| Some((place(from)? as u32, place(to)? as u32, part)))
                        .collect();
                    What::Remedy { remedy: *remedy, fixed, moves: moves? }
                }
            };
            acts.push(Act { what, need: act.need });
        }
        let hypotheses = Hypotheses {
            causes: self.hypotheses.causes.clone(),
            sets: kept.iter().map(|&at| self.hypotheses.sets[at]).collect(),
            chances,
        };
        let pairs = pairs(&acts, &hypotheses.chances);
        let is_own = kept.iter().map(|&at| self.is_own[at]).collect();
        Some(Self { hypotheses, acts, pairs, ways: self.ways.clone(), give_up: self.give_up, stand, is_own })
    }

    /// The chance that all that is there is the operator's own to mend, with a remedy at hand: that a call now would
    /// be needless.
    pub(crate) fn needless(&self) -> f64 {
        let own = self.hypotheses.chances.iter().zip(&self.is_own).filter(|(_, is_own)| **is_own);
        own.map(|(chance, _)| chance).sum()
    }
}

/// How near the work may go to live parts, a xenon lamp, or film that may be nitrate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Near {
    /// As near as the table allows who is there.
    AsAllowed,
    /// Eyes, ears, and the controls and plugs outside; no hand inside the machine.
    KeepAway,
}

/// May it be done by who is there, as the clock runs, and as near as that?
fn may(setting: &Setting, work: &Work, near: Near) -> bool {
    work.level <= setting.who
        && (setting.clock == Clock::AfterShow || work.during_show)
        && (near == Near::AsAllowed || !reaches_danger(work))
}

/// Is it inside the machine, near something that an operator leaves alone?
fn reaches_danger(work: &Work) -> bool {
    let inside = work.access.is_some() || work.state >= MachineState::Unplugged;
    inside && work.hazards.iter().any(|hazard| hazard.stops_an_operator())
}

/// Adds what remedies may leave of the combinations, so that every outcome is among them.
fn close_under_cures(model: &TroubleModel, hypotheses: &mut Hypotheses) {
    let curable: BTreeSet<usize> = model
        .remedies()
        .iter()
        .flat_map(|remedy| remedy.cures.iter().map(|cure| model.known(&cure.cause)))
        .collect();
    let mut known: BTreeSet<u64> = hypotheses.sets.iter().copied().collect();
    let mut open = hypotheses.sets.clone();
    while let Some(set) = open.pop() {
        for (bit, cause) in hypotheses.causes.iter().enumerate() {
            let left = set & !(1 << bit);
            if left != set && curable.contains(cause) && left != 0 && known.insert(left) {
                hypotheses.sets.push(left);
                hypotheses.chances.push(0.0);
                open.push(left);
            }
        }
    }
}

struct Table<'a> {
    hypotheses: &'a Hypotheses,
    situation: &'a Situation,
    model: &'a TroubleModel,
}

impl Table<'_> {
    /// A check, if it tells anything now.
    fn check(&self, place: usize, check: &Check, setting: &Setting) -> Option<What> {
        let about = &check.about;
        if !about.is_empty() && !self.situation.symptom_ids.iter().any(|id| about.contains(id)) {
            return None;
        }
        let answers =
            check.answers.iter().map(|one| (self.model.known(&one.cause), with_slips(one.yes, setting.slip)));
        let base = with_slips(check.otherwise, setting.slip);
        let (ups, downs) = split(answers, base);
        let causes = &self.hypotheses.causes;
        let bits = |links: Vec<(usize, f64)>| -> Vec<(u64, f64)> {
            let bit = |(cause, strength): (usize, f64)| {
                causes.iter().position(|&of| of == cause).map(|bit| (1 << bit, 1.0 - strength))
            };
            links.into_iter().filter_map(bit).collect()
        };
        let (ups, downs) = (bits(ups), bits(downs));
        if ups.is_empty() && downs.is_empty() {
            return None;
        }
        let quiet = |links: &[(u64, f64)], set: u64| -> f64 {
            links.iter().filter(|(bit, _)| set & bit != 0).map(|(_, quiet)| quiet).product()
        };
        let yes = |&set: &u64| (1.0 - (1.0 - base) * quiet(&ups, set)) * quiet(&downs, set);
        let yes: Vec<f64> = self.hypotheses.sets.iter().map(yes).collect();
        let counts = || yes.iter().zip(&self.hypotheses.chances).filter(|(_, chance)| **chance > 0.0);
        let least = counts().map(|(yes, _)| *yes).fold(f64::INFINITY, f64::min);
        let most = counts().map(|(yes, _)| *yes).fold(0.0, f64::max);
        (most - least > TELLS).then_some(What::Check { check: place, yes })
    }

    /// A remedy, if it may cure anything that may be there.
    fn remedy(&self, place: usize, remedy: &Remedy) -> Option<What> {
        let cures = remedy.cures.iter();
        let cures: Vec<(usize, f64)> =
            cures.map(|cure| (self.model.known(&cure.cause), cure.success.value())).collect();
        let places: HashMap<u64, usize> =
            self.hypotheses.sets.iter().enumerate().map(|(at, &set)| (set, at)).collect();
        let mut fixed = vec![0.0; self.hypotheses.sets.len()];
        let mut moves = Vec::new();
        for (from, &set) in self.hypotheses.sets.iter().enumerate() {
            for (left, part) in self.hypotheses.after(set, &cures) {
                let there = self.hypotheses.still_there(self.situation, set, left);
                fixed[from] += part * (1.0 - there);
                if part * there > 0.0 {
                    let to = places.get(&left).copied().unwrap_or(from);
                    moves.push((from as u32, to as u32, part * there));
                }
            }
        }
        let helps = fixed.iter().zip(&self.hypotheses.chances).any(|(fixed, chance)| fixed * chance > 0.0);
        helps.then_some(What::Remedy { remedy: place, fixed, moves })
    }
}

/// Where there is too much to weigh, what promises most stays.
fn keep_most_promising(acts: &mut Vec<Act>, chances: &[f64]) {
    if acts.len() <= MOST_ACTS {
        return;
    }
    let mut worth: Vec<(f64, usize)> =
        acts.iter().enumerate().map(|(place, act)| (act.promise(chances), place)).collect();
    worth.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let kept: BTreeSet<usize> = worth[..MOST_ACTS].iter().map(|(_, place)| *place).collect();
    let mut place = 0;
    acts.retain(|_| {
        place += 1;
        kept.contains(&(place - 1))
    });
}

impl Act {
    /// Whether it tells some of these combinations apart, or may cure one of them. What answers all of them alike tells
    /// nothing, and prepares no more than the next step does.
    pub(crate) fn bears_on(&self, kept: &[usize]) -> bool {
        match &self.what {
            What::Check { yes, .. } => kept.iter().any(|&at| yes[at] != yes[kept[0]]),
            What::Remedy { fixed, .. } => kept.iter().any(|&at| fixed[at] > 0.0),
        }
    }

    /// What it may bring for each minute: the chance of a cure, or how much a yes and a no differ.
    fn promise(&self, chances: &[f64]) -> f64 {
        let minutes = self.need.minutes + 0.1;
        let mean =
            |values: &[f64]| values.iter().zip(chances).map(|(value, chance)| value * chance).sum::<f64>();
        match &self.what {
            What::Remedy { fixed, .. } => mean(fixed) / minutes,
            What::Check { yes, .. } => {
                let middle = mean(yes);
                let spread: Vec<f64> = yes.iter().map(|yes| (yes - middle).powi(2)).collect();
                mean(&spread) / minutes
            }
        }
    }
}

/// Each remedy by itself, and after each of the checks that best call for it.
fn pairs(acts: &[Act], chances: &[f64]) -> Vec<Pair> {
    let mut pairs = Vec::new();
    for (remedy, act) in acts.iter().enumerate() {
        let What::Remedy { fixed, .. } = &act.what else { continue };
        pairs.push(Pair { remedy, check: None, called: vec![1.0; fixed.len()], helps: fixed.clone() });
        let mut with: Vec<(f64, Pair)> = Vec::new();
        for (check, before) in acts.iter().enumerate() {
            let What::Check { yes, .. } = &before.what else { continue };
            for on_yes in [true, false] {
                let called: Vec<f64> = yes.iter().map(|yes| if on_yes { *yes } else { 1.0 - yes }).collect();
                let helps: Vec<f64> =
                    called.iter().zip(fixed).map(|(called, fixed)| called * fixed).collect();
                let mean = |values: &[f64]| values.iter().zip(chances).map(|(v, c)| v * c).sum::<f64>();
                let cost = before.need.minutes + mean(&called) * (act.need.minutes + 0.1) + 0.05;
                with.push((mean(&helps) / cost, Pair { remedy, check: Some(check), called, helps }));
            }
        }
        with.sort_by(|a, b| b.0.total_cmp(&a.0));
        pairs.extend(with.into_iter().take(FORERUNNERS).map(|(_, pair)| pair));
    }
    pairs
}

fn is_own(model: &TroubleModel, setting: &Setting, acts: &[Act], hypotheses: &Hypotheses) -> Vec<bool> {
    let remedies = acts.iter().filter_map(|act| match act.what {
        What::Remedy { remedy, .. } => Some(&model.remedies()[remedy]),
        What::Check { .. } => None,
    });
    let at_hand: BTreeSet<usize> =
        remedies.flat_map(|remedy| &remedy.cures).map(|cure| model.known(&cure.cause)).collect();
    let is_own = |cause: usize| {
        at_hand.contains(&cause) && model.causes().get(cause).is_some_and(|cause| cause.level <= setting.who)
    };
    let causes: Vec<bool> = hypotheses.causes.iter().map(|&cause| is_own(cause)).collect();
    let there = |set: u64| (0..causes.len()).filter(move |bit| set >> bit & 1 == 1);
    hypotheses.sets.iter().map(|&set| there(set).all(|bit| causes[bit])).collect()
}
