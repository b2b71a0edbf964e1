//! Beliefs kept from one question to the next.

use super::{belief::MOST_KIN, chances::Belief};
use lives::bayes::{Family, Known, Prior};
use rustc_hash::FxHashMap;
use std::{
    mem::take,
    sync::{Arc, Mutex, PoisonError},
};

/// A belief of a part takes about ten kilobytes; so many are kept in each half.
const MOST_IN_A_HALF: usize = 1024;

/// Beliefs that were worked out once, by everything that they rest on.
///
/// What a belief rests on is its whole name, so that nothing here ever has to be thrown away for being old: an entry
/// that changes what was seen of a part changes the name. What was not asked for lately goes when room is short.
#[derive(Default, Debug)]
pub struct KeptBeliefs {
    halves: Mutex<Halves>,
}

/// All numbers of a family of lives, bit by bit.
type Name = Box<[u64]>;

#[derive(Default, Debug)]
struct Halves {
    young: FxHashMap<Name, Arc<Belief>>,
    old: FxHashMap<Name, Arc<Belief>>,
}

impl KeptBeliefs {
    /// What is believed of a part in the first of these machines, on the grid for many parts at once.
    pub(super) fn of(&self, prior: Prior, machines: Vec<Known>) -> Arc<Belief> {
        let name = name(prior, &machines);
        if let Some(found) = self.with(|halves| halves.found(&name)) {
            return found;
        }
        // Worked out with the lock let go: two who ask at once do the same work, and neither waits for the other.
        let belief = Arc::new(Belief::new(Family::new(prior, machines).quick_posterior(Some(0))));
        self.with(|halves| halves.keep(name, Arc::clone(&belief)));
        belief
    }

    /// How many beliefs are kept.
    pub fn len(&self) -> usize {
        self.with(|halves| halves.young.len() + halves.old.len())
    }

    /// True where nothing was asked yet.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    fn with<T>(&self, act: impl FnOnce(&mut Halves) -> T) -> T {
        act(&mut self.halves.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Halves {
    fn found(&mut self, name: &Name) -> Option<Arc<Belief>> {
        if let Some(found) = self.young.get(name) {
            return Some(Arc::clone(found));
        }
        let (name, found) = self.old.remove_entry(name)?;
        self.keep(name, Arc::clone(&found));
        Some(found)
    }

    fn keep(&mut self, name: Name, belief: Arc<Belief>) {
        if self.young.len() >= MOST_IN_A_HALF {
            self.old = take(&mut self.young);
        }
        self.young.insert(name, belief);
    }
}

fn name(prior: Prior, machines: &[Known]) -> Name {
    let mut numbers = Vec::with_capacity(4 + 8 * (MOST_KIN + 1));
    numbers.extend([prior.shape, prior.scale, prior.shape_log_sd, prior.scale_log_sd].map(f64::to_bits));
    for known in machines {
        let records = known.lives.records();
        numbers.extend([records.len() as u64, known.banded.len() as u64]);
        for record in records {
            let (kind, first, second) = match record.ending {
                lives::Ending::Failed(age) => (0, age, 0.0),
                lives::Ending::Censored(age) => (1, age, 0.0),
                lives::Ending::Between(good, failed) => (2, good, failed),
                lives::Ending::FailedBefore(failed) => (3, failed, 0.0),
            };
            numbers.extend([kind, record.count]);
            numbers.extend([record.entered, first, second].map(f64::to_bits));
        }
        for life in &known.banded {
            numbers.push(u64::from(life.failed));
            numbers.extend([life.entered.0, life.entered.1, life.watched].map(f64::to_bits));
        }
    }
    numbers.into_boxed_slice()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use lives::{Ending, LifeRecord, Lives, bayes::Posterior};

    fn watched(until: f64) -> Vec<Known> {
        let record = LifeRecord { entered: 0.0, ending: Ending::Censored(until), count: 1 };
        vec![Known { lives: Lives::new(vec![record]).unwrap(), banded: Vec::new() }]
    }

    #[test]
    fn a_belief_is_found_again_until_what_it_rests_on_changes() {
        let kept = KeptBeliefs::default();
        let prior = Prior::around(2.0, 50.0);
        let first = kept.of(prior, watched(10.0));
        assert!(Arc::ptr_eq(&first, &kept.of(prior, watched(10.0))));
        assert!(!Arc::ptr_eq(&first, &kept.of(prior, watched(11.0))));
        assert!(!Arc::ptr_eq(&first, &kept.of(Prior::around(2.0, 51.0), watched(10.0))));
        assert_eq!(kept.len(), 3);
    }

    #[test]
    fn what_is_asked_for_stays_and_the_rest_goes() {
        let mut halves = Halves::default();
        let belief = Arc::new(Belief::new(Posterior::of_prior(Prior::around(1.0, 1.0))));
        let named = |n: usize| -> Name { Box::new([n as u64]) };
        for n in 0..5 * MOST_IN_A_HALF {
            halves.keep(named(n), Arc::clone(&belief));
            assert!(halves.found(&named(0)).is_some(), "asked for all the time");
        }
        assert!(halves.found(&named(1)).is_none());
        assert!(halves.young.len() + halves.old.len() <= 2 * MOST_IN_A_HALF);
    }
}
