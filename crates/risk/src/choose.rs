//! Which actions are worth their minutes, and the best set that fits the time left.

use crate::{
    action::{Action, Change, Lean, Preparation, Supply, after},
    hazard::{Hazard, Outcome},
};
use serde::Serialize;
use units::Seconds;

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

/// What one action alone is worth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Worth {
    /// The action's place in the list.
    pub action: usize,
    /// Minutes with its preparations.
    pub minutes: f64,
    /// Expected dark seconds that it saves.
    pub saved: Seconds,
}

impl Worth {
    /// Expected dark seconds saved for a minute of work; without end if it takes no time.
    pub fn rate(self) -> f64 {
        if self.saved <= Seconds::ZERO { 0.0 } else { self.saved.seconds() / self.minutes }
    }
}

/// A set of actions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Choice {
    /// The actions' places, rising.
    pub actions: Vec<usize>,
    /// Minutes with preparations.
    pub minutes: f64,
    /// Expected dark seconds that it saves.
    pub saved: Seconds,
    /// No set that fits saves more. False: the search was cut short, and this is the best one found.
    pub proven: bool,
}

/// So many sets are looked at before the search is cut short: far more than a booth's evening needs.
const MOST_SETS: usize = 2_000_000;
/// Savings that differ by less are the same.
const SAME_SECONDS: f64 = 1e-9;

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

    /// What can be done.
    pub fn actions(&self) -> &[Action<A>] {
        &self.actions
    }

    /// The hazards as they stand once these actions are done.
    pub fn after(&self, done: &[usize]) -> Vec<Hazard<K>> {
        let one = |(at, hazard): (usize, &Hazard<K>)| {
            let (chance, outcome) = after(hazard, self.outcome_of(at, done), self.changes(at, done));
            Hazard { key: hazard.key.clone(), chance, outcome }
        };
        self.hazards.iter().enumerate().map(one).collect()
    }

    /// How many of a supply a set leaves; none where it takes more than there are.
    fn left(&self, supply: usize, set: &[usize]) -> Option<usize> {
        let takes = |at: &usize| self.actions[*at].takes.iter().filter(|taken| **taken == supply).count();
        self.supplies[supply].count.checked_sub(set.iter().map(takes).sum())
    }

    /// There is what all actions of a set take.
    fn is_stocked(&self, set: &[usize]) -> bool {
        (0..self.supplies.len()).all(|supply| self.left(supply, set).is_some())
    }

    /// What a hazard does once a set is done, before what the set changes of it: it may have taken the last spare.
    fn outcome_of(&self, hazard: usize, done: &[usize]) -> Outcome {
        let ran_out =
            |lean: &&Lean| lean.hazard == hazard && self.left(lean.supply, done).is_none_or(|left| left == 0);
        self.leans.iter().find(ran_out).map_or(self.hazards[hazard].outcome, |lean| lean.without)
    }

    /// A hazard that this action changes leans on a supply.
    fn concerns_a_lean(&self, action: usize) -> bool {
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

    /// Expected dark seconds once a set is done.
    fn dark(&self, done: &[usize]) -> f64 {
        self.dark_with(done, done)
    }

    /// The same, were supplies as they are once only `taken` is done. With nothing taken it is no more than [`Self::dark`].
    fn dark_with(&self, done: &[usize], taken: &[usize]) -> f64 {
        let one = |(at, hazard)| {
            let (chance, outcome) = after(hazard, self.outcome_of(at, taken), self.changes(at, done));
            chance.mean().value() * outcome.dark().seconds()
        };
        self.hazards.iter().enumerate().map(one).sum()
    }
}

/// Returns what each action alone is worth, the most dark seconds saved for a minute of work first.
pub fn worth_of_each<K: Clone, A>(case: &Case<K, A>) -> Vec<Worth> {
    let now = case.dark(&[]);
    let worth =
        |at| Worth { action: at, minutes: case.minutes(&[at]), saved: Seconds::new(now - case.dark(&[at])) };
    let mut worths: Vec<Worth> = (0..case.actions.len()).map(worth).collect();
    worths.sort_by(|a, b| b.rate().total_cmp(&a.rate()).then(a.action.cmp(&b.action)));
    worths
}

/// Returns the set of actions that saves most dark seconds within the minutes; of equal ones the one found first.
///
/// Each action must be worth at least `least` dark seconds beside the others: that much is taken off for each, so that
/// nobody is sent to do what the rest has made needless.
///
/// Branch and bound. Actions on one hazard have diminishing returns (a lesser chance times a milder outcome, each a
/// least or a product of what the actions leave), so what an action would add now is the most that it can add later.
/// Filling the minutes left with those gains by rate, the last one in part, is therefore a bound (Nemhauser, Wolsey
/// and Fisher 1978 on submodular functions, with Dantzig's 1957 bound for the knapsack; both cited from memory).
/// Preparations are left out of the bound, which keeps it one, and so is what a set makes worse by taking the last
/// spare: the bound is over what sets would be worth if spares never ran out.
pub fn best_within<K: Clone, A>(case: &Case<K, A>, minutes: f64, least: Seconds) -> Choice {
    let useful: Vec<usize> = worth_of_each(case).iter().map(|worth| worth.action).collect();
    let least = least.seconds().max(0.0);
    let mut search =
        Search { case, minutes, least, now: case.dark(&[]), best: Vec::new(), best_worth: 0.0, n_seen: 0 };
    search.descend(&mut Vec::new(), &useful);
    let proven = search.n_seen <= MOST_SETS;
    let mut actions = search.best;
    actions.sort_unstable();
    let saved = Seconds::new(case.dark(&[]) - case.dark(&actions));
    Choice { minutes: case.minutes(&actions), actions, saved, proven }
}

struct Search<'c, K, A> {
    case: &'c Case<K, A>,
    minutes: f64,
    /// What an action must be worth.
    least: f64,
    /// Dark seconds with nothing done.
    now: f64,
    best: Vec<usize>,
    /// Dark seconds that the best set saves, less what its actions must be worth.
    best_worth: f64,
    n_seen: usize,
}

impl<K: Clone, A> Search<'_, K, A> {
    /// Tries every set that holds the chosen actions and any of the open ones, unless none can be better.
    fn descend(&mut self, chosen: &mut Vec<usize>, open: &[usize]) {
        self.n_seen += 1;
        if self.n_seen > MOST_SETS {
            return;
        }
        let must = self.least * chosen.len() as f64;
        let worth = self.now - self.case.dark(chosen) - must;
        if worth > self.best_worth + SAME_SECONDS {
            self.best_worth = worth;
            self.best.clone_from(chosen);
        }
        let free = self.case.dark_with(chosen, &[]);
        let gains = self.gains(chosen, free, open);
        let most = self.now - free - must + self.bound(&gains, self.minutes - self.case.minutes(chosen));
        if most <= self.best_worth + SAME_SECONDS {
            return;
        }
        let left: Vec<usize> = gains.iter().map(|(at, _)| *at).collect();
        for n in 0..left.len() {
            chosen.push(left[n]);
            self.descend(chosen, &left[n + 1..]);
            chosen.pop();
        }
    }

    /// What each open action that still fits would add now if spares never ran out, less what it must be worth; the best
    /// rate first. One that adds nothing so may still save what the last spare would have: it stays.
    fn gains(&self, chosen: &[usize], free: f64, open: &[usize]) -> Vec<(usize, f64)> {
        let mut with = chosen.to_vec();
        let mut gains = Vec::with_capacity(open.len());
        for &at in open {
            with.push(at);
            let gain = free - self.case.dark_with(&with, &[]) - self.least;
            let is_open = gain > SAME_SECONDS || self.case.concerns_a_lean(at);
            if is_open && self.case.minutes(&with) <= self.minutes && self.case.is_stocked(&with) {
                gains.push((at, gain));
            }
            with.pop();
        }
        let rate = |(at, gain): &(usize, f64)| gain / self.case.actions[*at].minutes;
        gains.sort_by(|a, b| rate(b).total_cmp(&rate(a)).then(a.0.cmp(&b.0)));
        gains
    }

    /// The most that these gains can add within the minutes.
    fn bound(&self, gains: &[(usize, f64)], mut minutes: f64) -> f64 {
        let mut most = 0.0;
        for (at, gain) in gains.iter().filter(|(_, gain)| *gain > 0.0) {
            let takes = self.case.actions[*at].minutes;
            if takes > minutes {
                return most + gain * minutes.max(0.0) / takes;
            }
            minutes -= takes;
            most += gain;
        }
        most
    }
}

#[cfg(test)]
mod tests;
