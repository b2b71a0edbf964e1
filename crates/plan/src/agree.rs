//! How prices come to agree: each part says what each choice is worth to it, showings and slots share that out again.
//! Every step keeps the bound or raises it. It is block coordinate ascent on the prices by min-marginals, as message
//! passing does it on graphs of costs (compare T. Werner, "A linear programming approach to max-sum problem: a review",
//! IEEE Transactions on Pattern Analysis and Machine Intelligence 29, 2007; from memory).

use crate::cost::{Choice, since_at_runs};
use crate::dual::Dual;
use crate::grid::Room;
use crate::hand_over::Scratch;

impl Dual<'_, '_> {
    /// Begins with one price per hour for each piece of work: the one at which its own best life has as many hours as
    /// a known plan gives its machine. That is the slope of the convex envelope of what it costs by hours.
    pub fn begin_from(&mut self, choice: &Choice) {
        let prices =
            self.for_each_part(Room::<f64>::default, |part, room| self.price_by_hours(part, choice, room));
        for (part, own) in self.parts.iter().zip(&prices) {
            self.prices[part.all()].copy_from_slice(own);
        }
    }

    fn price_by_hours(&self, part: usize, choice: &Choice, room: &mut Room<f64>) -> Vec<f64> {
        let it = &self.parts[part];
        let mut own = vec![0.0; it.all().len()];
        let Some(job) = self.problem.jobs.get(part) else { return own };
        let n = it.runs.len();
        let shows = &self.problem.machines[it.machine].shows;
        let runs = &choice.runs[it.machine];
        let hours = |at: usize| self.problem.shows[shows[at]].run as f64 / 60.0;
        // What a session would ask of each alone, shared by a few.
        for (at, chance) in job.slots.iter().enumerate() {
            let preparation = job.preparation.map_or(0.0, |it| self.problem.preparations[it].1);
            own[n + at] = preparation / 2.0 + self.problem.benches[chance.slot].opening / SHARERS;
        }
        if n == 0 {
            return own;
        }
        // The mean rate over the known runs, for what is dearer at some showings than at others.
        let since = since_at_runs(self.problem, part, runs, &choice.done[part]);
        let (mut stoppages, mut sum) = (0.0, 0.0);
        for (&at, &since) in runs.iter().zip(&since) {
            stoppages += job.stoppages(since, self.problem.shows[shows[at]].run);
            sum += hours(at);
        }
        let rate = if sum > 0.0 { stoppages / sum } else { job.rate(job.since as f64) };
        let base: Vec<f64> =
            (0..n).map(|at| self.problem.shows[shows[at]].stoppage * rate * hours(at)).collect();
        let grid = &self.grids[part];
        let most = self.problem.overdue / 10.0;
        let (mut low, mut high) = (0.0, f64::INFINITY);
        let mut per_hour = 0.5;
        for _ in 0..HOUR_STEPS {
            for at in 0..n {
                own[at] = -base[at] - per_hour * hours(at);
            }
            let (runs, slots) = own.split_at(n);
            let alone = grid.alone(runs, slots, room);
            let wants: f64 = (0..n).filter(|&at| alone.runs[at]).map(hours).sum();
            if wants > sum {
                high = per_hour;
            } else {
                low = per_hour;
            }
            per_hour = if high.is_infinite() { (per_hour * 2.0).min(most) } else { f64::midpoint(low, high) };
        }
        own
    }

    /// Lets prices agree for so many sweeps (one at least), or until the bound reaches `target`.
    pub fn agree(&mut self, target: f64, sweeps: usize) {
        let mut prices = self.prices.clone();
        for _ in 0..sweeps.max(1) {
            let least = self.hand_over_all(&mut prices);
            let bound = self.bound_with(&prices, least);
            if bound > self.bound {
                self.bound = bound;
                self.prices.clone_from(&prices);
            }
            if self.bound >= target - 1e-9 * target.abs().max(1.0) {
                return;
            }
            for show in 0..self.problem.shows.len() {
                self.share_showing(&mut prices, show);
            }
            for bench in 0..self.offers.len() {
                self.share_session(&mut prices, bench);
            }
        }
    }

    /// All parts hand over what each choice is worth to them; returns what they cost alone at the new prices.
    fn hand_over_all(&self, prices: &mut [f64]) -> f64 {
        let before: &[f64] = prices;
        let answers: Vec<(f64, Vec<f64>)> = self.for_each_part(Scratch::default, |part, scratch| {
            let it = &self.parts[part];
            let mut own = before[it.all()].to_vec();
            let (runs, slots) = own.split_at_mut(it.runs.len());
            let mut free;
            let runs = if runs.is_empty() {
                free = self.run_prices(runs, part);
                &mut free[..]
            } else {
                runs
            };
            let least = self.grids[part].hand_over(runs, slots, HANDED, scratch);
            (least, own)
        });
        let mut least = 0.0;
        for (part, (cost, own)) in self.parts.iter().zip(&answers) {
            least += cost;
            prices[part.all()].copy_from_slice(own);
        }
        least
    }

    fn bound_with(&self, prices: &[f64], parts: f64) -> f64 {
        let picks: f64 = (0..self.problem.shows.len()).map(|show| self.pick(prices, show, |_, _| ())).sum();
        let sessions: f64 = (0..self.offers.len()).map(|bench| self.session(prices, bench)).sum();
        parts + picks + sessions
    }

    /// A showing makes all its machines cost the same: as much as lies between the last that it takes and the next.
    fn share_showing(&self, prices: &mut [f64], show: usize) {
        let it = &self.problem.shows[show];
        let fixed = it.able.iter().filter(|able| able.fixed).count();
        let seats = it.seats.saturating_sub(fixed);
        let open: Vec<usize> = (0..it.able.len()).filter(|&place| !it.able[place].fixed).collect();
        let seen: Vec<f64> = open.iter().map(|&place| self.seen(prices, show, place)).collect();
        let mut order = seen.clone();
        order.sort_by(f64::total_cmp);
        let (Some(&last), next) = (order.get(seats.saturating_sub(1)), order.get(seats)) else { return };
        if seats == 0 || last >= self.problem.unstaffed {
            return;
        }
        let level = match next {
            Some(&next) if next < self.problem.unstaffed => f64::midpoint(last, next),
            _ => last,
        };
        for (&place, &seen) in open.iter().zip(&seen) {
            let able = &it.able[place];
            let pricing = &self.pricing[able.machine];
            for &part in pricing {
                prices[self.parts[part].runs.start + able.at] += (seen - level) / pricing.len() as f64;
            }
        }
    }

    /// A slot asks as much as a session costs, no more and no less, and of nobody less than nothing.
    fn share_session(&self, prices: &mut [f64], bench: usize) {
        let offers = &self.offers[bench];
        if offers.iter().any(|&(job, at)| self.problem.jobs[job].slots[at].fixed) {
            return;
        }
        let groups = self.sharing(bench);
        // What each group offers beyond its preparation; a group that offers less is asked for all of that.
        let mut over = Vec::with_capacity(groups.len());
        for group in &groups {
            for &at in &group.members {
                prices[at] = prices[at].max(0.0);
            }
            let short = group.needs - group.offered(prices);
            if short > 0.0 {
                group.ask_more(prices, short);
            }
            over.push((-short).max(0.0));
        }
        let opening = self.problem.benches[bench].opening;
        let total: f64 = over.iter().sum();
        if total > opening {
            for (group, over) in groups.iter().zip(&over).filter(|(_, over)| **over > 0.0) {
                let keep = 1.0 - over * (1.0 - opening / total) / group.offered(prices);
                for &at in &group.members {
                    prices[at] *= keep;
                }
            }
            return;
        }
        let wanting = over.iter().filter(|over| **over > 0.0).count();
        let sharers = if wanting > 0 { wanting } else { groups.len() };
        for (group, over) in groups.iter().zip(&over) {
            if wanting == 0 || *over > 0.0 {
                group.ask_more(prices, (opening - total) / sharers as f64);
            }
        }
    }

    /// Lists who shares a preparation in a slot.
    fn sharing(&self, bench: usize) -> Vec<Sharing> {
        let mut groups: Vec<Sharing> = Vec::new();
        for &(job, at) in &self.offers[bench] {
            let it = &self.problem.jobs[job];
            let prepared = it.preparation.map(|preparation| (it.machine, preparation));
            let price = self.parts[job].slots.start + at;
            let same = groups.iter_mut().find(|group| prepared.is_some() && group.prepared == prepared);
            if let Some(group) = same {
                group.members.push(price);
            } else {
                let needs = it.preparation.map_or(0.0, |it| self.problem.preparations[it].1);
                groups.push(Sharing { prepared, needs, members: vec![price] });
            }
        }
        groups
    }
}

/// Work in a slot that shares a preparation.
struct Sharing {
    /// The machine and the preparation; work that needs none stands alone.
    prepared: Option<(usize, usize)>,
    /// What the preparation costs.
    needs: f64,
    /// Where the prices of its work lie.
    members: Vec<usize>,
}

impl Sharing {
    fn offered(&self, prices: &[f64]) -> f64 {
        self.members.iter().map(|&at| prices[at]).sum()
    }

    fn ask_more(&self, prices: &mut [f64], more: f64) {
        for &at in &self.members {
            prices[at] += more / self.members.len() as f64;
        }
    }
}

/// Halvings of the range in which a price per hour is sought.
const HOUR_STEPS: usize = 7;
/// A session is shared by so many, to begin with.
const SHARERS: f64 = 4.0;
/// The share of its worth that a choice hands over at once: the earlier ones in time would otherwise take it all.
const HANDED: f64 = 0.3;
