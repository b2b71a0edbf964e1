//! The age at which to change a part as planned, by least cost in the long run.

use super::{grid::Table, quick::quick_exp};

/// Ages that are looked at, each a little greater than the one before; as shares of the part's shortest scale.
pub(crate) struct Ladder {
    ages: [f64; RUNGS],
    ln_ages: [f64; RUNGS],
}

/// From a fiftieth of the scale in steps of 6 %, so that the last one stands at four times the scale.
const RUNGS: usize = 91;
const FIRST: f64 = 0.02;
const RATIO: f64 = 1.06;
/// When fewer than so many live, older ages are not looked at.
const FEW: f64 = 1e-3;

/// What a part costs.
#[derive(Clone, Copy)]
pub(crate) struct Prices {
    /// To change it as planned.
    pub planned: f64,
    /// When it fails.
    pub failure: f64,
}

impl Ladder {
    pub fn new() -> Self {
        let mut age = FIRST / RATIO;
        let ages = std::array::from_fn(|_| {
            age *= RATIO;
            age
        });
        Self { ages, ln_ages: ages.map(f64::ln) }
    }

    /// The age of least cost, on the clock of `scale`; none where a part is best left until it fails. Each way to fail
    /// comes with its hazard by age and with ln of what its clock shows, as a share of the table's scale, when the part has
    /// reached `scale`.
    ///
    /// Cost is that of Barlow and Hunter 1960, Optimum preventive maintenance policies: [planned·R + failure·(1 − R)] over
    /// the mean time in service.
    pub fn best<'t>(
        &self,
        scale: f64,
        ways: impl Iterator<Item = (&'t Table, f64)>,
        prices: Prices,
    ) -> Option<f64> {
        let survivals = pulp::Arch::new().dispatch(Survivals { ladder: self, ways });
        let (mut before, mut age, mut time) = (1.0, 0.0, 0.0);
        let (mut best, mut least) = (0.0, f64::INFINITY);
        for (next, survival) in self.ages.iter().zip(survivals) {
            time += 0.5 * (before + survival) * (next - age);
            let cost = prices.planned * survival + prices.failure * (1.0 - survival);
            if cost < least * time {
                (best, least) = (*next, cost / time);
            }
            (before, age) = (survival, *next);
            if before <= FEW {
                break;
            }
        }
        // The last age looked at is no dip: such a part is best left.
        (best < age).then_some(best * scale)
    }
}

/// The share that lives at each age; compiled for the processor at hand.
struct Survivals<'l, I> {
    ladder: &'l Ladder,
    ways: I,
}

impl<'t, I: Iterator<Item = (&'t Table, f64)>> pulp::NullaryFnOnce for Survivals<'_, I> {
    type Output = [f64; RUNGS];

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn call(self) -> [f64; RUNGS] {
        let mut gathered = [0.0; RUNGS];
        for (table, ln_scale) in self.ways {
            let mut lns = [0.0; RUNGS];
            for (ln, ln_age) in lns.iter_mut().zip(&self.ladder.ln_ages) {
                *ln = table.ln_gathered(ln_age + ln_scale);
            }
            for (sum, ln) in gathered.iter_mut().zip(&lns) {
                *sum += quick_exp(*ln);
            }
        }
        gathered.map(|gathered| quick_exp(-gathered))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use lives::{
        Life,
        replace::{Costs, cost_rate},
    };

    /// The cost of the age found is within 2 in 1,000 of the least that `lives` finds among many ages, by its own integral.
    #[test]
    fn the_age_found_costs_hardly_more_than_the_best() {
        let ladder = Ladder::new();
        for (shape, scale, failure) in [(4.0, 55.0, 200.0), (2.0, 900.0, 60.0), (3.0, 30.0, 1000.0)] {
            let life = Life::Weibull { shape, scale };
            let costs = Costs { planned: 20.0, failure };
            let prices = Prices { planned: 20.0, failure };
            let table = Table::of_law(shape, 1.0);
            let found = ladder.best(scale, std::iter::once((&table, 0.0)), prices).unwrap();
            let cost = |age: f64| cost_rate(&life, costs, age);
            let least = (1..4000).map(|at| cost(f64::from(at) * 1e-3 * scale)).fold(f64::INFINITY, f64::min);
            assert!(cost(found) < 1.002 * least, "{shape} {scale}: {found}, {} and {least}", cost(found));
        }
    }

    /// What does not age is never changed ahead, nor what costs as much to change as to let fail.
    #[test]
    fn what_gains_nothing_by_a_change_is_left() {
        let ladder = Ladder::new();
        let (ageless, aging) = (Table::of_law(1.0, 1.0), Table::of_law(4.0, 1.0));
        let dear = Prices { planned: 20.0, failure: 200.0 };
        assert_eq!(ladder.best(55.0, std::iter::once((&ageless, 0.0)), dear), None);
        let alike = Prices { planned: 20.0, failure: 20.0 };
        assert_eq!(ladder.best(55.0, std::iter::once((&aging, 0.0)), alike), None);
    }
}
