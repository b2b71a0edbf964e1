//! What is due: for each care task of each machine, what is left in hours and days, and where that will be used up.

mod count;
mod forecast;
mod item;
mod together;
mod type_plan;
mod usage;

pub use item::{DueItem, DueState, LastDone, Since, interval_in_words};
pub use together::{Session, together};

use crate::{
    answer::{Answer, Caveat, CaveatKind, Ground},
    coming::{Coming, Turns, coming_and_past},
    day::Now,
    known::{NotKnown, find_machine},
    register::Register,
    words,
};
pub(crate) use count::{Scratch, counts, fitted};
use count::{Subject, count, early_deaths};
pub(crate) use forecast::{Standing, forecast};
use jiff::ZonedDateTime;
use logbook::{
    Booth, MachineId, When,
    booth::{CareRecord, Machine},
    fact::{Fitness, RunKind},
};
use machine::{CareTask, Clock, Library, MachineType};
use rustc_hash::FxHashMap;
use std::{
    borrow::Cow,
    sync::{Arc, OnceLock},
};
use type_plan::TypePlan;
use usage::Usage;

/// Makes a machine type ready for counting.
pub(crate) fn plan(kind: &MachineType) -> TypePlan<'_> {
    TypePlan::new(kind)
}

/// The rule of grace.
pub(crate) const GRACE: Ground =
    Ground::Rule { words: Cow::Borrowed(item::GRACE_WORDS), source: item::GRACE_SOURCE };

/// From so many machines on, the work is shared between two threads.
const MANY_MACHINES: usize = 256;

/// True for a machine that may be offered for a showing: not retired, not unfit, not quarantined.
pub fn is_offered(machine: &Machine) -> bool {
    machine.retired.is_none() && matches!(machine.fitness.fitness, Fitness::Fit | Fitness::Limited)
}

/// Returns what is due on every machine that may be used, machine by machine in film-path order.
///
/// Machines that are retired, unfit or quarantined are left out and named in a caveat; [`due_for`] asks for one of
/// them. Care that belongs to reels and showings is left to [`crate::tonight()`] and [`crate::walk()`].
pub fn due<'a>(booth: &'a Booth, library: &'a Library, now: &ZonedDateTime) -> Answer<Vec<DueItem<'a>>> {
    let desk = Desk::new(booth, library, now);
    let offered: Vec<usize> =
        (0..booth.machines.len()).filter(|at| is_offered(&booth.machines[*at])).collect();
    let value = desk.count_all(&offered);
    let mut caveats = desk.caveats_of(&offered);
    caveats.extend(left_out(booth));
    caveats.extend(desk.stale_diary());
    Answer { value, because: desk.grounds(), caveats }
}

/// Returns what is due on one machine, whatever its fitness.
pub fn due_for<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: &str,
    now: &ZonedDateTime,
) -> Result<Answer<Vec<DueItem<'a>>>, NotKnown> {
    let (at, id, machine) = find_machine(booth, machine)?;
    let desk = Desk::new(booth, library, now);
    let value = desk.count_one(at);
    let mut caveats = desk.caveats_of(&[at]);
    caveats.extend(fitness_caveat(booth.machine_name(id), machine));
    caveats.extend(desk.stale_diary());
    Ok(Answer { value, because: desk.grounds(), caveats })
}

/// Sorts what is due: the most pressing first, then by day, then as it stood.
pub fn by_urgency(items: &mut [DueItem<'_>]) {
    items.sort_by_key(|item| (item.state, item.forecast_in_days().unwrap_or(i32::MAX)));
}

/// Says why a machine may not be used, or within which limits.
pub(crate) fn fitness_caveat(name: &str, machine: &Machine) -> Option<Caveat> {
    let why = &machine.fitness.why;
    let (kind, words) = match (&machine.retired, machine.fitness.fitness) {
        (Some((at, why)), _) => {
            (CaveatKind::NotForUse, format!("{name} was retired on {}: {why}.", at.date()))
        }
        (None, Fitness::Danger) => {
            (CaveatKind::NotForUse, format!("{name} is quarantined until a technician releases it: {why}."))
        }
        (None, Fitness::Unfit) => {
            (CaveatKind::NotForUse, format!("{name} is not to be used until it is mended: {why}."))
        }
        (None, Fitness::Limited) => {
            (CaveatKind::WithinLimits, format!("{name} is fit within limits only: {why}."))
        }
        (None, Fitness::Fit) => return None,
    };
    Some(Caveat::new(kind, words))
}

/// How many names a caveat lists before it counts the rest.
const MOST_NAMES: usize = 6;

/// The first few of many names: `turnstone`, `each of turnstone and dunlin`, `each of turnstone … and 9,994 more`.
fn few(names: &[&str]) -> String {
    match names {
        [one] => (*one).to_owned(),
        few if few.len() <= MOST_NAMES => format!("Each of {}", words::listed(few)),
        many => format!("Each of {} and {} more", many[..MOST_NAMES].join(", "), many.len() - MOST_NAMES),
    }
}

fn left_out(booth: &Booth) -> Option<Caveat> {
    let names: Vec<&str> = booth
        .machines
        .iter()
        .filter(|(_, machine)| machine.retired.is_none() && !is_offered(machine))
        .map(|(id, _)| booth.machine_name(id))
        .collect();
    let words = format!("{} may not be used and is left out.", few(&names));
    (!names.is_empty()).then(|| Caveat::new(CaveatKind::NotForUse, words))
}

/// Everything that is worked out once for a question.
pub(crate) struct Desk<'a> {
    pub booth: &'a Booth,
    pub library: &'a Library,
    /// The moment of asking.
    pub zoned: ZonedDateTime,
    pub now: Now,
    pub register: Arc<Register>,
    pub coming: Vec<Coming<'a>>,
    /// Past showings that still stand as planned.
    n_past_planned: usize,
    plans: FxHashMap<&'a str, TypePlan<'a>>,
    turns: OnceLock<Turns<'a>>,
    deaths: OnceLock<FxHashMap<&'a MachineId, When>>,
}

impl<'a> Desk<'a> {
    pub fn new(booth: &'a Booth, library: &'a Library, now: &ZonedDateTime) -> Self {
        Self::with(booth, Arc::default(), library, now)
    }

    /// The same, with what was found in this booth before.
    pub fn with(
        booth: &'a Booth,
        register: Arc<Register>,
        library: &'a Library,
        now: &ZonedDateTime,
    ) -> Self {
        let zoned = now.clone();
        let now = Now::new(now, &booth.settings);
        let plans = library.iter().map(|kind| (kind.id.as_str(), TypePlan::new(kind))).collect();
        let (coming, n_past_planned) = coming_and_past(booth, &now);
        let (turns, deaths) = (OnceLock::new(), OnceLock::new());
        Self { booth, library, zoned, now, register, coming, n_past_planned, plans, turns, deaths }
    }

    /// The coming showings of every machine.
    pub fn turns(&self) -> &Turns<'a> {
        self.turns.get_or_init(|| Turns::deal(self.booth, &self.coming))
    }

    /// When, before a moment, a machine last ran in a showing or one to which it was assigned was held (milliseconds).
    ///
    /// Hours that only a meter tells of are left out: nobody knows when they were run.
    pub fn last_showing_ms(&self, id: &MachineId, machine: &Machine, before_ms: i64) -> Option<i64> {
        let told =
            |entry| machine.meter.iter().flat_map(|meter| &meter.marks).any(|mark| mark.entry == entry);
        let mut runs = machine.runs.iter().rev().filter(|run| run.at.unix_ms < before_ms);
        let ran = runs.find(|run| run.run == RunKind::Showing && !(run.estimated && told(run.entry)));
        let place = self.booth.machines.get_index_of(id);
        let held = place.and_then(|place| self.register.held(self.booth).last_of(place, before_ms));
        held.max(ran.map(|run| run.at.unix_ms))
    }

    fn plan_of(&self, machine: &Machine) -> Option<&TypePlan<'a>> {
        self.plans.get(machine.machine_type.as_str())
    }

    pub fn kind_of(&self, machine: &Machine) -> Option<&'a MachineType> {
        Some(self.plan_of(machine)?.kind)
    }

    /// How much the machine at this place in the booth is used in a day, on a clock.
    pub fn per_day(&self, machine: usize, clock: Clock) -> f64 {
        let Some((_, machine)) = self.booth.machines.get_index(machine) else { return 0.0 };
        self.plan_of(machine).map_or(0.0, |plan| Usage::of(machine, plan, &self.now).per_day.on(clock))
    }

    /// The tasks before every showing of a machine, each with its last record, in film-path order.
    pub fn before_showing(
        &self,
        machine: &'a Machine,
        scratch: &mut Scratch<'a>,
    ) -> Vec<(&'a CareTask, Option<&'a CareRecord>)> {
        let Some(plan) = self.plan_of(machine) else { return Vec::new() };
        scratch.gather(plan, machine);
        let tasks = plan.tasks.iter().enumerate().filter(|(_, task)| task.before_showing);
        tasks.map(|(at, task)| (task.task, scratch.done(at))).collect()
    }

    /// Counts one machine.
    pub fn count_one(&self, machine: usize) -> Vec<DueItem<'a>> {
        self.count_all(&[machine])
    }

    /// Counts the machines at these places in the booth.
    pub fn count_all(&self, machines: &[usize]) -> Vec<DueItem<'a>> {
        let nobody = FxHashMap::default();
        let deaths = if self.asks_for_early_deaths(machines) { self.early_deaths() } else { &nobody };
        let turns = self.turns();
        if machines.len() < MANY_MACHINES {
            return self.count_some(machines, turns, deaths, 0);
        }
        let (here, there) = machines.split_at(machines.len() / 2);
        std::thread::scope(|scope| {
            let other = scope.spawn(|| self.count_some(there, turns, deaths, 0));
            let mut items = self.count_some(here, turns, deaths, self.most_items(there));
            // A panic over there is a panic here: nothing is swallowed.
            items.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
            items
        })
    }

    fn count_some(
        &self,
        machines: &[usize],
        turns: &Turns<'a>,
        deaths: &FxHashMap<&'a MachineId, When>,
        room_for_more: usize,
    ) -> Vec<DueItem<'a>> {
        let mut items = Vec::with_capacity(self.most_items(machines) + room_for_more);
        let mut scratch = Scratch::default();
        for at in machines {
            let Some((id, machine)) = self.booth.machines.get_index(*at) else { continue };
            let Some(plan) = self.plan_of(machine) else { continue };
            let early_death = deaths.get(id).copied();
            let (booth, now, turns) = (self.booth, &self.now, turns.of(*at));
            let subject = Subject { id, machine, booth, plan, turns, early_death, now };
            count(&subject, &mut scratch, &mut items);
        }
        items
    }

    fn most_items(&self, machines: &[usize]) -> usize {
        let n_tasks = |at: &usize| self.plan_of(&self.booth.machines[*at]).map_or(0, |plan| plan.tasks.len());
        machines.iter().map(n_tasks).sum()
    }

    /// True where it matters to one of these machines whether a lamp died early.
    fn asks_for_early_deaths(&self, machines: &[usize]) -> bool {
        machines.iter().any(|at| {
            let machine = &self.booth.machines[*at];
            self.plan_of(machine).is_some_and(|plan| {
                plan.asks_for_early_deaths
                    && plan.lamps.iter().any(|(slot, _)| machine.disturbed.contains_key(slot))
            })
        })
    }

    /// The machines whose lamps died early.
    fn early_deaths(&self) -> &FxHashMap<&'a MachineId, When> {
        self.deaths.get_or_init(|| {
            early_deaths(self.booth, |machine, slot| {
                let plan = self.plan_of(self.booth.machines.get(machine)?)?;
                plan.lamps.iter().find(|(lamp, _)| lamp == slot)?.1
            })
        })
    }

    pub fn grounds(&self) -> Vec<Ground> {
        let diary = self.coming.iter().map(|coming| coming.day).max();
        let words = "hours of the coming showings, in their order; past the last one, so much a day as in the \
             last 90 days or the last year, whichever was busier";
        let diary = diary.map(|day| Ground::Diary { until: day.date(), words: words.into() });
        diary.into_iter().chain([GRACE]).collect()
    }

    /// Says which machines have no type here, and whose hours are not what a meter read.
    pub fn caveats_of(&self, machines: &[usize]) -> Vec<Caveat> {
        let known = machines.iter().filter_map(|at| self.booth.machines.get_index(*at));
        let mut unknown_type: FxHashMap<&str, Vec<&str>> = FxHashMap::default();
        let (mut estimated, mut unknown_age) = (Vec::new(), Vec::new());
        for (id, machine) in known {
            if self.plan_of(machine).is_none() {
                unknown_type
                    .entry(machine.machine_type.as_str())
                    .or_default()
                    .push(self.booth.machine_name(id));
            }
            if machine.hours_before_unknown {
                unknown_age.push(self.booth.machine_name(id));
            } else if machine.clocks.estimated.hours() > 0.0 {
                estimated.push(self.booth.machine_name(id));
            }
        }
        let unknown_type = unknown_type.into_iter().map(|(kind, names)| {
            let what = format!(
                "is of the type {kind}, which is not among the known types: nothing is known of its care"
            );
            (CaveatKind::UnknownType, names, what)
        });
        let hours = [
            (
                CaveatKind::EstimatedHours,
                estimated,
                "has hours that are estimates, not read from a meter".to_owned(),
            ),
            (
                CaveatKind::UnknownAge,
                unknown_age,
                "ran for an unknown time before it entered: ages are the least they can be".to_owned(),
            ),
        ];
        let said = unknown_type.chain(hours).filter(|(_, names, _)| !names.is_empty());
        said.map(|(kind, names, what)| Caveat::new(kind, format!("{} {what}.", few(&names)))).collect()
    }

    /// Says how many past showings still stand as planned: their hours are in no count.
    pub fn stale_diary(&self) -> Option<Caveat> {
        let words = match self.n_past_planned {
            0 => return None,
            1 => "1 past showing is neither logged as held nor cancelled: its hours are in no count."
                .to_owned(),
            n => format!(
                "{n} past showings are neither logged as held nor cancelled: their hours are in no count."
            ),
        };
        Some(Caveat::new(CaveatKind::StaleDiary, words))
    }
}
