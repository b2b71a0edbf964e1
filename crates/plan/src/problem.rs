//! The model with every name turned into a place in a list, every way found, and every pin applied.

use crate::check::{ModelError, check};
use crate::lists::{benches, drop_slots_taken_by_pins, groups, jobs, machines, shows};
use crate::model::Model;
use crate::pins::Pins;
use crate::room::lacking;
use crate::ways::Ways;

/// A showing.
pub(crate) struct Show {
    pub starts: i64,
    pub ends: i64,
    pub place: usize,
    /// Running minutes of each machine.
    pub run: i64,
    pub seats: usize,
    pub stoppage: f64,
    /// Machines that may run, in the order of the model.
    pub able: Vec<Able>,
    /// Where it stands in the model.
    pub of_model: usize,
}

/// A machine that may run at a showing.
#[derive(Clone)]
pub(crate) struct Able {
    pub machine: usize,
    /// Where the showing stands among the machine's.
    pub at: usize,
    /// Journey there and back.
    pub journeys: f64,
    /// Expected stoppages that no work changes.
    pub base_risk: f64,
    /// A person fixed it.
    pub fixed: bool,
    /// Leaves home, comes home.
    pub away: (i64, i64),
}

/// A bench slot.
pub(crate) struct Bench {
    pub starts: i64,
    pub ends: i64,
    /// Minutes that are left for work when the person has come and will go.
    pub minutes: i64,
    /// Minutes of the way there and back.
    pub way: i64,
    /// What it costs that there is a session.
    pub opening: f64,
    pub of_model: usize,
}

/// A machine.
pub(crate) struct Mach {
    /// Showings that it may run at, in the order of time.
    pub shows: Vec<usize>,
    /// Where the machine stands among the able ones of each of those.
    pub able_at: Vec<usize>,
    pub work: Vec<usize>,
    /// Whether any two of its showings may not both be had.
    pub clashes: bool,
}

/// A piece of work.
pub(crate) struct Job {
    pub machine: usize,
    pub minutes: i64,
    pub preparation: Option<usize>,
    /// Minutes run since it was last done.
    pub since: i64,
    pub limit: Option<i64>,
    pub due: Option<i64>,
    pub holds: Option<i64>,
    /// Life in minutes, and what it is worth.
    pub life: Option<(f64, f64)>,
    /// Minutes since done, stoppages per hour.
    pub risk: Vec<(f64, f64)>,
    /// Cost per minute that is left over at the end.
    pub left: f64,
    /// Slots it may be done in, in the order of time.
    pub slots: Vec<Chance>,
    /// Whether anything about it depends on how much or when its machine runs.
    pub runs_matter: bool,
    /// Whether anything about it depends on hours.
    pub hours_matter: bool,
}

/// A slot in which a piece of work may be done.
#[derive(Clone)]
pub(crate) struct Chance {
    pub slot: usize,
    /// Parts and minutes.
    pub cost: f64,
    /// A person fixed it.
    pub fixed: bool,
}

/// The model, ready to be worked on.
pub(crate) struct Problem<'a> {
    pub model: &'a Model,
    pub shows: Vec<Show>,
    pub benches: Vec<Bench>,
    pub machines: Vec<Mach>,
    pub jobs: Vec<Job>,
    /// Minutes and cost of each preparation.
    pub preparations: Vec<(i64, f64)>,
    pub overdue: f64,
    pub unstaffed: f64,
    /// A common step of all running times, in minutes.
    pub step: i64,
    /// Sets of work that share no slot with each other, each with its slots.
    pub groups: Vec<Group>,
}

/// Work and slots that bear on each other through sessions and on nothing else.
pub(crate) struct Group {
    pub jobs: Vec<usize>,
    pub benches: Vec<usize>,
}

impl<'a> Problem<'a> {
    /// Prepares a model; says what is wrong with it or with its pins.
    pub fn new(model: &'a Model) -> Result<Self, ModelError> {
        let ids = check(model)?;
        let ways = Ways::new(model, &ids);
        let pins = Pins::read(model, &ids)?;
        let mut shows = shows(model, &ids, &ways, &pins);
        let (benches, bench_order) = benches(model, &ids, &ways);
        let mut jobs = jobs(model, &ids, &pins, &benches, &bench_order);
        let machines = machines(model, &mut shows, &jobs);
        let preparations = model.preparations.iter().map(|it| (it.minutes.0, it.cost.0)).collect::<Vec<_>>();
        drop_slots_taken_by_pins(&shows, &benches, &machines, &mut jobs);
        let mut problem = Self {
            model,
            step: shows.iter().fold(0, |step, show| gcd(step, show.run)).max(1),
            overdue: 0.0,
            unstaffed: 0.0,
            shows,
            benches,
            machines,
            jobs,
            preparations,
            groups: Vec::new(),
        };
        let lacking = lacking(&problem);
        if !lacking.is_empty() {
            return Err(ModelError::Faulty(lacking));
        }
        problem.weigh();
        pins.hold(&problem)?;
        if model.unstaffed_cost.is_none() {
            problem.fix_what_nothing_can_replace();
        }
        problem.groups = groups(&problem.jobs, problem.benches.len());
        Ok(problem)
    }

    /// Where a showing has no more machines than it needs, they run: a machine too few counts more than all that
    /// could be saved, and nothing that a person fixed stands in the way.
    fn fix_what_nothing_can_replace(&mut self) {
        for show in 0..self.shows.len() {
            if self.shows[show].able.len() > self.shows[show].seats {
                continue;
            }
            for place in 0..self.shows[show].able.len() {
                let (machine, at) = (self.shows[show].able[place].machine, self.shows[show].able[place].at);
                let mach = &self.machines[machine];
                let n = mach.shows.len();
                let alone = !mach.clashes
                    || ((0..at).all(|it| self.both(machine, it, at))
                        && (at + 1..n).all(|it| self.both(machine, at, it)));
                let pinned = |job: &usize| {
                    let fixed = self.jobs[*job].slots.iter().filter(|chance| chance.fixed);
                    fixed.clone().any(|chance| !self.home_for(machine, at, chance.slot))
                };
                if alone && !mach.work.iter().any(pinned) {
                    self.shows[show].able[place].fixed = true;
                }
            }
        }
        drop_slots_taken_by_pins(&self.shows, &self.benches, &self.machines, &mut self.jobs);
    }

    /// What overdue runs and machines too few count where the model does not say, the same whatever is pinned.
    fn weigh(&mut self) {
        let model = self.model;
        self.overdue = model.overdue_cost.map_or_else(|| OVERDUE_STOPPAGES * dearest(model), |cost| cost.0);
        self.unstaffed = model.unstaffed_cost.map_or(UNSTAFFED_OVERDUE * self.overdue, |cost| cost.0);
    }

    /// Returns where a piece of work stands among its machine's.
    pub fn place_of(&self, job: usize) -> usize {
        let work = &self.machines[self.jobs[job].machine].work;
        work.iter().position(|&its| its == job).expect("a piece of work is its machine's")
    }

    /// Returns how a machine stands to the showing at this place among its own.
    pub fn able(&self, machine: usize, at: usize) -> &Able {
        let mach = &self.machines[machine];
        &self.shows[mach.shows[at]].able[mach.able_at[at]]
    }

    /// Returns whether one machine can run at both, the first being the earlier.
    pub fn both(&self, machine: usize, first: usize, second: usize) -> bool {
        let (one, two) = (self.able(machine, first), self.able(machine, second));
        let shows = &self.machines[machine].shows;
        let (earlier, later) = (&self.shows[shows[first]], &self.shows[shows[second]]);
        one.away.1 <= two.away.0 || (earlier.place == later.place && earlier.ends <= later.starts)
    }

    /// Returns whether a machine that runs at its showing `at` can be on the bench in a slot.
    pub fn home_for(&self, machine: usize, at: usize, bench: usize) -> bool {
        let away = self.able(machine, at).away;
        let bench = &self.benches[bench];
        away.1 <= bench.starts || bench.ends <= away.0
    }

    /// Returns the name of a showing.
    pub fn show_id(&self, show: usize) -> &'a str {
        &self.model.showings[self.shows[show].of_model].id
    }

    /// Returns the name of a slot.
    pub fn bench_id(&self, bench: usize) -> &'a str {
        &self.model.slots[self.benches[bench].of_model].id
    }
}

impl Job {
    /// Returns stoppages per hour so many minutes after it was done.
    pub fn rate(&self, minutes: f64) -> f64 {
        let Some(&(first, lowest)) = self.risk.first() else { return 0.0 };
        if minutes <= first {
            return lowest;
        }
        for pair in self.risk.windows(2) {
            let ((from, low), (to, high)) = (pair[0], pair[1]);
            if minutes <= to {
                return low + (high - low) * (minutes - from) / (to - from);
            }
        }
        self.risk.last().map_or(0.0, |&(_, highest)| highest)
    }

    /// Returns the expected stoppages of a run that begins so many minutes after it was done: its length times the
    /// rate at its middle.
    pub fn stoppages(&self, since: i64, run: i64) -> f64 {
        run as f64 / 60.0 * self.rate(since as f64 + run as f64 / 2.0)
    }

    /// Returns what is thrown away by doing it so many minutes after it was last done.
    pub fn waste(&self, since: i64) -> f64 {
        self.life.map_or(0.0, |(life, cost)| cost * (1.0 - since as f64 / life).max(0.0))
    }

    /// Returns the minutes since it was done from which on it is all one how many there are, but for what is left at
    /// the end.
    pub fn matters_until(&self) -> i64 {
        let life = self.life.map_or(0.0, |(life, _)| life);
        let risk = self.risk.last().map_or(0.0, |&(until, _)| until);
        // Whole minutes, and far fewer than an integer holds.
        (life.max(risk).ceil() as i64).max(self.limit.unwrap_or(0))
    }

    /// Returns whether a run would pass the limit of hours.
    pub fn over(&self, since: i64, run: i64) -> bool {
        self.limit.is_some_and(|limit| since + run > limit)
    }

    /// Returns until when it holds if it is done in a session that ends at `ends`.
    pub fn expiry(&self, ends: i64) -> i64 {
        self.holds.map_or(i64::MAX, |holds| ends + holds)
    }

    /// Returns until when it holds at the plan's zero.
    pub fn first_expiry(&self) -> i64 {
        self.due.unwrap_or(i64::MAX)
    }
}

/// An overdue run counts as so many sure stoppages, each with all that one session on one machine can cost.
const OVERDUE_STOPPAGES: f64 = 10.0;
/// A machine too few counts as so many overdue runs.
const UNSTAFFED_OVERDUE: f64 = 100.0;

/// The dearest stoppage, and the dearest of everything that one piece of work can cost once.
fn dearest(model: &Model) -> f64 {
    let most = |costs: &mut dyn Iterator<Item = f64>| costs.fold(0.0, f64::max);
    let minute = most(&mut model.slots.iter().map(|slot| slot.cost_per_minute.0));
    let once = |work: &crate::model::Work| {
        work.cost.0 + work.minutes.0 as f64 * minute + work.life.map_or(0.0, |life| life.cost.0)
    };
    1.0 + most(&mut model.showings.iter().map(|show| show.stoppage_cost.0))
        + most(&mut model.work.iter().map(once))
        + most(&mut model.slots.iter().map(|slot| slot.cost.0))
        + most(&mut model.preparations.iter().map(|it| it.cost.0))
        + 2.0 * model.journeys.iter().map(|journey| journey.cost.0).sum::<f64>()
}

/// Returns the largest number that divides both.
pub(crate) fn gcd(one: i64, other: i64) -> i64 {
    if other == 0 { one } else { gcd(other, one % other) }
}
