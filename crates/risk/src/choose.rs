//! Which actions are worth their minutes, and the best set that fits the time left.

mod case;

pub use case::{Case, CaseError};

use serde::Serialize;
use units::{Probability, Seconds};

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

/// Returns what each action alone is worth, the most dark seconds saved for a minute of work first.
pub fn worth_of_each<K: Clone, A>(case: &Case<K, A>) -> Vec<Worth> {
    let now = case.dark(&[]);
    let worth =
        |at| Worth { action: at, minutes: case.minutes(&[at]), saved: Seconds::new(now - case.dark(&[at])) };
    let mut worths: Vec<Worth> = (0..case.actions().len()).map(worth).collect();
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
/// Preparations are left out of the bound, which keeps it one. So is most of what sets change of spares: in the bound
/// each failure finds its spare gone as rarely as any set could make that, which leaves a sum of chances times mixtures
/// of least outcomes, with the same diminishing returns, and never more dark seconds than there are.
pub fn best_within<K: Clone, A>(case: &Case<K, A>, minutes: f64, least: Seconds) -> Choice {
    let useful: Vec<usize> = worth_of_each(case).iter().map(|worth| worth.action).collect();
    let least = least.seconds().max(0.0);
    let mut search = Search {
        case,
        minutes,
        least,
        least_gone: case.least_gone(),
        now: case.dark(&[]),
        best: Vec::new(),
        best_worth: 0.0,
        n_seen: 0,
    };
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
    /// How often each hazard finds its spare gone at the least.
    least_gone: Vec<Probability>,
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
        let free = self.case.least_dark(chosen, &self.least_gone);
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

    /// What each open action that still fits would add now to the bound, less what it must be worth; the best rate first.
    /// One that adds nothing so may still leave a spare for others: it stays.
    fn gains(&self, chosen: &[usize], free: f64, open: &[usize]) -> Vec<(usize, f64)> {
        let mut with = chosen.to_vec();
        let mut gains = Vec::with_capacity(open.len());
        for &at in open {
            with.push(at);
            let gain = free - self.case.least_dark(&with, &self.least_gone) - self.least;
            let is_open = gain > SAME_SECONDS || self.case.concerns_a_lean(at);
            if is_open && self.case.minutes(&with) <= self.minutes && self.case.is_stocked(&with) {
                gains.push((at, gain));
            }
            with.pop();
        }
        let rate = |(at, gain): &(usize, f64)| gain / self.case.actions()[*at].minutes;
        gains.sort_by(|a, b| rate(b).total_cmp(&rate(a)).then(a.0.cmp(&b.0)));
        gains
    }

    /// The most that these gains can add within the minutes.
    fn bound(&self, gains: &[(usize, f64)], mut minutes: f64) -> f64 {
        let mut most = 0.0;
        for (at, gain) in gains.iter().filter(|(_, gain)| *gain > 0.0) {
            let takes = self.case.actions()[*at].minutes;
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
