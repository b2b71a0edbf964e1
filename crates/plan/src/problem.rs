//! The model with every name turned into a place in a list, every way found, and every pin applied.

use crate::check::{Fault, Ids, ModelError, check};
use crate::model::{Model, Pin};
use std::collections::{BTreeMap, BTreeSet};
use units::Hours;

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

fn gcd(one: i64, other: i64) -> i64 {
    if other == 0 { one } else { gcd(other, one % other) }
}

fn whole_minutes(hours: Hours) -> i64 {
    hours.as_minutes().round() as i64
}

/// The named ways between places; of several the quickest is gone, and of equally quick ones the cheapest.
struct Ways(Vec<Vec<Option<(i64, f64)>>>);

impl Ways {
    fn new(model: &Model, ids: &Ids<'_>) -> Self {
        let n = model.places.len();
        let mut ways = vec![vec![None; n]; n];
        for (place, row) in ways.iter_mut().enumerate() {
            row[place] = Some((0, 0.0));
        }
        for journey in &model.journeys {
            let (from, to) = (ids.places[journey.from.as_str()], ids.places[journey.to.as_str()]);
            let way = (journey.minutes.0, journey.cost.0);
            for (a, b) in [(from, to), (to, from)] {
                if shorter(Some(way), ways[a][b]) {
                    ways[a][b] = Some(way);
                }
            }
        }
        Self(ways)
    }
}

fn shorter(one: Option<(i64, f64)>, other: Option<(i64, f64)>) -> bool {
    match (one, other) {
        (None, _) => false,
        (Some(_), None) => true,
        (Some(one), Some(other)) => one.0 < other.0 || (one.0 == other.0 && one.1 < other.1),
    }
}

fn shows(model: &Model, ids: &Ids<'_>, ways: &Ways, pins: &Pins) -> Vec<Show> {
    let mut order: Vec<usize> = (0..model.showings.len()).collect();
    order.sort_by_key(|&it| (model.showings[it].starts, it));
    let one = |of_model: usize| {
        let showing = &model.showings[of_model];
        let place = ids.places[showing.place.as_str()];
        let run = whole_minutes(showing.running_hours);
        let fixed = |machine: usize| pins.runs.contains(&(of_model, machine));
        let pinned = (0..model.machines.len()).filter(|&machine| fixed(machine)).count();
        let able = |machine: usize| {
            let it = &model.machines[machine];
            let may = it.fit && showing.needs.iter().all(|need| it.can.contains(need));
            let way = ways.0[ids.places[it.home.as_str()]][place];
            let out = pins.stays_out.contains(&(of_model, machine))
                || (pinned >= showing.machines && !fixed(machine));
            way.filter(|_| may && !out).map(|(minutes, cost)| Able {
                machine,
                at: 0,
                journeys: 2.0 * cost,
                base_risk: showing.stoppage_cost.0 * run as f64 / 60.0 * it.stoppages_per_hour,
                fixed: fixed(machine),
                away: (showing.starts.0 - minutes, showing.ends.0 + minutes),
            })
        };
        Show {
            starts: showing.starts.0,
            ends: showing.ends.0,
            place,
            run,
            seats: showing.machines,
            stoppage: showing.stoppage_cost.0,
            able: (0..model.machines.len()).filter_map(able).collect(),
            of_model,
        }
    };
    order.into_iter().map(one).collect()
}

fn benches(model: &Model, ids: &Ids<'_>, ways: &Ways) -> (Vec<Bench>, Vec<usize>) {
    let mut order: Vec<usize> = (0..model.slots.len()).collect();
    order.sort_by_key(|&it| (model.slots[it].starts, it));
    let one = |&of_model: &usize| {
        let slot = &model.slots[of_model];
        let place = ids.places[slot.place.as_str()];
        // Nobody can come where no way leads: the slot has no minutes then.
        let way =
            slot.comes_from.as_ref().map_or(Some((0, 0.0)), |from| ways.0[ids.places[from.as_str()]][place]);
        let (way_minutes, way_cost) = way.unwrap_or((slot.minutes.0 + 1, 0.0));
        Bench {
            starts: slot.starts.0,
            ends: slot.starts.0 + slot.minutes.0,
            minutes: slot.minutes.0 - 2 * way_minutes,
            way: 2 * way_minutes,
            opening: slot.cost.0 + 2.0 * way_cost,
            of_model,
        }
    };
    (order.iter().map(one).collect(), order)
}

fn jobs(model: &Model, ids: &Ids<'_>, pins: &Pins, benches: &[Bench], bench_order: &[usize]) -> Vec<Job> {
    let one = |(at, work): (usize, &crate::model::Work)| {
        let machine = ids.machines[work.machine.as_str()];
        let needed = work
            .preparation
            .as_ref()
            .map_or(0, |id| model.preparations[ids.preparations[id.as_str()]].minutes.0);
        let slot = |bench: usize| {
            let slot = &model.slots[bench_order[bench]];
            let fixed = pins.done_in.contains(&(at, bench_order[bench]));
            let out = pins.not_in.contains(&(at, bench_order[bench]))
                || (pins.nowhere_else.contains(&at) && !fixed);
            let may = slot.place == model.machines[machine].home
                && slot.level >= work.level
                && benches[bench].minutes >= work.minutes.0 + needed;
            (may && !out).then_some(Chance {
                slot: bench,
                cost: work.cost.0 + work.minutes.0 as f64 * slot.cost_per_minute.0,
                fixed,
            })
        };
        let risk: Vec<_> =
            work.risk.iter().map(|it| (it.hours.as_minutes(), it.stoppages_per_hour)).collect();
        let grows = risk.windows(2).any(|pair| pair[1].1 > pair[0].1);
        let hours_matter =
            grows || work.limit_hours.is_some() || work.life.is_some() || work.cost_per_hour_left.0 > 0.0;
        Job {
            machine,
            minutes: work.minutes.0,
            preparation: work.preparation.as_ref().map(|id| ids.preparations[id.as_str()]),
            since: whole_minutes(work.hours_since),
            limit: work.limit_hours.map(whole_minutes),
            due: work.due_by.map(|due| due.0),
            holds: work.limit_minutes.map(|limit| limit.0),
            life: work.life.map(|life| (life.hours.as_minutes(), life.cost.0)),
            left: work.cost_per_hour_left.0 / 60.0,
            slots: (0..benches.len()).filter_map(slot).collect(),
            runs_matter: hours_matter
                || work.due_by.is_some()
                || work.limit_minutes.is_some()
                || risk.first().is_some_and(|&(_, rate)| rate > 0.0),
            hours_matter,
            risk,
        }
    };
    model.work.iter().enumerate().map(one).collect()
}

fn machines(model: &Model, shows: &mut [Show], jobs: &[Job]) -> Vec<Mach> {
    let none = || Mach { shows: Vec::new(), able_at: Vec::new(), work: Vec::new(), clashes: false };
    let mut machines: Vec<Mach> = model.machines.iter().map(|_| none()).collect();
    for (show, it) in shows.iter_mut().enumerate() {
        for (place, able) in it.able.iter_mut().enumerate() {
            let machine = &mut machines[able.machine];
            able.at = machine.shows.len();
            machine.shows.push(show);
            machine.able_at.push(place);
        }
    }
    for (job, it) in jobs.iter().enumerate() {
        machines[it.machine].work.push(job);
    }
    for machine in &mut machines {
        let mut latest: Option<i64> = None;
        for (at, &show) in machine.shows.iter().enumerate() {
            let away = shows[show].able[machine.able_at[at]].away;
            machine.clashes |= latest.is_some_and(|latest| away.0 < latest);
            latest = latest.max(Some(away.1));
        }
    }
    machines
}

/// A machine that a person sent to a showing is not on the bench meanwhile.
fn drop_slots_taken_by_pins(shows: &[Show], benches: &[Bench], machines: &[Mach], jobs: &mut [Job]) {
    for job in jobs {
        let machine = &machines[job.machine];
        let fixed: Vec<_> = machine
            .shows
            .iter()
            .zip(&machine.able_at)
            .map(|(&show, &able)| &shows[show].able[able])
            .filter(|able| able.fixed)
            .map(|able| able.away)
            .collect();
        job.slots.retain(|chance| {
            let bench = &benches[chance.slot];
            chance.fixed || fixed.iter().all(|away| away.1 <= bench.starts || bench.ends <= away.0)
        });
    }
}

/// Returns the one that stands for all that are joined with it.
fn find(root: &mut [usize], it: usize) -> usize {
    let mut it = it;
    while root[it] != it {
        root[it] = root[root[it]];
        it = root[it];
    }
    it
}

/// Puts together what shares slots, directly or through others.
fn groups(jobs: &[Job], n_benches: usize) -> Vec<Group> {
    let mut root: Vec<usize> = (0..n_benches).collect();
    for job in jobs {
        for pair in job.slots.windows(2) {
            let (one, other) = (find(&mut root, pair[0].slot), find(&mut root, pair[1].slot));
            root[one.max(other)] = one.min(other);
        }
    }
    let mut groups: BTreeMap<usize, Group> = BTreeMap::new();
    for bench in 0..n_benches {
        let at = find(&mut root, bench);
        let none = || Group { jobs: Vec::new(), benches: Vec::new() };
        groups.entry(at).or_insert_with(none).benches.push(bench);
    }
    for (job, it) in jobs.iter().enumerate() {
        if let Some(first) = it.slots.first() {
            let at = find(&mut root, first.slot);
            groups.get_mut(&at).expect("every slot has a group").jobs.push(job);
        }
    }
    groups.into_values().filter(|group| !group.jobs.is_empty()).collect()
}

/// What people fixed, by the places in the model's lists.
#[derive(Default)]
struct Pins {
    runs: BTreeSet<(usize, usize)>,
    stays_out: BTreeSet<(usize, usize)>,
    done_in: BTreeSet<(usize, usize)>,
    not_in: BTreeSet<(usize, usize)>,
    nowhere_else: BTreeSet<usize>,
}

impl Pins {
    fn read(model: &Model, ids: &Ids<'_>) -> Result<Self, ModelError> {
        let mut pins = Self::default();
        let mut faults = Vec::new();
        for (n, pin) in model.pins.iter().enumerate() {
            let mut find = |kind: &str, id: &str, index: &std::collections::HashMap<&str, usize>| {
                let found = index.get(id).copied();
                if found.is_none() {
                    faults.push(Fault {
                        at: format!("pin {}", n + 1),
                        what: format!("there is no {kind} `{id}`"),
                    });
                }
                found
            };
            match pin {
                Pin::Runs { showing, machine } => {
                    let both =
                        (find("showing", showing, &ids.showings), find("machine", machine, &ids.machines));
                    if let (Some(showing), Some(machine)) = both {
                        pins.runs.insert((showing, machine));
                    }
                }
                Pin::StaysOut { showing, machine } => {
                    let both =
                        (find("showing", showing, &ids.showings), find("machine", machine, &ids.machines));
                    if let (Some(showing), Some(machine)) = both {
                        pins.stays_out.insert((showing, machine));
                    }
                }
                Pin::DoneIn { work, slot } => {
                    let both = (find("work", work, &ids.work), find("slot", slot, &ids.slots));
                    if let (Some(work), Some(slot)) = both {
                        pins.done_in.insert((work, slot));
                    }
                }
                Pin::NotIn { work, slot } => {
                    let both = (find("work", work, &ids.work), find("slot", slot, &ids.slots));
                    if let (Some(work), Some(slot)) = both {
                        pins.not_in.insert((work, slot));
                    }
                }
                Pin::NowhereElse { work } => {
                    if let Some(work) = find("work", work, &ids.work) {
                        pins.nowhere_else.insert(work);
                    }
                }
            }
        }
        if faults.is_empty() { Ok(pins) } else { Err(ModelError::Pins(faults)) }
    }

    /// Says which pins cannot hold, and why.
    fn hold(&self, problem: &Problem<'_>) -> Result<(), ModelError> {
        let mut faults = Vec::new();
        self.runs_can_be(problem, &mut faults);
        self.work_can_be(problem, &mut faults);
        if faults.is_empty() { Ok(()) } else { Err(ModelError::Pins(faults)) }
    }

    fn runs_can_be(&self, problem: &Problem<'_>, faults: &mut Vec<Fault>) {
        let model = problem.model;
        let mut count: BTreeMap<usize, usize> = BTreeMap::new();
        for &(showing, machine) in &self.runs {
            *count.entry(showing).or_default() += 1;
            let shows = &problem.machines[machine].shows;
            let there = shows.iter().any(|&show| problem.shows[show].of_model == showing);
            if !there || self.stays_out.contains(&(showing, machine)) {
                faults.push(Fault {
                    at: run_pin(model, showing, machine),
                    what: self.why_not_able(model, showing, machine),
                });
            }
        }
        for (showing, pinned) in count {
            let wanted = model.showings[showing].machines;
            if pinned > wanted {
                faults.push(Fault {
                    at: format!("pins of showing `{}`", model.showings[showing].id),
                    what: format!("{pinned} machines are fixed and it needs {wanted}"),
                });
            }
        }
        for (machine, mach) in problem.machines.iter().enumerate() {
            let fixed: Vec<usize> =
                (0..mach.shows.len()).filter(|&at| problem.able(machine, at).fixed).collect();
            for pair in fixed.windows(2).filter(|pair| !problem.both(machine, pair[0], pair[1])) {
                let (one, two) = (problem.show_id(mach.shows[pair[0]]), problem.show_id(mach.shows[pair[1]]));
                faults.push(Fault {
                    at: format!("pins of machine `{}`", model.machines[machine].id),
                    what: format!(
                        "it cannot run at `{one}` and at `{two}`: they overlap, journeys counted in"
                    ),
                });
            }
        }
    }

    fn why_not_able(&self, model: &Model, showing: usize, machine: usize) -> String {
        let (it, at) = (&model.machines[machine], &model.showings[showing]);
        let lacks = at.needs.iter().find(|need| !it.can.contains(need));
        if self.stays_out.contains(&(showing, machine)) {
            "another pin keeps the machine out of this showing".to_owned()
        } else if !it.fit {
            "the machine is not fit to run".to_owned()
        } else if let Some(need) = lacks {
            format!("the machine cannot do `{need}`, which the showing needs")
        } else {
            format!("no journeys lead from `{}` to `{}`", it.home, at.place)
        }
    }

    fn work_can_be(&self, problem: &Problem<'_>, faults: &mut Vec<Fault>) {
        let model = problem.model;
        let mut used: BTreeMap<usize, (i64, BTreeSet<(usize, usize)>)> = BTreeMap::new();
        for &(work, slot) in &self.done_in {
            let job = &problem.jobs[work];
            let at = format!("pin of work `{}` in slot `{}`", model.work[work].id, model.slots[slot].id);
            let chance = job.slots.iter().find(|chance| problem.benches[chance.slot].of_model == slot);
            let Some(chance) = chance else {
                faults.push(Fault { at, what: self.why_not_here(problem, work, slot) });
                continue;
            };
            let mach = &problem.machines[job.machine];
            let away = (0..mach.shows.len())
                .filter(|&at| problem.able(job.machine, at).fixed)
                .find(|&at| !problem.home_for(job.machine, at, chance.slot));
            if let Some(away) = away {
                let show = problem.show_id(mach.shows[away]);
                faults.push(Fault { at, what: format!("its machine is fixed for `{show}` at that time") });
            }
            let entry = used.entry(chance.slot).or_default();
            entry.0 += job.minutes;
            if let Some(preparation) = job.preparation
                && entry.1.insert((job.machine, preparation))
            {
                entry.0 += problem.preparations[preparation].0;
            }
        }
        for (bench, (minutes, _)) in used {
            let there = problem.benches[bench].minutes;
            if minutes > there {
                faults.push(Fault {
                    at: format!("pins in slot `{}`", problem.bench_id(bench)),
                    what: format!("the work fixed there takes {minutes} minutes and there are {there}"),
                });
            }
        }
        Self::benches_apart(problem, faults);
    }

    /// A machine cannot be on two benches at once.
    fn benches_apart(problem: &Problem<'_>, faults: &mut Vec<Fault>) {
        let fixed = |job: &Job| -> Vec<usize> {
            job.slots.iter().filter(|chance| chance.fixed).map(|chance| chance.slot).collect()
        };
        for (at, job) in problem.jobs.iter().enumerate() {
            for pair in fixed(job).windows(2) {
                if problem.benches[pair[0]].ends > problem.benches[pair[1]].starts {
                    let (one, two) = (problem.bench_id(pair[0]), problem.bench_id(pair[1]));
                    faults.push(Fault {
                        at: format!("pins of work `{}`", problem.model.work[at].id),
                        what: format!("the slots `{one}` and `{two}` overlap"),
                    });
                }
            }
        }
    }

    fn why_not_here(&self, problem: &Problem<'_>, work: usize, slot: usize) -> String {
        let model = problem.model;
        let (job, bench) = (&model.work[work], &model.slots[slot]);
        let home = &model.machines[problem.jobs[work].machine].home;
        if self.not_in.contains(&(work, slot)) {
            "another pin keeps the work out of this slot".to_owned()
        } else if *home != bench.place {
            format!("the machine lives at `{home}` and the bench is at `{}`", bench.place)
        } else if bench.level < job.level {
            format!("the work asks for level {} and the slot has {}", job.level, bench.level)
        } else {
            "the slot is too short for the work with its preparation and the way there and back".to_owned()
        }
    }
}

fn run_pin(model: &Model, showing: usize, machine: usize) -> String {
    format!("pin of machine `{}` at showing `{}`", model.machines[machine].id, model.showings[showing].id)
}
