//! A belief about the life of a part, and the chances that were read from it.

use super::stretch::Entered;
use lives::bayes::{Believed, Posterior};
use risk::Chance;
use rustc_hash::FxHashMap;
use std::{
    ops::Deref,
    sync::{Mutex, OnceLock, PoisonError},
};
use units::Probability;

/// An unknown age is summed over so many ages.
const AGES: usize = 9;
/// So many chances are kept for one belief: parts of a few hundred machines that share it.
const MOST_CHANCES: usize = 512;

/// What is believed of the life of a part, with the chances that were asked for: a page that is looked at again asks
/// for the same ones.
#[derive(Debug)]
pub struct Belief {
    posterior: Posterior,
    chances: Mutex<FxHashMap<[u64; 3], Chance>>,
    share_from_data: OnceLock<f64>,
}

impl Belief {
    pub(super) fn new(posterior: Posterior) -> Self {
        Self { posterior, chances: Mutex::default(), share_from_data: OnceLock::new() }
    }

    /// As [`Posterior::share_from_data`], summed up once.
    pub fn share_from_data(&self) -> f64 {
        *self.share_from_data.get_or_init(|| self.posterior.share_from_data())
    }

    /// The chance of failure within a span from an age on, over all that is believed of the life and of the age; both
    /// in the unit of the life's clock.
    pub fn fails_within(&self, age: Entered, span: f64) -> Chance {
        let (low, high) = match age {
            Entered::At(age) => (age, age),
            Entered::Within(low, high) => (low, high),
        };
        let asked = [low.to_bits(), high.to_bits(), span.to_bits()];
        let kept = || self.chances.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(found) = kept().get(&asked) {
            return *found;
        }
        // Worked out with the lock let go, as beliefs are.
        let made = chance_of(&self.posterior, age, span);
        let mut chances = kept();
        if chances.len() >= MOST_CHANCES {
            chances.clear();
        }
        chances.insert(asked, made);
        made
    }
}

impl Deref for Belief {
    type Target = Posterior;

    fn deref(&self) -> &Posterior {
        &self.posterior
    }
}

fn chance_of(belief: &Posterior, age: Entered, span: f64) -> Chance {
    let made = match age {
        Entered::At(age) => {
            let ages = Ages::of(age, span);
            Chance::weighed(
                belief.laws().iter().map(|law| (law.weight, ages.spent(law, law.scale.ln()).fails())),
            )
        }
        Entered::Within(low, high) => {
            let middle = |at: usize| low + (high - low) * (at as f64 + 0.5) / AGES as f64;
            let ages: [Ages; AGES] = std::array::from_fn(|at| Ages::of(middle(at), span));
            let ages = &ages;
            Chance::weighed(belief.laws().iter().flat_map(|law| {
                let ln_scale = law.scale.ln();
                ages.iter().map(move |ages| {
                    let spent = ages.spent(law, ln_scale);
                    (law.weight * (-spent.before).exp(), spent.fails())
                })
            }))
        }
    };
    // A part that no law lets live so long has outlived all that is believed: it may go at any strike.
    made.unwrap_or_else(|_| Chance::known(Probability::ALWAYS))
}

/// The logarithms of an age before a span and after it: taken once for some hundred laws.
struct Ages {
    ln_before: f64,
    ln_after: f64,
}

impl Ages {
    fn of(age: f64, span: f64) -> Self {
        Self { ln_before: age.ln(), ln_after: (age + span).ln() }
    }

    /// At age 0 the logarithm is minus infinity and the hazard 0, as it should be.
    fn spent(&self, law: &Believed, ln_scale: f64) -> Spent {
        let hazard = |ln_age: f64| (law.shape * (ln_age - ln_scale)).exp();
        Spent { before: hazard(self.ln_before), after: hazard(self.ln_after) }
    }
}

/// What a law's cumulative hazard comes to before a span and after it.
struct Spent {
    before: f64,
    after: f64,
}

impl Spent {
    fn fails(&self) -> f64 {
        -(self.before - self.after).exp_m1()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use lives::bayes::{Known, Prior};

    #[test]
    fn a_chance_asked_for_twice_is_the_same_and_kept_within_bounds() {
        let belief = Belief::new(Posterior::new(Prior::around(3.0, 50.0), &Known::nothing()));
        let first = belief.fails_within(Entered::At(40.0), 2.0);
        assert_eq!(first, belief.fails_within(Entered::At(40.0), 2.0));
        assert_eq!(first, chance_of(&belief.posterior, Entered::At(40.0), 2.0));
        assert!(belief.fails_within(Entered::At(60.0), 2.0).mean().value() > first.mean().value());
        for hours in 0..2 * MOST_CHANCES {
            belief.fails_within(Entered::Within(0.0, 1.0), hours as f64);
            assert!(belief.chances.lock().unwrap().len() <= MOST_CHANCES);
        }
    }

    #[test]
    fn an_unknown_age_is_weighed_by_what_survived() {
        let belief = Belief::new(Posterior::of_prior(Prior::around(3.0, 50.0)));
        let between = belief.fails_within(Entered::Within(0.0, 50.0), 2.0).mean().value();
        let young = belief.fails_within(Entered::At(0.0), 2.0).mean().value();
        let old = belief.fails_within(Entered::At(50.0), 2.0).mean().value();
        assert!(young < between && between < old, "{young} {between} {old}");
    }
}
