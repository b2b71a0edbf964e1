//! What no plan can undercut, with one answer for each machine and all its work.
//!
//! Only two agreements have a price here: that each showing has its machines, and that work is done in sessions that
//! are held. Each machine takes the cheapest of its own diaries (`lives`); machines that are alike are asked once.

use crate::climb::{Answer, Climb};
use crate::dual::Dual;
use crate::lives::{Lives, Prices, What};
use crate::problem::Problem;
use crate::session::{Offer, best_session};
use crate::work_path::May;

/// The bound over known diaries.
pub(crate) struct Joint<'p, 'm> {
    pub problem: &'p Problem<'m>,
    pub classes: Vec<Lives>,
    /// For each class the price of each of its first member's work in the first of its slots.
    slot_prices: Vec<Vec<usize>>,
    /// For each slot the work that may be done there, and its price.
    offers: Vec<Vec<(usize, usize)>>,
    pub climb: Climb,
}

impl<'p, 'm> Joint<'p, 'm> {
    /// Begins with the prices of the bound that knows each piece of work alone; machines that are alike have the same
    /// prices there.
    pub fn new(dual: &Dual<'p, 'm>, classes: Vec<Lives>) -> Self {
        let problem = dual.problem;
        let mut prices: Vec<f64> = (0..problem.shows.len()).map(|show| dual.level(show)).collect();
        let mut price_of = vec![0; problem.jobs.len()];
        let mut slot_prices = Vec::with_capacity(classes.len());
        for class in &classes {
            let mut own = Vec::new();
            for (place, &job) in problem.machines[class.members[0]].work.iter().enumerate() {
                own.push(prices.len());
                for &member in &class.members {
                    price_of[problem.machines[member].work[place]] = prices.len();
                }
                prices.extend_from_slice(dual.prices_of(&dual.prices, job).1);
            }
            slot_prices.push(own);
        }
        let offers = dual
            .offers
            .iter()
            .map(|offers| offers.iter().map(|&(job, at)| (job, price_of[job] + at)).collect());
        let scale = vec![1.0; prices.len()];
        Self { problem, offers: offers.collect(), classes, slot_prices, climb: Climb::from(prices, scale) }
    }

    /// Moves prices for so many steps, or until the bound reaches `target`.
    pub fn climb(&mut self, target: f64, steps: usize) {
        let mut climb = std::mem::take(&mut self.climb);
        climb.go(target, steps, |prices| self.answer(prices));
        self.climb = climb;
    }

    /// Takes out of all diaries what no plan under `best` needs.
    pub fn thin(&mut self, best: f64) {
        let slack = best - self.climb.bound + 1e-9 * best.abs().max(1.0);
        for class in 0..self.classes.len() {
            let prices = self.class_prices(&self.climb.prices, class);
            self.classes[class].thin(&prices, slack);
        }
    }

    fn answer(&self, prices: &[f64]) -> Answer {
        let mut apart = vec![0.0; prices.len()];
        let mut bound = 0.0;
        for (at, class) in self.classes.iter().enumerate() {
            let own = self.class_prices(prices, at);
            let rest = class.rest(&own);
            let n = class.members.len() as f64;
            bound += n * rest[0].first().copied().unwrap_or(f64::INFINITY);
            for (choice, step) in class.cheapest(&own, &rest).into_iter().zip(&class.own) {
                match &step.what {
                    What::Show(show) => {
                        apart[self.problem.machines[class.members[0]].shows[*show]] -= n * choice as f64;
                    }
                    What::Slot { offers, sets } => {
                        for &it in &sets[choice].takes {
                            apart[self.slot_price(at, offers[it])] += n;
                        }
                    }
                }
            }
        }
        for show in 0..self.problem.shows.len() {
            let it = &self.problem.shows[show];
            bound += self.unmet(prices, show);
            let missing = if prices[show] > self.problem.unstaffed { 0.0 } else { it.seats as f64 };
            apart[show] += missing;
        }
        for bench in 0..self.offers.len() {
            let (cost, taken) = best_session(self.problem, bench, &self.offers_at(prices, bench));
            bound += cost;
            for it in taken {
                apart[self.offers[bench][it].1] -= 1.0;
            }
        }
        Answer { bound, apart }
    }

    /// What a showing's price comes to when it has no machines yet: it may have too few instead.
    pub fn unmet(&self, prices: &[f64], show: usize) -> f64 {
        self.problem.shows[show].seats as f64 * prices[show].min(self.problem.unstaffed)
    }

    /// Returns the least cost of a session in a slot.
    pub fn session(&self, prices: &[f64], bench: usize) -> f64 {
        best_session(self.problem, bench, &self.offers_at(prices, bench)).0
    }

    fn slot_price(&self, class: usize, (job, at): (usize, usize)) -> usize {
        self.slot_prices[class][self.problem.place_of(job)] + at
    }

    fn offers_at(&self, prices: &[f64], bench: usize) -> Vec<Offer> {
        let offer = |&(job, price): &(usize, usize)| {
            let fixed =
                self.problem.jobs[job].slots.iter().any(|chance| chance.slot == bench && chance.fixed);
            Offer { job, gain: prices[price], may: if fixed { May::Must } else { May::Either } }
        };
        self.offers[bench].iter().map(offer).collect()
    }

    /// Returns what each choice costs a class besides.
    pub fn class_prices(&self, prices: &[f64], class: usize) -> Prices {
        let it = &self.classes[class];
        let shows = &self.problem.machines[it.members[0]].shows;
        let one = |own: &crate::lives::Own| match &own.what {
            What::Show(at) => vec![0.0, -prices[shows[*at]]],
            What::Slot { offers, sets } => {
                let price = |&it: &usize| prices[self.slot_price(class, offers[it])];
                sets.iter().map(|set| set.takes.iter().map(price).sum()).collect()
            }
        };
        it.own.iter().map(one).collect()
    }
}
