//! How the network of a machine's diaries is found, from its stand at the plan's zero.

use crate::dual::Dual;
use crate::lives::{Arc, Layer, Own, Prices, Set, Step, What, steps};
use crate::problem::{Job, Problem};
use rustc_hash::FxHashMap;

/// What a machine has come to.
#[derive(Clone)]
struct Stand {
    /// For each piece of work the minutes since it was last done and until when that holds; then what it is still
    /// away or on the bench for.
    key: Vec<i64>,
    /// For each piece of work the slot in which it was last done (its place among the work's, plus one); 0: never.
    last: Vec<usize>,
    /// The least that it took to come here, prices counted in.
    spent: f64,
}

/// All that is known of one machine while its diaries are found.
pub(crate) struct Stands<'d, 'p, 'm> {
    problem: &'p Problem<'m>,
    dual: &'d Dual<'p, 'm>,
    tables: &'d [Vec<f64>],
    machine: usize,
    /// Its work, then, where there is one, the part that only keeps its runs apart.
    parts: Vec<usize>,
    /// For each step (and the end) and part, how many of the part's events lie before it.
    events: Vec<Vec<usize>>,
    own: Vec<Own>,
    /// For each own step the last own step that it could stand in the way of.
    reach: Vec<usize>,
    /// For each own step (and the end) the first and the last end of the showings from there on.
    ends: Vec<(i64, i64)>,
    /// For each piece of work: from so many minutes on it makes no difference how many they are.
    caps: Vec<i64>,
}

impl<'d, 'p, 'm> Stands<'d, 'p, 'm> {
    /// Makes ready; nothing where too many sets of work could be done in one slot.
    pub fn new(dual: &'d Dual<'p, 'm>, tables: &'d [Vec<f64>], machine: usize) -> Option<Self> {
        let problem = dual.problem;
        let mach = &problem.machines[machine];
        let mut parts = mach.work.clone();
        parts.extend(dual.pricing[machine].iter().filter(|&&part| part >= problem.jobs.len()));
        let own = own_steps(problem, machine)?;
        let mut events = vec![vec![0; parts.len()]];
        for step in &own {
            let mut now = events.last().expect("the beginning is there").clone();
            for (now, &part) in now.iter_mut().zip(&parts) {
                *now += usize::from(match &step.what {
                    What::Show(_) => true,
                    What::Slot { offers, .. } => offers.iter().any(|&(job, _)| job == part),
                });
            }
            events.push(now);
        }
        let mut ends = vec![(i64::MAX, i64::MIN)];
        for step in own.iter().rev() {
            let &(first, last) = ends.last().expect("the end is there");
            ends.push(match step.what {
                What::Show(at) => {
                    let end = problem.shows[mach.shows[at]].ends;
                    (first.min(end), last.max(end))
                }
                What::Slot { .. } => (first, last),
            });
        }
        ends.reverse();
        let caps = mach.work.iter().map(|&job| cap(&problem.jobs[job])).collect();
        let mut stands =
            Self { problem, dual, tables, machine, parts, events, own, reach: Vec::new(), ends, caps };
        stands.reach = (0..stands.own.len()).map(|step| stands.reach_of(step)).collect();
        Some(stands)
    }

    fn jobs(&self) -> &'p [usize] {
        &self.problem.machines[self.machine].work
    }

    fn bench(&self, job: usize, at: usize) -> usize {
        self.problem.jobs[job].slots[at].slot
    }

    fn reach_of(&self, step: usize) -> usize {
        let all = |step: usize| match &self.own[step].what {
            What::Show(_) => 1,
            What::Slot { sets, .. } => {
                let largest = (0..sets.len()).max_by_key(|&set| sets[set].takes.len());
                largest.unwrap_or(0)
            }
        };
        let full =
            |later: &usize| self.clash(step, all(step), *later, all(*later)) || self.same_work(step, *later);
        (step + 1..self.own.len()).rev().find(full).unwrap_or(step)
    }

    /// Whether some work may be done in both of two slots that overlap.
    fn same_work(&self, step: usize, later: usize) -> bool {
        match (&self.own[step].what, &self.own[later].what) {
            (What::Slot { offers, .. }, What::Slot { offers: others, .. }) => {
                offers.iter().any(|one| others.iter().any(|other| self.twice(*one, *other)))
            }
            _ => false,
        }
    }

    fn twice(&self, one: (usize, usize), other: (usize, usize)) -> bool {
        let bench = |(job, at): (usize, usize)| &self.problem.benches[self.bench(job, at)];
        one.0 == other.0 && bench(one).ends > bench(other).starts
    }

    /// Whether what is chosen at one step keeps a machine from a choice at a later one.
    fn clash(&self, step: usize, choice: usize, later: usize, other: usize) -> bool {
        let taken = |step: usize, choice: usize| match &self.own[step].what {
            What::Show(_) => Vec::new(),
            What::Slot { offers, sets } => sets[choice].takes.iter().map(|&it| offers[it]).collect(),
        };
        let away = |at: usize, doings: &[(usize, usize)]| {
            doings.iter().any(|&(job, slot)| !self.problem.home_for(self.machine, at, self.bench(job, slot)))
        };
        match (&self.own[step].what, &self.own[later].what) {
            (What::Show(at), What::Show(to)) => {
                choice == 1 && other == 1 && !self.problem.both(self.machine, *at, *to)
            }
            (What::Show(at), What::Slot { .. }) => choice == 1 && away(*at, &taken(later, other)),
            (What::Slot { .. }, What::Show(at)) => other == 1 && away(*at, &taken(step, choice)),
            (What::Slot { .. }, What::Slot { .. }) => {
                let (before, now) = (taken(step, choice), taken(later, other));
                before.iter().any(|one| now.iter().any(|other| self.twice(*one, *other)))
            }
        }
    }

    /// What each choice costs besides: the prices of the bound; a showing counts ways and base risk with them.
    fn prices(&self) -> Prices {
        let prices = &self.dual.prices;
        let one = |own: &Own| match &own.what {
            What::Show(at) => {
                let able = self.problem.able(self.machine, *at);
                let priced: f64 = self.dual.pricing[self.machine]
                    .iter()
                    .map(|&part| prices[self.dual.parts[part].runs.start + at])
                    .sum();
                vec![0.0, priced - able.journeys - able.base_risk]
            }
            What::Slot { offers, sets } => {
                let price = |&it: &usize| prices[self.dual.parts[offers[it].0].slots.start + offers[it].1];
                sets.iter().map(|set| set.takes.iter().map(price).sum()).collect()
            }
        };
        self.own.iter().map(one).collect()
    }

    /// Follows all stands from the first one. Returns the steps, the network, what is left at its ends, the prices it
    /// was found at, what the work costs alone, and the slack beyond that within which nothing is missing.
    pub fn follow(self, slack: f64, most: usize) -> (Vec<Own>, Vec<Layer>, Vec<f64>, Prices, f64, f64) {
        let prices = self.prices();
        let jobs = self.jobs();
        let mut first = Stand { key: Vec::new(), last: vec![0; jobs.len()], spent: 0.0 };
        for &job in jobs {
            let it = &self.problem.jobs[job];
            first.key.extend([it.since, it.first_expiry()]);
        }
        self.even(&mut first, 0);
        let least = self.rest(&first, 0);
        let mut kept = slack;
        let mut now = vec![first];
        let mut layers = Vec::with_capacity(self.own.len());
        // With many choices fewer stands, so that the effort stays what it is.
        let choices: usize = prices.iter().map(Vec::len).sum();
        let most = (most * USUAL_CHOICES / choices.max(USUAL_CHOICES)).max(1);
        for (step, prices) in prices.iter().enumerate() {
            let (layer, next, excess) = self.layer(&now, step, prices, least + kept, most);
            kept = kept.min(excess - least);
            layers.push(layer);
            now = next;
        }
        let left = |stand: &Stand| {
            let over =
                |(place, &job): (usize, &usize)| self.problem.jobs[job].left * stand.key[2 * place] as f64;
            jobs.iter().enumerate().map(over).sum()
        };
        let left = now.iter().map(left).collect();
        (self.own, layers, left, prices, least, kept)
    }

    /// Goes one step from all stands; returns the next ones, and the least bound of what was dropped for want of room.
    fn layer(
        &self,
        now: &[Stand],
        step: usize,
        prices: &[f64],
        limit: f64,
        most: usize,
    ) -> (Layer, Vec<Stand>, f64) {
        let mut next: Vec<Stand> = Vec::new();
        let mut rests: Vec<f64> = Vec::new();
        let mut names: FxHashMap<Vec<i64>, u32> = FxHashMap::default();
        let mut layer = Layer { starts: vec![0], arcs: Vec::new() };
        for stand in now {
            for (choice, &price) in prices.iter().enumerate() {
                let Some((cost, mut to)) = self.choose(stand, step, choice) else { continue };
                to.spent = stand.spent + cost + price;
                self.even(&mut to, step + 1);
                let known = names.get(&to.key).copied();
                let rest = known.map_or_else(|| self.rest(&to, step + 1), |it| rests[it as usize]);
                if to.spent + rest > limit {
                    continue;
                }
                let name = known.unwrap_or(next.len() as u32);
                if known.is_some() {
                    let before = &mut next[name as usize].spent;
                    *before = before.min(to.spent);
                } else {
                    names.insert(to.key.clone(), name);
                    next.push(to);
                    rests.push(rest);
                }
                layer.arcs.push(Arc { to: name, choice: choice as u32, cost });
            }
            layer.starts.push(layer.arcs.len() as u32);
        }
        if next.len() <= most {
            return (layer, next, f64::INFINITY);
        }
        let bound = |&at: &usize| next[at].spent + rests[at];
        let mut order: Vec<usize> = (0..next.len()).collect();
        order.sort_by(|a, b| bound(a).total_cmp(&bound(b)).then(a.cmp(b)));
        let excess = bound(&order[most]);
        let mut names = vec![u32::MAX; next.len()];
        for (name, &at) in order[..most].iter().enumerate() {
            names[at] = name as u32;
        }
        let kept = order[..most].iter().map(|&at| next[at].clone()).collect();
        (renamed(&layer, &names), kept, excess)
    }

    /// Returns the cost of a choice, prices aside, and what the machine comes to; nothing where it cannot be.
    fn choose(&self, stand: &Stand, step: usize, choice: usize) -> Option<(f64, Stand)> {
        let busy = &stand.key[2 * self.jobs().len()..];
        let clashes = |&word: &i64| {
            let (earlier, before) = read(word);
            self.clash(earlier, before, step, choice)
        };
        if busy.iter().any(clashes) {
            return None;
        }
        let mut to = stand.clone();
        let (cost, idle) = match &self.own[step].what {
            What::Show(at) if choice == 1 => (self.run(&mut to, *at), false),
            What::Show(at) if self.problem.able(self.machine, *at).fixed => return None,
            What::Show(_) => (0.0, true),
            What::Slot { offers, sets } => {
                (self.doing(&mut to, offers, &sets[choice]), sets[choice].takes.is_empty())
            }
        };
        if !idle && self.reach[step] > step {
            to.key.push(word(step, choice));
        }
        Some((cost, to))
    }

    fn run(&self, stand: &mut Stand, at: usize) -> f64 {
        let able = self.problem.able(self.machine, at);
        let show = &self.problem.shows[self.problem.machines[self.machine].shows[at]];
        let mut cost = able.journeys + able.base_risk;
        for (place, &job) in self.jobs().iter().enumerate() {
            let it = &self.problem.jobs[job];
            let (since, expiry) = (stand.key[2 * place], stand.key[2 * place + 1]);
            cost += show.stoppage * it.stoppages(since, show.run);
            if it.over(since, show.run) || show.ends > expiry {
                cost += self.problem.overdue;
            }
            stand.key[2 * place] += show.run;
        }
        cost
    }

    fn doing(&self, stand: &mut Stand, offers: &[(usize, usize)], set: &Set) -> f64 {
        let mut cost = 0.0;
        for &it in &set.takes {
            let (job, at) = offers[it];
            let place = self.problem.place_of(job);
            let it = &self.problem.jobs[job];
            cost += it.waste(stand.key[2 * place]) + it.slots[at].cost;
            stand.key[2 * place] = 0;
            stand.key[2 * place + 1] = it.expiry(self.problem.benches[it.slots[at].slot].ends);
            stand.last[place] = at + 1;
        }
        cost
    }

    /// Makes stands from which everything goes on alike the same.
    fn even(&self, stand: &mut Stand, step: usize) {
        let (first, last) = self.ends[step];
        for (place, &cap) in self.caps.iter().enumerate() {
            let since = &mut stand.key[2 * place];
            *since = (*since).min(cap);
            let expiry = &mut stand.key[2 * place + 1];
            if *expiry >= last {
                *expiry = i64::MAX;
            } else if *expiry < first {
                *expiry = i64::MIN;
            }
        }
        let own = 2 * self.caps.len();
        let mut at = own;
        while at < stand.key.len() {
            if self.reach[read(stand.key[at]).0] < step {
                stand.key.remove(at);
            } else {
                at += 1;
            }
        }
    }

    /// The least that the tables of the single pieces of work leave to come.
    fn rest(&self, stand: &Stand, step: usize) -> f64 {
        let mut rest = 0.0;
        for (place, &part) in self.parts.iter().enumerate() {
            let event = self.events[step][place];
            let (last, ran) = match self.problem.jobs.get(part) {
                None => (None, 0),
                Some(job) => {
                    let last = stand.last[place].checked_sub(1);
                    let from = if last.is_none() { job.since } else { 0 };
                    (last, (stand.key[2 * place] - from).max(0))
                }
            };
            rest += self.dual.grids[part].rest(&self.tables[part], event, last, ran);
        }
        rest
    }
}

fn renamed(layer: &Layer, names: &[u32]) -> Layer {
    let mut kept = Layer { starts: vec![0], arcs: Vec::new() };
    for stand in 0..layer.len() {
        for arc in layer.arcs(stand).iter().filter(|arc| names[arc.to as usize] != u32::MAX) {
            kept.arcs.push(Arc { to: names[arc.to as usize], ..*arc });
        }
        kept.starts.push(kept.arcs.len() as u32);
    }
    kept
}

/// A step and what was chosen there, in one number.
fn word(step: usize, choice: usize) -> i64 {
    i64::try_from(step << CHOICE_BITS | choice).expect("a diary has no thousand million steps")
}

/// Returns the step and the choice of a word.
fn read(word: i64) -> (usize, usize) {
    let word = usize::try_from(word).unwrap_or_default();
    (word >> CHOICE_BITS, word & ((1 << CHOICE_BITS) - 1))
}

/// Room for more choices than there are sets of work.
const CHOICE_BITS: u32 = 8;

/// From so many minutes on nothing about a piece of work depends on how many they are.
fn cap(job: &Job) -> i64 {
    if !job.hours_matter {
        return 0;
    }
    if job.left > 0.0 {
        return i64::MAX;
    }
    let risk = job.risk.last().map_or(0.0, |&(minutes, _)| minutes);
    let life = job.life.map_or(0.0, |(life, _)| life);
    // A run that takes no time is past the limit only beyond it.
    let limit = job.limit.map_or(0, |limit| limit + 1);
    (risk.max(life).ceil() as i64).max(limit)
}

fn own_steps(problem: &Problem<'_>, machine: usize) -> Option<Vec<Own>> {
    let mach = &problem.machines[machine];
    let mut own = Vec::new();
    for (step, it) in steps(problem).into_iter().enumerate() {
        match it {
            Step::Show(show) => {
                let at = mach.shows.binary_search(&show).ok();
                own.extend(at.map(|at| Own { step, what: What::Show(at) }));
            }
            Step::Slot(bench) => {
                let offer = |&job: &usize| {
                    let at = problem.jobs[job].slots.iter().position(|chance| chance.slot == bench)?;
                    Some((job, at))
                };
                let offers: Vec<(usize, usize)> = mach.work.iter().filter_map(offer).collect();
                if !offers.is_empty() {
                    let sets = sets(problem, bench, &offers)?;
                    own.push(Own { step, what: What::Slot { offers, sets } });
                }
            }
        }
    }
    Some(own)
}

/// Choices in the diary of one machine in a month: sixty showings, and as many slots with a few sets of work.
const USUAL_CHOICES: usize = 400;
/// Most sets of work on one machine in one slot that are looked at; with more there is no proof.
const MOST_SETS: usize = 64;

/// Lists what could be done on one machine in a slot; nothing where that is too much.
fn sets(problem: &Problem<'_>, bench: usize, offers: &[(usize, usize)]) -> Option<Vec<Set>> {
    let mut all = vec![Vec::new()];
    for (it, &(job, at)) in offers.iter().enumerate() {
        let with = |takes: &Vec<usize>| [&takes[..], &[it]].concat();
        let longer: Vec<Vec<usize>> = all.iter().map(with).collect();
        if problem.jobs[job].slots[at].fixed {
            all = longer;
        } else {
            all.extend(longer);
        }
        all.retain(|takes| set(problem, offers, takes.clone()).minutes <= problem.benches[bench].minutes);
        if all.len() > MOST_SETS {
            return None;
        }
    }
    Some(all.into_iter().map(|takes| set(problem, offers, takes)).collect())
}

fn set(problem: &Problem<'_>, offers: &[(usize, usize)], takes: Vec<usize>) -> Set {
    let job = |&it: &usize| &problem.jobs[offers[it].0];
    let mut preparations: Vec<usize> = takes.iter().filter_map(|it| job(it).preparation).collect();
    preparations.sort_unstable();
    preparations.dedup();
    let sum = |it: &usize| problem.preparations[*it];
    Set {
        minutes: takes.iter().map(|it| job(it).minutes).sum::<i64>()
            + preparations.iter().map(|it| sum(it).0).sum::<i64>(),
        prepared: preparations.iter().map(|it| sum(it).1).sum(),
        takes,
    }
}
