//! The best plan, proven: step by step in the order of time, every beginning of the diary that could still be part of
//! a better plan than the best one known, side by side.
//!
//! Beginnings that leave all machines in the same stands go on together, whichever way they came there, and so do those
//! that differ only in which of like machines stands where. What a beginning costs at least is what it costs so far
//! and what the joint bound leaves to come.

use crate::cost::{Choice, insert};
use crate::joint::Joint;
use crate::known::Beginnings;
use crate::lives::{Step, What, steps};
use crate::problem::Problem;

/// What was found.
pub(crate) struct Found {
    /// A plan that is better than the one known before.
    pub choice: Option<Choice>,
    /// No plan within the diaries that were given costs less.
    pub bound: f64,
}

/// A machine's way on at a step.
struct Way {
    choice: u16,
    to: u32,
    /// What it costs, and how much more than the bound has counted.
    cost: f64,
    more: f64,
}

/// How beginnings were led on at one step.
#[derive(Default)]
struct Trace {
    parent: Vec<u32>,
    /// For each machine's place: what was chosen there, and the place of the parent that stands here now.
    choices: Vec<u16>,
    from: Vec<u16>,
}

/// The search.
pub(crate) struct Layers<'j, 'p, 'm> {
    problem: &'p Problem<'m>,
    joint: &'j Joint<'p, 'm>,
    steps: Vec<Step>,
    /// For each class what each stand of each step leaves to come, and what choices cost besides.
    rest: Vec<Vec<Vec<f64>>>,
    prices: Vec<crate::lives::Prices>,
    /// For each place its class, and for each class its first place.
    class_of: Vec<usize>,
    first: Vec<usize>,
    /// For each class how many of its own steps are done.
    done: Vec<usize>,
    cutoff: f64,
    /// What is being put together at the present step.
    ways: Vec<Vec<Way>>,
    taken: Vec<usize>,
    stands: Vec<(u32, u16)>,
    key: Vec<u32>,
    /// Beginnings that were tried so far.
    tries: usize,
}

/// Beginnings that are tried in all, for each that may stand beside others.
const TRIES: usize = 100;
/// Beyond that one in so many is kept.
const FEW: usize = 20;

/// What a step asks for, besides the machines' ways.
enum Asks {
    /// So many machines; what was counted for it.
    Show { seats: usize, price: f64, counted: f64 },
    /// Minutes and a session; what was counted for it.
    Slot { minutes: i64, opening: f64, counted: f64 },
}

impl<'j, 'p, 'm> Layers<'j, 'p, 'm> {
    /// Makes ready to look for plans under `best`.
    pub fn new(joint: &'j Joint<'p, 'm>, best: f64) -> Self {
        let problem = joint.problem;
        let prices: Vec<_> =
            (0..joint.classes.len()).map(|class| joint.class_prices(&joint.climb.prices, class)).collect();
        let rest = joint.classes.iter().zip(&prices).map(|(class, prices)| class.rest(prices)).collect();
        let mut class_of = Vec::new();
        let mut first = Vec::new();
        for (class, lives) in joint.classes.iter().enumerate() {
            first.push(class_of.len());
            class_of.extend(lives.members.iter().map(|_| class));
        }
        Self {
            problem,
            joint,
            steps: steps(problem),
            rest,
            prices,
            ways: class_of.iter().map(|_| Vec::new()).collect(),
            taken: vec![0; class_of.len()],
            stands: Vec::new(),
            key: Vec::new(),
            tries: 0,
            done: vec![0; first.len()],
            class_of,
            first,
            cutoff: best - 0.5e-9 * best.abs().max(1.0),
        }
    }

    /// Goes from the beginning to the end with at most `most` beginnings side by side.
    pub fn run(mut self, most: usize) -> Found {
        let n = self.class_of.len();
        let mut traces: Vec<Trace> = Vec::with_capacity(self.steps.len());
        let mut now = Beginnings::new(n);
        let mut dropped = f64::INFINITY;
        if self.joint.climb.bound < self.cutoff && self.joint.classes.iter().all(|class| !class.none()) {
            now.add(&vec![0; n], 0.0, self.joint.climb.bound);
        }
        for step in 0..self.steps.len() {
            let mut next = Beginnings::new(n);
            let mut trace = Trace::default();
            let asks = self.asks(step);
            let involved: Vec<usize> = (0..n).filter(|&place| self.is_at(place, step)).collect();
            for at in 0..now.len() {
                self.lead_on(&now, at, &asks, &involved, &mut next, &mut trace);
            }
            for class in 0..self.first.len() {
                self.done[class] += usize::from(self.is_at(self.first[class], step));
            }
            // Where very many would have to be tried, it goes on with few: a plan and a bound, hardly a proof.
            let most = if self.tries > TRIES * most { most.div_ceil(FEW) } else { most };
            if let Some((order, least)) = next.narrow(most) {
                dropped = dropped.min(least);
                trace = trace.narrowed(&order, n);
            }
            traces.push(trace);
            now = next;
        }
        let best = (0..now.len()).min_by(|&a, &b| now.bound(a).total_cmp(&now.bound(b)).then(a.cmp(&b)));
        let choice = best.map(|at| self.told(&traces, at));
        let least = best.map_or(self.cutoff, |at| now.bound(at));
        Found { choice, bound: dropped.min(least) }
    }

    fn is_at(&self, place: usize, step: usize) -> bool {
        let class = self.class_of[place];
        self.joint.classes[class].own.get(self.done[class]).is_some_and(|own| own.step == step)
    }

    fn asks(&self, step: usize) -> Asks {
        let prices = &self.joint.climb.prices;
        match self.steps[step] {
            Step::Show(show) => Asks::Show {
                seats: self.problem.shows[show].seats,
                price: prices[show],
                counted: self.joint.unmet(prices, show),
            },
            Step::Slot(bench) => Asks::Slot {
                minutes: self.problem.benches[bench].minutes,
                opening: self.problem.benches[bench].opening,
                counted: self.joint.session(prices, bench),
            },
        }
    }

    /// Leads one beginning on in every way that could still be part of a better plan.
    fn lead_on(
        &mut self,
        now: &Beginnings,
        at: usize,
        asks: &Asks,
        involved: &[usize],
        next: &mut Beginnings,
        trace: &mut Trace,
    ) {
        let slack = self.cutoff - now.bound(at);
        for &place in involved {
            let class = self.class_of[place];
            let (done, stand) = (self.done[class], now.stands(at)[place] as usize);
            let (rest, prices) = (&self.rest[class], &self.prices[class][done]);
            let base = rest[done][stand];
            let ways = &mut self.ways[place];
            ways.clear();
            for arc in self.joint.classes[class].layers[done].arcs(stand) {
                let after = arc.cost + prices[arc.choice as usize] + rest[done + 1][arc.to as usize];
                let more = after - base;
                if more < slack {
                    ways.push(Way { choice: arc.choice as u16, to: arc.to, cost: arc.cost, more });
                }
            }
        }
        let mut on = LeadOn { now, at, asks, involved, next, trace, slack };
        self.combine(&mut on, 0, 0.0, 0.0, Used::default());
    }

    fn combine(&mut self, on: &mut LeadOn<'_>, turn: usize, cost: f64, more: f64, used: Used) {
        let Some(&place) = on.involved.get(turn) else {
            self.put(on, cost, more, used);
            return;
        };
        // Of like machines in the same stand, the later ones choose no less.
        let twin = turn > 0
            && self.class_of[place] == self.class_of[on.involved[turn - 1]]
            && on.now.stands(on.at)[place] == on.now.stands(on.at)[on.involved[turn - 1]];
        let least = if twin { self.taken[on.involved[turn - 1]] } else { 0 };
        for at in least..self.ways[place].len() {
            let way = &self.ways[place][at];
            let now = more + way.more;
            if now >= on.slack {
                continue;
            }
            let cost = cost + way.cost;
            let Some(used) = self.used(on.asks, place, way.choice as usize, used) else { continue };
            self.taken[place] = at;
            self.combine(on, turn + 1, cost, now, used);
        }
    }

    /// Adds what a choice takes; nothing where it is too much.
    fn used(&self, asks: &Asks, place: usize, choice: usize, used: Used) -> Option<Used> {
        let class = self.class_of[place];
        let mut now = used;
        match asks {
            Asks::Show { seats, .. } => {
                now.machines += choice;
                (now.machines <= *seats).then_some(now)
            }
            Asks::Slot { minutes, .. } => {
                let own = &self.joint.classes[class].own[self.done[class]];
                let What::Slot { sets, .. } = &own.what else { return None };
                let set = &sets[choice];
                now.minutes += set.minutes;
                now.prepared += set.prepared;
                now.machines += usize::from(!set.takes.is_empty());
                now.gains += self.prices[class][self.done[class]][choice];
                (now.minutes <= *minutes || now.machines == 0).then_some(now)
            }
        }
    }

    fn put(&mut self, on: &mut LeadOn<'_>, cost: f64, more: f64, used: Used) {
        let (own, counted) = match *on.asks {
            Asks::Show { seats, price, counted } => {
                let missing = (seats - used.machines) as f64 * self.problem.unstaffed;
                (missing, counted - used.machines as f64 * price)
            }
            Asks::Slot { opening, counted, .. } => {
                let opening = if used.machines > 0 { opening } else { 0.0 };
                (opening + used.prepared, counted + used.gains)
            }
        };
        let more = more + own - counted;
        if more >= on.slack {
            return;
        }
        self.tries += 1;
        let n = self.class_of.len();
        self.stands.clear();
        self.stands.extend(on.now.stands(on.at).iter().zip(0..).map(|(&stand, place)| (stand, place)));
        for &place in on.involved {
            self.stands[place].0 = self.ways[place][self.taken[place]].to;
        }
        for (class, &first) in self.first.iter().enumerate() {
            let n = self.joint.classes[class].members.len();
            if n > 1 {
                self.stands[first..first + n].sort_unstable();
            }
        }
        self.key.clear();
        self.key.extend(self.stands.iter().map(|it| it.0));
        let (cost, bound) = (on.now.cost(on.at) + cost + own, on.now.bound(on.at) + more);
        let Some((name, new)) = on.next.add(&self.key, cost, bound) else { return };
        if new {
            on.trace.parent.push(0);
            on.trace.choices.resize((name + 1) * n, 0);
            on.trace.from.resize((name + 1) * n, 0);
        }
        on.trace.parent[name] = on.at as u32;
        let (choices, from) = (&mut on.trace.choices[name * n..], &mut on.trace.from[name * n..]);
        for &place in on.involved {
            choices[place] = self.ways[place][self.taken[place]].choice;
        }
        for (from, stand) in from.iter_mut().zip(&self.stands) {
            *from = stand.1;
        }
    }

    /// Tells the plan that ends in a beginning that has become whole.
    fn told(&self, traces: &[Trace], last: usize) -> Choice {
        let problem = self.problem;
        let n = self.class_of.len();
        let mut way = vec![last];
        for trace in traces.iter().skip(1).rev() {
            let at = *way.last().expect("the last is there");
            way.push(trace.parent[at] as usize);
        }
        way.reverse();
        let mut choice = Choice {
            crews: vec![Vec::new(); problem.shows.len()],
            runs: vec![Vec::new(); problem.machines.len()],
            done: vec![Vec::new(); problem.jobs.len()],
        };
        let mut stands_for: Vec<usize> =
            self.joint.classes.iter().flat_map(|class| class.members.iter().copied()).collect();
        let mut done = vec![0; self.first.len()];
        for (step, (&at, trace)) in way.iter().zip(traces).enumerate() {
            for (place, (&class, &machine)) in self.class_of.iter().zip(&stands_for).enumerate() {
                let lives = &self.joint.classes[class];
                let Some(own) = lives.own.get(done[class]).filter(|own| own.step == step) else { continue };
                let chosen = usize::from(trace.choices[at * n + place]);
                match &own.what {
                    What::Show(show) if chosen == 1 => choice.put(problem, machine, *show),
                    What::Show(_) => {}
                    What::Slot { offers, sets } => {
                        for &it in &sets[chosen].takes {
                            let its = problem.place_of(offers[it].0);
                            insert(&mut choice.done[problem.machines[machine].work[its]], offers[it].1);
                        }
                    }
                }
            }
            let from = &trace.from[at * n..(at + 1) * n];
            stands_for = from.iter().map(|&place| stands_for[usize::from(place)]).collect();
            for (done, lives) in done.iter_mut().zip(&self.joint.classes) {
                *done += usize::from(lives.own.get(*done).is_some_and(|own| own.step == step));
            }
        }
        choice
    }
}

/// What is led on from where to where.
struct LeadOn<'a> {
    now: &'a Beginnings,
    at: usize,
    asks: &'a Asks,
    involved: &'a [usize],
    next: &'a mut Beginnings,
    trace: &'a mut Trace,
    slack: f64,
}

/// What the machines' choices take so far.
#[derive(Clone, Copy, Default)]
struct Used {
    /// Machines that run, or that something is done on.
    machines: usize,
    minutes: i64,
    prepared: f64,
    gains: f64,
}

impl Trace {
    fn narrowed(&self, order: &[usize], n: usize) -> Self {
        let rows = |all: &[u16]| order.iter().flat_map(|&at| all[at * n..(at + 1) * n].to_vec()).collect();
        Self {
            parent: order.iter().map(|&at| self.parent[at]).collect(),
            choices: rows(&self.choices),
            from: rows(&self.from),
        }
    }
}
