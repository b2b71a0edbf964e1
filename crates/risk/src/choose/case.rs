//! A showing with its hazards, what can be done about them, and what a set of deeds leaves.

use crate::{
    action::{Action, Change, Lean, Preparation, Supply, after},
    chance::Chance,
    hazard::{Hazard, Outcome},
    shared::found_gone,
};
use units::Probability;

/// A showing's hazards and what can be done about them; the places are checked when it is made.
#[derive(Debug, Clone, PartialEq)]
pub struct Case<K, A> {
    hazards: Vec<Hazard<K>>,
    actions: Vec<Action<A>>,
    preparations: Vec<Preparation<A>>,
    supplies: Vec<Supply<A>>,
    leans: Vec<Lean>,
}

/// A case that does not hang together.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CaseError {
    /// An effect names a hazard that is not there.
    #[error("action {action} changes hazard {hazard}, and there are {n_hazards}, counted from 0")]
    NoSuchHazard {
        /// The action's place.
        action: usize,
        /// The hazard it names.
        hazard: usize,
        /// How many there are.
        n_hazards: usize,
    },
    /// An action needs a preparation that is not there.
    #[error(
        "action {action} needs preparation {preparation}, and there are {n_preparations}, counted from 0"
    )]
    NoSuchPreparation {
        /// The action's place.
        action: usize,
        /// The preparation it names.
        preparation: usize,
        /// How many there are.
        n_preparations: usize,
    },
    /// An action or a hazard names a supply that is not there.
    #[error("supply {supply} is named, and there are {n_supplies}, counted from 0")]
    NoSuchSupply {
        /// The supply that is named.
        supply: usize,
        /// How many there are.
        n_supplies: usize,
    },
    /// A lean names a hazard that is not there.
    #[error("a lean names hazard {hazard}, and there are {n_hazards}, counted from 0")]
    NothingLeans {
        /// The hazard it names.
        hazard: usize,
        /// How many there are.
        n_hazards: usize,
    },
    /// Minutes must be a number of at least nothing.
    #[error("{minutes} is no number of minutes that work can take")]
    Minutes {
        /// What was given.
        minutes: f64,
    },
}

impl<K: Clone, A> Case<K, A> {
    /// Checks that every place that is named is there and that minutes are minutes.
    pub fn new(
        hazards: Vec<Hazard<K>>,
        actions: Vec<Action<A>>,
        preparations: Vec<Preparation<A>>,
    ) -> Result<Self, CaseError> {
        let (n_hazards, n_preparations) = (hazards.len(), preparations.len());
        for (at, action) in actions.iter().enumerate() {
            if let Some(effect) = action.effects.iter().find(|effect| effect.hazard >= n_hazards) {
                return Err(CaseError::NoSuchHazard { action: at, hazard: effect.hazard, n_hazards });
            }
            if let Some(&preparation) = action.needs.iter().find(|need| **need >= n_preparations) {
                return Err(CaseError::NoSuchPreparation { action: at, preparation, n_preparations });
            }
        }
        let minutes = actions.iter().map(|a| a.minutes).chain(preparations.iter().map(|p| p.minutes));
        match minutes.into_iter().find(|minutes| !(*minutes >= 0.0 && minutes.is_finite())) {
            Some(minutes) => Err(CaseError::Minutes { minutes }),
            None => Ok(Self { hazards, actions, preparations, supplies: Vec::new(), leans: Vec::new() }),
        }
    }

    /// The same with what the actions take and the hazards lean on. An action without its supply is no longer to be had.
    pub fn with_supplies(mut self, supplies: Vec<Supply<A>>, leans: Vec<Lean>) -> Result<Self, CaseError> {
        let (n_supplies, n_hazards) = (supplies.len(), self.hazards.len());
        let taken = self.actions.iter().flat_map(|action| &action.takes).copied();
        if let Some(supply) =
            taken.chain(leans.iter().map(|lean| lean.supply)).find(|supply| *supply >= n_supplies)
        {
            return Err(CaseError::NoSuchSupply { supply, n_supplies });
        }
        if let Some(lean) = leans.iter().find(|lean| lean.hazard >= n_hazards) {
            return Err(CaseError::NothingLeans { hazard: lean.hazard, n_hazards });
        }
        (self.supplies, self.leans) = (supplies, leans);
        Ok(self)
    }

    /// What may stop the showing.
    pub fn hazards(&self) -> &[Hazard<K>] {
        &self.hazards
    }

    /// What several actions need.
    pub fn preparations(&self) -> &[Preparation<A>] {
        &self.preparations
    }

    /// What can be done.
    pub fn actions(&self) -> &[Action<A>] {
        &self.actions
    }

    /// The hazards as they stand once these actions are done. Of two failures that want the last spare the later one
    /// finds it gone: that is in what they cost.
    pub fn after(&self, done: &[usize]) -> Vec<Hazard<K>> {
        let stands = self.stands(done).into_iter();
        let keys = self.hazards.iter().map(|hazard| hazard.key.clone());
        keys.zip(stands).map(|(key, (chance, outcome))| Hazard { key, chance, outcome }).collect()
    }

    /// How many of a supply a set leaves; none where it takes more than there are.
    fn left(&self, supply: usize, set: &[usize]) -> Option<usize> {
        let takes = |at: &usize| self.actions[*at].takes.iter().filter(|taken| **taken == supply).count();
        self.supplies[supply].count.checked_sub(set.iter().map(takes).sum())
    }

    /// There is what all actions of a set take.
    pub(super) fn is_stocked(&self, set: &[usize]) -> bool {
        (0..self.supplies.len()).all(|supply| self.left(supply, set).is_some())
    }

    /// A hazard that this action changes leans on a supply.
    pub(super) fn concerns_a_lean(&self, action: usize) -> bool {
        let effects = &self.actions[action].effects;
        self.leans.iter().any(|lean| effects.iter().any(|effect| effect.hazard == lean.hazard))
    }

    /// Minutes that a set takes; a preparation that several need is counted once.
    pub fn minutes(&self, set: &[usize]) -> f64 {
        let own: f64 = set.iter().map(|at| self.actions[*at].minutes).sum();
        let needed = (0..self.preparations.len())
            .filter(|need| set.iter().any(|at| self.actions[*at].needs.contains(need)));
        own + needed.map(|need| self.preparations[need].minutes).sum::<f64>()
    }

    fn changes<'s>(&'s self, hazard: usize, done: &'s [usize]) -> impl Iterator<Item = Change> + 's {
        let effects = done.iter().flat_map(|at| &self.actions[*at].effects);
        effects.filter(move |effect| effect.hazard == hazard).map(|effect| effect.change)
    }

    /// What is left of each hazard once a set is done, were there a spare for whoever wants one.
    fn eased(&self, done: &[usize]) -> Vec<Eased> {
        let one = |(at, hazard): (usize, &Hazard<K>)| {
            let lean = self.leans.iter().find(|lean| lean.hazard == at);
            let (chance, ready) = after(hazard, hazard.outcome, self.changes(at, done));
            let lean = lean.map(|lean| Leans {
                supply: lean.supply,
                without: after(hazard, lean.without, self.changes(at, done)).1,
                // Where something milder stands ready the spare stays in its box.
                draws: ready == hazard.outcome,
            });
            Eased { chance, ready, lean }
        };
        self.hazards.iter().enumerate().map(one).collect()
    }

    /// The chance and the outcome of each hazard once a set is done.
    fn stands(&self, done: &[usize]) -> Vec<(Chance, Outcome)> {
        let eased = self.eased(done);
        let left = |supply| self.left(supply, done).unwrap_or(0);
        let one = |(at, own): (usize, &Eased)| (own.chance, own.outcome(gone(&eased, at, left)));
        eased.iter().enumerate().map(one).collect()
    }

    /// The least chance with which each hazard finds its spare gone, whatever is done: with none taken before the
    /// showing, and the others as rare as all deeds together would make them.
    pub(super) fn least_gone(&self) -> Vec<Probability> {
        let all: Vec<usize> = (0..self.actions.len()).collect();
        let eased = self.eased(&all);
        let there = |supply: usize| self.supplies[supply].count;
        (0..eased.len()).map(|at| gone(&eased, at, there)).collect()
    }

    /// Expected dark seconds once a set is done.
    pub(super) fn dark(&self, done: &[usize]) -> f64 {
        self.stands(done).iter().map(|(chance, outcome)| dark(*chance, *outcome)).sum()
    }

    /// What they are at the least, however rarely spares are found gone: no more than [`Self::dark`], and each further
    /// action takes off less the more is done.
    pub(super) fn least_dark(&self, done: &[usize], least_gone: &[Probability]) -> f64 {
        let eased = self.eased(done);
        eased.iter().zip(least_gone).map(|(own, gone)| dark(own.chance, own.outcome(*gone))).sum()
    }
}

/// What is left of a hazard, and the spare that it wants.
struct Eased {
    chance: Chance,
    /// What it does with the spare at hand.
    ready: Outcome,
    lean: Option<Leans>,
}

struct Leans {
    supply: usize,
    /// What it does without.
    without: Outcome,
    /// It takes the spare if there is one.
    draws: bool,
}

impl Eased {
    fn outcome(&self, gone: Probability) -> Outcome {
        self.lean.as_ref().map_or(self.ready, |lean| self.ready.or(lean.without, gone))
    }
}

/// The chance that a hazard finds its spare gone: taken before the showing, or drawn by others in it.
fn gone(eased: &[Eased], at: usize, left: impl Fn(usize) -> usize) -> Probability {
    let Some(own) = &eased[at].lean else { return Probability::NEVER };
    let draws = |(other, its): &(usize, &Eased)| {
        *other != at && its.lean.as_ref().is_some_and(|lean| lean.draws && lean.supply == own.supply)
    };
    let others = eased.iter().enumerate().filter(draws).map(|(_, its)| its.chance.mean());
    found_gone(left(own.supply), others)
}

fn dark(chance: Chance, outcome: Outcome) -> f64 {
    chance.mean().value() * outcome.dark().seconds()
}
