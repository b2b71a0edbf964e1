//! Two machines trade a stretch of their diaries, or one takes it all over, and the work on both is put anew where it
//! is cheapest. One run at a time never gets so far: hours pay only when they are moved in bulk, since a machine that
//! hardly runs needs hardly any work.
//!
//! At first a trade that makes the plan a little dearer is kept now and then, later hardly ever, so that the plan gets
//! out of where no single trade is a gain (S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated
//! annealing", Science 220, 1983; from memory).

use crate::cost::Held;
use crate::primal::{Dice, Draft, EPSILON};
use crate::problem::Problem;
use crate::threads::ask_all;
use crate::work_path::{May, Stretches};
use std::collections::BTreeMap;

/// What became of one machine in a trade.
struct Side {
    machine: usize,
    runs: Vec<usize>,
    done: Vec<Vec<usize>>,
    /// What it costs, sessions aside.
    cost: f64,
}

impl Draft<'_, '_> {
    /// Tries so many trades between machines of one home that are drawn; keeps each that makes the plan cheaper, and
    /// some that make it dearer, fewer and fewer. The plan may be dearer at the end than it was.
    ///
    /// Homes have neither machines nor benches in common, so each trades for itself.
    pub fn trade(&mut self, tries: usize, dice: &mut Dice, threads: usize) {
        let problem = self.problem;
        let homes: Vec<(Vec<usize>, u64)> =
            homes(problem).into_iter().map(|home| (home, dice.below(usize::MAX) as u64)).collect();
        let before = &*self;
        let traded = ask_all(
            homes.len(),
            threads,
            || (),
            |at, ()| {
                let (home, seed) = &homes[at];
                let mut draft = before.clone();
                draft.trade_at(home, tries * home.len() / problem.machines.len(), Dice(*seed));
                draft
            },
        );
        for ((home, _), mut draft) in homes.iter().zip(traded) {
            for &machine in home {
                let work = &problem.machines[machine].work;
                let side = Side {
                    machine,
                    runs: std::mem::take(&mut draft.choice.runs[machine]),
                    done: work.iter().map(|&job| std::mem::take(&mut draft.choice.done[job])).collect(),
                    cost: draft.machines[machine],
                };
                self.keep_side(side);
            }
        }
    }

    fn trade_at(&mut self, home: &[usize], tries: usize, mut dice: Dice) {
        let mut held = self.choice.sessions(self.problem);
        let warm = self.warmth();
        for step in 0..tries {
            let left = 1.0 - step as f64 / tries as f64;
            let may_lose = -warm * left * left * dice.share().ln();
            let one = home[dice.below(home.len())];
            let other = home[dice.below(home.len())];
            let n = self.choice.runs[one].len();
            if other == one || n == 0 {
                continue;
            }
            let from = dice.below(n);
            let length = LENGTHS[dice.below(LENGTHS.len())].min(n - from);
            let swap = dice.below(2) == 0;
            if let Some(runs) = self.traded([one, other], from, length, swap) {
                self.try_sides([one, other], runs, may_lose, &mut held);
            }
        }
    }

    /// Returns how much dearer a trade may make the plan, on average of all that are kept, at the beginning.
    fn warmth(&self) -> f64 {
        let all = self.choice.breakdown(self.problem);
        let usual = all.total().0 - all.overdue.0 - all.unstaffed.0;
        WARMTH * usual / self.problem.shows.len().max(1) as f64
    }

    /// Returns the runs of both machines after a trade, if they can be.
    fn traded(&self, pair: [usize; 2], from: usize, length: usize, swap: bool) -> Option<[Vec<usize>; 2]> {
        let problem = self.problem;
        let [one, other] = pair;
        let (mine, theirs) = (&self.choice.runs[one], &self.choice.runs[other]);
        let show = |machine: usize, at: usize| problem.machines[machine].shows[at];
        let (first, last) = (show(one, mine[from]), show(one, mine[from + length - 1]));
        let goes = |at: &usize| {
            let it = show(one, *at);
            it >= first && it <= last && !problem.able(one, *at).fixed
        };
        let comes = |at: &usize| {
            let it = show(other, *at);
            swap && it >= first && it <= last && !problem.able(other, *at).fixed
        };
        let mut new = [
            mine.iter().copied().filter(|at| !goes(at)).collect::<Vec<_>>(),
            theirs.iter().copied().filter(|at| !comes(at)).collect::<Vec<_>>(),
        ];
        for &at in mine.iter().filter(|at| goes(at)) {
            new[1].push(problem.machines[other].shows.binary_search(&show(one, at)).ok()?);
        }
        for &at in theirs.iter().filter(|at| comes(at)) {
            new[0].push(problem.machines[one].shows.binary_search(&show(other, at)).ok()?);
        }
        for (machine, runs) in pair.into_iter().zip(&mut new) {
            runs.sort_unstable();
            let clash = |pair: &[usize]| pair[0] == pair[1] || !problem.both(machine, pair[0], pair[1]);
            // In the order of time, what leaves time for the next leaves time for all later ones.
            if runs.windows(2).any(clash) {
                return None;
            }
        }
        Some(new)
    }

    /// Puts the work of both where it is cheapest with new runs; keeps it where that makes the plan cheaper, or dearer
    /// by less than it may lose.
    fn try_sides(&mut self, pair: [usize; 2], runs: [Vec<usize>; 2], may_lose: f64, held: &mut [Held]) {
        let problem = self.problem;
        let sessions =
            |held: &[Held], touched: &[usize]| -> f64 { touched.iter().map(|&it| held[it].cost).sum() };
        let benches_of = |done: &[Vec<usize>]| -> Vec<usize> {
            let jobs = pair.iter().flat_map(|&machine| &problem.machines[machine].work);
            jobs.flat_map(|&job| done[job].iter().map(move |&at| problem.jobs[job].slots[at].slot)).collect()
        };
        let mut touched = benches_of(&self.choice.done);
        touched.sort_unstable();
        touched.dedup();
        let before = self.machines[pair[0]] + self.machines[pair[1]] + sessions(held, &touched);
        self.all_work(pair, held, false);
        let bare = sessions(held, &touched);
        let mut after = bare;
        let mut sides = Vec::with_capacity(2);
        for (machine, runs) in pair.into_iter().zip(runs) {
            let Some((side, opened)) = settle_side(problem, machine, runs, held) else {
                for side in &sides {
                    take_side(problem, side, held);
                }
                self.all_work(pair, held, true);
                return;
            };
            after += side.cost + opened;
            sides.push(side);
        }
        if after < before - EPSILON * before.abs().max(1.0) + may_lose {
            for side in sides {
                self.keep_side(side);
            }
            return;
        }
        for side in &sides {
            take_side(problem, side, held);
        }
        self.all_work(pair, held, true);
    }

    fn all_work(&self, pair: [usize; 2], held: &mut [Held], put: bool) {
        for machine in pair {
            for &job in &self.problem.machines[machine].work {
                for &at in &self.choice.done[job] {
                    let bench = self.problem.jobs[job].slots[at].slot;
                    if put {
                        held[bench].put(self.problem, bench, job);
                    } else {
                        held[bench].take(self.problem, bench, job);
                    }
                }
            }
        }
    }

    fn keep_side(&mut self, side: Side) {
        let Side { machine, runs, done, cost } = side;
        let old = std::mem::take(&mut self.choice.runs[machine]);
        let shows = &self.problem.machines[machine].shows;
        for at in old {
            self.choice.crews[shows[at]].retain(|&it| it != machine);
        }
        for &at in &runs {
            crate::cost::insert(&mut self.choice.crews[shows[at]], machine);
        }
        self.choice.runs[machine] = runs;
        for (&job, way) in self.problem.machines[machine].work.iter().zip(done) {
            self.choice.done[job] = way;
        }
        self.machines[machine] = cost;
    }
}

/// Puts one machine's work where it is cheapest, as the sessions stand; with what its sessions cost more.
fn settle_side(
    problem: &Problem<'_>,
    machine: usize,
    runs: Vec<usize>,
    held: &mut [Held],
) -> Option<(Side, f64)> {
    let mut side = Side { machine, runs, done: Vec::new(), cost: 0.0 };
    let mut opened = 0.0;
    for &at in &side.runs {
        let able = problem.able(machine, at);
        side.cost += able.journeys + able.base_risk;
    }
    for &job in &problem.machines[machine].work {
        let it = &problem.jobs[job];
        let stretches = Stretches::new(problem, job, &side.runs);
        let price = |at: usize| {
            let bench = it.slots[at].slot;
            let (minutes, cost) = held[bench].adds(problem, bench, job);
            let fits = held[bench].minutes + minutes <= problem.benches[bench].minutes;
            if fits { cost } else { f64::INFINITY }
        };
        let away =
            |at: usize| side.runs.iter().any(|&run| !problem.home_for(machine, run, it.slots[at].slot));
        let must = (0..it.slots.len()).filter(|&at| stretches.may[at] == May::Must);
        let (cost, way) = if must.into_iter().any(away) {
            (f64::INFINITY, Vec::new())
        } else {
            stretches.cheapest(price, &stretches.may)
        };
        if cost.is_infinite() {
            take_side(problem, &side, held);
            return None;
        }
        let own = stretches.cost_of(&way);
        side.cost += own;
        opened += cost - own;
        for &at in &way {
            held[it.slots[at].slot].put(problem, it.slots[at].slot, job);
        }
        side.done.push(way);
    }
    Some((side, opened))
}

fn take_side(problem: &Problem<'_>, side: &Side, held: &mut [Held]) {
    for (&job, way) in problem.machines[side.machine].work.iter().zip(&side.done) {
        for &at in way {
            let bench = problem.jobs[job].slots[at].slot;
            held[bench].take(problem, bench, job);
        }
    }
}

/// The machines of each home.
fn homes(problem: &Problem<'_>) -> Vec<Vec<usize>> {
    let mut homes: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (machine, it) in problem.model.machines.iter().enumerate() {
        homes.entry(&it.home).or_default().push(machine);
    }
    homes.into_values().collect()
}

/// Of what a showing costs on average: so much may a trade lose at first. Of 0.02, 0.04, 0.08 and 0.17 the best on an
/// invented depot.
const WARMTH: f64 = 0.17;
/// How many runs change hands.
const LENGTHS: [usize; 6] = [1, 1, 2, 4, 8, usize::MAX];
