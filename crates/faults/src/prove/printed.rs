//! Working down the printed list: what the advice is measured against.
//!
//! # Rules
//! A careful person goes down the causes of the symptom in the order of the table, which is not sorted for the case at
//! hand. For each cause:
//! 1. its own check, if it was not done for a cause before: the quickest of those that tell it nearly as well as the
//!    best of them;
//! 2. where the check calls for it, or there is none, its own remedy (the quickest of those that cure it nearly as
//!    surely as the surest), and a test;
//! 3. where the check calls for a cause that only a technician may mend, that is written down, and the list goes on.
//!
//! At the end, who found something for a technician calls. Who did not goes down the list once more, and does, without
//! asking the checks again, every remedy for its causes that was passed over; then calls.
//!
//! Preparation is counted as for the advice: what is open and cool stays so until a test.

use super::luck::{Fault, Luck};
use crate::{
    advise::work_cost::Worked,
    case::{Reply, Tried},
    model::{Check, Level, Link, Remedy, SymptomId},
};
use std::collections::{BTreeSet, HashMap};

/// Checks and remedies are nearly as good as the best where their chances differ by no more than this.
const NEARLY: f64 = 0.1;

/// Works a fault down the list; returns whether that cured it, and what the work cost.
pub(super) fn by_printed_list(luck: &Luck<'_>, symptom: &SymptomId, fault: Fault) -> (bool, f64) {
    let links = &luck.model.symptom(symptom).expect("looked up before").links;
    let mut list = List {
        luck,
        fault,
        worked: Worked::new(luck.model, luck.setting),
        answered: HashMap::new(),
        tried: BTreeSet::new(),
    };
    let mut is_for_technician = false;
    for link in links {
        if !list.calls_for(link) {
            continue;
        }
        match list.own_remedy(link) {
            Some(remedy) if list.is_fixed_by(remedy) => return (true, list.worked.cost()),
            Some(_) => {}
            None => is_for_technician |= own_check(luck, link).is_some(),
        }
    }
    if !is_for_technician {
        for link in links {
            for remedy in remedies(luck, link) {
                if list.is_fixed_by(remedy) {
                    return (true, list.worked.cost());
                }
            }
        }
    }
    (false, list.worked.cost())
}

struct List<'a> {
    luck: &'a Luck<'a>,
    fault: Fault,
    worked: Worked,
    answered: HashMap<&'a str, Reply>,
    tried: BTreeSet<&'a str>,
}

impl<'a> List<'a> {
    /// Does the cause's own check call for it? True where there is none.
    fn calls_for(&mut self, link: &Link) -> bool {
        let Some(check) = own_check(self.luck, link) else { return true };
        let known = self.answered.get(check.id.as_str()).copied();
        let reply = known.unwrap_or_else(|| self.luck.answer(check, &self.fault));
        if known.is_none() {
            self.worked.check(check);
            self.answered.insert(check.id.as_str(), reply);
        }
        let expected = check.answers.iter().find(|one| one.cause == link.cause);
        let on_yes = expected.is_some_and(|one| one.yes > check.otherwise);
        (reply == Reply::Yes) == on_yes
    }

    /// The remedy that stands beside a cause.
    fn own_remedy(&self, link: &Link) -> Option<&'a Remedy> {
        let success = |remedy: &Remedy| {
            let cure = remedy.cures.iter().find(|cure| cure.cause == link.cause);
            cure.map_or(0.0, |cure| cure.success.value())
        };
        quickest_of_the_best(remedies(self.luck, link), success, |remedy| remedy.work.time.seconds())
    }

    /// Does a remedy that was not tried yet, and tests it.
    fn is_fixed_by(&mut self, remedy: &'a Remedy) -> bool {
        if !self.tried.insert(remedy.id.as_str()) {
            return false;
        }
        self.worked.remedy(remedy);
        self.luck.treat(remedy, &mut self.fault) == Tried::Fixed
    }
}

/// The operator's remedies for a cause, in the order of the table.
fn remedies<'a>(luck: &Luck<'a>, link: &Link) -> impl Iterator<Item = &'a Remedy> {
    let (who, cause) = (luck.setting.who, link.cause.clone());
    luck.model
        .remedies()
        .iter()
        .filter(move |remedy| remedy.work.level <= who && remedy.cures.iter().any(|cure| cure.cause == cause))
}

/// The check that stands beside a cause.
fn own_check<'a>(luck: &Luck<'a>, link: &Link) -> Option<&'a Check> {
    let checks = luck.model.checks().iter().filter(|check| check.work.level == Level::Operator);
    let telling = |check: &Check| {
        let one = check.answers.iter().find(|one| one.cause == link.cause);
        one.map_or(0.0, |one| (one.yes.value() - check.otherwise.value()).abs())
    };
    quickest_of_the_best(checks, telling, |check| check.work.time.seconds())
}

/// Of all that are nearly as good as the best, the quickest; none where nothing is any good.
fn quickest_of_the_best<'a, T: 'a>(
    all: impl Iterator<Item = &'a T>,
    good: impl Fn(&T) -> f64,
    seconds: impl Fn(&T) -> f64,
) -> Option<&'a T> {
    let all: Vec<(f64, &T)> = all.map(|one| (good(one), one)).filter(|(good, _)| *good > 0.0).collect();
    let best = all.iter().map(|(good, _)| *good).fold(0.0, f64::max);
    let near = all.into_iter().filter(|(good, _)| *good >= best - NEARLY);
    near.min_by(|a, b| seconds(a.1).total_cmp(&seconds(b.1)).then(b.0.total_cmp(&a.0))).map(|(_, one)| one)
}
