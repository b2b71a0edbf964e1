//! Demand on one store by many machines, each with a belief of its own.

use super::{Demand, LET_GO, MOST, renewals};
use crate::bayes::{Believed, Posterior};

/// A place where a part is fitted, of which only a belief is held.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spot {
    /// Age of the part there now: from, to; both the same where it is known.
    pub age: (f64, f64),
    /// How far the clock goes before more spares can come.
    pub span: f64,
}

/// Spots that share one belief: those of one machine.
#[derive(Clone, Debug)]
pub struct Shelf<'b> {
    /// What is believed of the parts there.
    pub belief: &'b Posterior,
    /// Where they are.
    pub spots: Vec<Spot>,
}

/// A belief is cut into so many ranks of equal weight.
const RANKS: usize = 24;
/// Steps of time: spans here are short against a life.
const STEPS: usize = 32;
/// An unknown age is summed over so many ages.
const AGES: usize = 5;

impl Demand {
    /// Demand for certain: what is planned.
    pub fn certain(needed: usize) -> Self {
        let mut chances = vec![0.0; needed.min(MOST - 1)];
        chances.push(1.0);
        Self { chances }
    }

    /// Demand of many machines on one store, where each machine's law is only believed.
    ///
    /// Each belief is cut into ranks of equal weight, from the laws by which most parts fail in the time to those by
    /// which fewest do, and the machines are taken to go together: where one has a law of the worst rank, so have the
    /// others. That is what a bad batch does, and of all ways in which the beliefs might hang together it asks for the
    /// most spares.
    pub fn of_shelves(shelves: &[Shelf<'_>]) -> Self {
        let ranks: Vec<Vec<Vec<Believed>>> = shelves.iter().map(ranked).collect();
        let mut chances = vec![0.0];
        for rank in 0..RANKS {
            let mut together = Self::none();
            for (shelf, ranks) in shelves.iter().zip(&ranks) {
                for spot in &shelf.spots {
                    together = together.and(&of_spot(&ranks[rank], spot));
                }
            }
            if together.chances.len() > chances.len() {
                chances.resize(together.chances.len(), 0.0);
            }
            for (sum, chance) in chances.iter_mut().zip(together.chances) {
                *sum += chance / RANKS as f64;
            }
        }
        Self { chances }
    }

    /// Demand of what is used by chance at a rate of which nothing is known but the record: so many used while so much
    /// was watched, and so much to come, in whatever both are counted.
    ///
    /// # Method
    /// The rate has the gamma law that a Poisson count leaves behind Jeffreys' prior, so that the demand is negative
    /// binomial with `used + 1/2`.
    ///
    /// # Reference
    /// H. Jeffreys, *Theory of Probability*, 3rd ed., Oxford 1961 (from memory).
    pub fn as_recorded(used: f64, watched: f64, to_come: f64) -> Self {
        if to_come <= 0.0 {
            return Self::none();
        }
        let size = used.max(0.0) + 0.5;
        let share = to_come / (watched.max(f64::MIN_POSITIVE) + to_come);
        let mut chance = (size * (-share).ln_1p()).exp();
        let (mut chances, mut sum, mut k) = (vec![chance], chance, 0.0);
        while sum < 1.0 - LET_GO && chances.len() < MOST {
            chance *= (size + k) / (k + 1.0) * share;
            chances.push(chance);
            sum += chance;
            k += 1.0;
            // Past the bulk, chances no longer add anything.
            if k > size * share / (1.0 - share) && chance < 1e-17 {
                break;
            }
        }
        Self { chances }
    }
}

/// Laws that carry less of the belief than this change nothing.
const LEAST_WEIGHT: f64 = 1e-7;

/// The laws of a shelf's belief in ranks of equal weight, the one that wants most spares first. A law on the border of
/// two ranks stands in both, with its shares.
fn ranked(shelf: &Shelf<'_>) -> Vec<Vec<Believed>> {
    let weighty = shelf.belief.laws().iter().filter(|law| law.weight > LEAST_WEIGHT);
    let mut laws: Vec<(f64, Believed)> = weighty
        .map(|law| (shelf.spots.iter().map(|spot| fails_first(law, &ages(spot), spot.span)).sum(), *law))
        .collect();
    laws.sort_by(|a, b| b.0.total_cmp(&a.0));
    let all: f64 = laws.iter().map(|(_, law)| law.weight).sum();
    let mut ranks = vec![Vec::new(); RANKS];
    let mut reached = 0.0;
    for (_, law) in laws {
        let (from, to) = (reached, reached + law.weight / all * RANKS as f64);
        for (rank, own) in ranks.iter_mut().enumerate() {
            let weight = to.min(rank as f64 + 1.0) - from.max(rank as f64);
            if weight > 0.0 {
                own.push(Believed { weight, ..law });
            }
        }
        reached = to;
    }
    ranks
}

/// The ages that a part may have.
fn ages(spot: &Spot) -> Vec<f64> {
    let (low, high) = spot.age;
    if high > low {
        (0..AGES).map(|at| low + (high - low) * (at as f64 + 0.5) / AGES as f64).collect()
    } else {
        vec![low]
    }
}

/// The chance by a law that the part which is there fails within a span. Each age counts as the law lets parts reach it.
fn fails_first(law: &Believed, ages: &[f64], span: f64) -> f64 {
    let hazard = |age: f64| (age / law.scale).powf(law.shape);
    let alive = |age: f64| (-hazard(age)).exp();
    if let [age] = ages {
        return -(hazard(*age) - hazard(age + span)).exp_m1();
    }
    let (mut all, mut left) = (0.0, 0.0);
    for age in ages {
        all += alive(*age);
        left += alive(age + span);
    }
    // A part that the law lets live at no such age has outlived it: it may go at once.
    if all > 0.0 { 1.0 - left / all } else { 1.0 }
}

/// The demand of one spot, over the laws of a rank: exact for the first failure, and for those after it as near as the
/// laws of one rank are alike.
fn of_spot(laws: &[Believed], spot: &Spot) -> Demand {
    let ages = ages(spot);
    let all: f64 = laws.iter().map(|law| law.weight).sum();
    let mean = |of: &dyn Fn(&Believed) -> f64| laws.iter().map(|law| law.weight * of(law)).sum::<f64>() / all;
    let first = |t: f64| mean(&|law| fails_first(law, &ages, t));
    let next = |t: f64| mean(&|law| fails_first(law, &[0.0], t));
    let (coarse, fine) =
        (renewals(first, next, spot.span, STEPS), renewals(first, next, spot.span, 2 * STEPS));
    let chances = (0..fine.len())
        .map(|k| ((4.0 * fine[k] - coarse.get(k).copied().unwrap_or(0.0)) / 3.0).clamp(0.0, 1.0))
        .collect();
    Demand { chances }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::bayes::Prior;

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found - wanted).abs() < within, "{found} is not {wanted}");
    }

    /// That no part of a shelf fails is a plain sum over the laws; ranks of laws that are nearly alike lose this much.
    const RANKED: f64 = 2e-3;

    #[test]
    fn that_nothing_fails_agrees_with_the_sum_over_all_laws() {
        let belief = Posterior::of_prior(Prior::around(4.0, 55.0));
        let ages = [20.0, 45.0];
        let shelf =
            Shelf { belief: &belief, spots: ages.map(|age| Spot { age: (age, age), span: 30.0 }).to_vec() };
        let found = Demand::of_shelves(&[shelf]);
        near(found.chances.iter().sum(), 1.0, 1e-6);
        let none = belief.laws().iter().map(|law| {
            let hazard = |age: f64| (age / law.scale).powf(law.shape);
            law.weight * ages.map(|age| (hazard(age) - hazard(age + 30.0)).exp()).iter().product::<f64>()
        });
        near(found.chance(0).value(), none.sum(), RANKED);
    }

    #[test]
    fn a_life_known_almost_exactly_asks_for_what_that_life_asks_for() {
        let prior = Prior { shape: 3.0, scale: 50.0, shape_log_sd: 1e-3, scale_log_sd: 1e-3 };
        let belief = Posterior::of_prior(prior);
        let places = [(20.0, 90.0), (45.0, 30.0)];
        let spots = places.map(|(age, span)| Spot { age: (age, age), span }).to_vec();
        let found = Demand::of_shelves(&[Shelf { belief: &belief, spots }]);
        let life = crate::Life::weibull(3.0, 50.0).unwrap();
        let wanted = Demand::of_all(&places.map(|(age, span)| super::super::Fitted { life, age, span }));
        for k in 0..6 {
            near(found.chance(k).value(), wanted.chance(k).value(), 1e-3);
        }
    }

    #[test]
    fn machines_that_go_together_ask_for_no_less_than_machines_apart() {
        let belief = Posterior::of_prior(Prior::around(2.0, 60.0));
        let shelf = || Shelf { belief: &belief, spots: vec![Spot { age: (30.0, 30.0), span: 20.0 }] };
        let together = Demand::of_shelves(&[shelf(), shelf(), shelf()]);
        let one = Demand::of_shelves(&[shelf()]);
        let service = units::Probability::new(0.95).unwrap();
        let apart = one.and(&one).and(&one);
        near(together.expected(), apart.expected(), 1e-6);
        let beyond = |demand: &Demand| 1.0 - demand.covered_by(3).value();
        assert!(beyond(&together) > 1.5 * beyond(&apart));
        assert!(together.stock_for(service).spares >= apart.stock_for(service).spares);
    }

    #[test]
    fn an_unknown_age_lies_between_the_ages_it_may_have() {
        let belief = Posterior::of_prior(Prior::around(4.0, 55.0));
        let at = |age: (f64, f64)| {
            Demand::of_shelves(&[Shelf { belief: &belief, spots: vec![Spot { age, span: 20.0 }] }]).expected()
        };
        let (young, old, unknown) = (at((0.0, 0.0)), at((50.0, 50.0)), at((0.0, 50.0)));
        assert!(young < unknown && unknown < old, "{young} {unknown} {old}");
    }

    /// Three used in 90 days and 30 to come: the negative binomial law written with gamma functions, worked out by the
    /// `math.lgamma` of Python 3.
    #[test]
    fn what_is_recorded_agrees_with_the_law_written_with_gamma_functions() {
        let demand = Demand::as_recorded(3.0, 90.0, 30.0);
        let law = [
            (0, 0.365_354_467_221_560),
            (1, 0.319_685_158_818_865),
            (2, 0.179_822_901_835_612),
            (3, 0.082_418_830_007_988),
            (4, 0.033_482_649_690_745),
            (5, 0.012_555_993_634_030),
        ];
        for (k, wanted) in law {
            near(demand.chance(k).value(), wanted, 1e-12);
        }
        near(demand.chances.iter().sum(), 1.0, 1e-12);
        near(demand.expected(), 3.5 * 30.0 / 90.0, 1e-9);
        assert_eq!(Demand::as_recorded(3.0, 90.0, 0.0).expected(), 0.0);
    }

    /// With a long record the rate is known, and what is used by chance at a known rate is Poisson's.
    #[test]
    fn a_long_record_comes_to_poissons_law() {
        let (long, poisson) = (Demand::as_recorded(2e6, 1e6, 1.0), Demand::poisson(2.0));
        for k in 0..8 {
            near(long.chance(k).value(), poisson.chance(k).value(), 1e-5);
        }
    }

    #[test]
    fn what_is_planned_is_needed() {
        let demand = Demand::certain(2).and(&Demand::poisson(1.0));
        assert_eq!(demand.covered_by(1).value(), 0.0);
        near(demand.covered_by(2).value(), (-1.0_f64).exp(), 1e-12);
        near(demand.expected(), 3.0, 1e-9);
    }
}
