//! The logbook as a model: what stands in the diary, the bench, the care and the pins.

use super::{
    Wanted,
    bench::{self, BenchTime, Evening},
    change::{Change, parts, stoppage_cost},
    last_day,
    made::{Standing, place_name},
    rules::{PREPARING_MINUTES, RUN_STEP, WAY_MINUTES},
    work,
};
use crate::{
    answer::{Caveat, CaveatKind},
    coming::Coming,
    day::Day,
    due::{Desk, DueItem, DueState, is_offered},
    lived::{Beliefs, KeptBeliefs},
};
use jiff::{Timestamp, ZonedDateTime, civil::DateTime, tz::TimeZone};
use logbook::{
    Booth, MachineId, ShowingId,
    booth::{Machine as OwnMachine, Pinned, PlanPin},
    fact::Role,
};
use machine::{CareKind, Hand, PriorLife};
use plan::{Cost, Journey, Life, Machine, Minutes, Model, Moment, Pin, Place, Preparation, Showing, Work};
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;
use units::Hours;

const MS_PER_MINUTE: i64 = 60_000;
/// Where a machine or a showing of which nobody said where it is stands.
const NOWHERE: &str = "the booth";

/// The plan's own time: whole minutes since the moment of asking.
#[derive(Clone, Debug)]
pub(super) struct Clock {
    zero_ms: i64,
    zone: TimeZone,
    pub today: Day,
}

impl Clock {
    pub fn minute_at(&self, ms: i64) -> i64 {
        (ms - self.zero_ms).div_euclid(MS_PER_MINUTE)
    }

    /// A time on the booth's clock; one that the clocks skip is moved on by as much.
    pub fn minute_of(&self, at: DateTime) -> i64 {
        at.to_zoned_datetime(self.zone.clone())
            .map_or(i64::MIN / 4, |at| self.minute_at(at.timestamp().as_millisecond()))
    }

    pub fn end_of(&self, day: Day) -> i64 {
        self.minute_of(day.date().at(23, 59, 0, 0))
    }

    pub fn moment(&self, minute: i64) -> ZonedDateTime {
        let ms = self.zero_ms.saturating_add(minute.saturating_mul(MS_PER_MINUTE));
        Timestamp::from_millisecond(ms).unwrap_or(Timestamp::UNIX_EPOCH).to_zoned_datetime(self.zone.clone())
    }
}

/// How long the plan is, and how much one machine will run in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct PlannedTime {
    pub days: i32,
    pub hours: f64,
    pub hours_a_showing: f64,
}

/// What a piece of work is.
pub(super) enum Job<'a> {
    Care(DueItem<'a>),
    Change { machine: &'a MachineId, change: Change<'a> },
}

impl Job<'_> {
    /// True for care that puts a new part in this slot of this machine.
    fn renews(&self, machine: &MachineId, life: &PriorLife) -> bool {
        let Self::Care(item) = self else { return false };
        item.machine == machine && item.task.kind == CareKind::Replace && item.task.parts.contains(&life.slot)
    }
}

/// The model, and what the answer needs to say it in the booth's names.
pub(super) struct Built<'a> {
    pub model: Model,
    pub clock: Clock,
    pub wanted: Wanted,
    pub booth: &'a Booth,
    pub showings: Vec<Coming<'a>>,
    /// Why a machine stands at a showing, where it was not the plan that chose.
    pub standing: FxHashMap<(&'a ShowingId, &'a MachineId), Standing>,
    pub benches: Vec<BenchTime>,
    pub jobs: Vec<Job<'a>>,
    pub pins: Vec<&'a PlanPin>,
    /// What is known beforehand not to be met.
    pub not_met: Vec<String>,
    pub caveats: Vec<Caveat>,
}

impl<'a> Built<'a> {
    pub fn new(desk: &Desk<'a>, kept: &'a KeptBeliefs, now: &ZonedDateTime, wanted: Wanted) -> Self {
        let clock = Clock {
            zero_ms: now.timestamp().as_millisecond(),
            zone: now.time_zone().clone(),
            today: desk.now.day,
        };
        let last = last_day(clock.today, wanted);
        let ahead =
            desk.coming.iter().filter(|coming| coming.day <= last && coming.starts_ms >= clock.zero_ms);
        let mut built = Self {
            model: Model::default(),
            wanted,
            booth: desk.booth,
            showings: ahead.copied().collect(),
            standing: FxHashMap::default(),
            benches: Vec::new(),
            jobs: Vec::new(),
            pins: desk.booth.pins.iter().collect(),
            not_met: Vec::new(),
            caveats: Vec::new(),
            clock,
        };
        built.machines(desk);
        built.places_and_ways();
        built.diary(desk);
        built.bench_times(last);
        let beliefs = Beliefs::at(desk, kept);
        built.work(desk, &beliefs);
        built.pinned_care();
        built
    }

    /// The machines that may be used, in the order of the booth.
    fn offered(&self) -> impl Iterator<Item = (usize, &'a MachineId, &'a OwnMachine)> + use<'a> {
        let machines = self.booth.machines.iter().enumerate();
        machines.filter(|(_, (_, machine))| is_offered(machine)).map(|(at, (id, machine))| (at, id, machine))
    }

    fn machines(&mut self, desk: &Desk<'a>) {
        for (_, id, machine) in self.offered() {
            let gauge = desk.kind_of(machine).map(|kind| kind.gauge.name().to_owned());
            self.model.machines.push(Machine {
                id: id.to_string(),
                home: home(machine),
                fit: true,
                can: gauge.into_iter().collect(),
                stoppages_per_hour: 0.0,
            });
        }
    }

    /// Machines go where machines of their home have gone before, or stand in the diary to go.
    fn places_and_ways(&mut self) {
        let mut places: BTreeSet<String> = self.model.machines.iter().map(|it| it.home.clone()).collect();
        let mut ways: BTreeSet<(String, String)> = BTreeSet::new();
        for showing in self.booth.showings.values() {
            let Some(place) = showing.place.as_ref().map(ToString::to_string) else { continue };
            for (id, _) in &showing.machines {
                let Some(from) = self.booth.machines.get(id).map(home) else { continue };
                if from != place {
                    ways.insert((from, place.clone()));
                }
            }
        }
        places.extend(self.showings.iter().map(|coming| self.place_of(coming)));
        ways.retain(|(from, to)| places.contains(from) && places.contains(to));
        if !ways.is_empty() {
            let words = format!(
                "How far places lie apart is not written in the logbook; every way is taken as {WAY_MINUTES} minutes."
            );
            self.caveats.push(Caveat::new(CaveatKind::PriorOnly, words));
        }
        self.model.places = places.into_iter().map(|id| Place { id }).collect();
        let way =
            |(from, to)| Journey { from, to, minutes: Minutes(WAY_MINUTES), cost: Cost(WAY_MINUTES as f64) };
        self.model.journeys = ways.into_iter().map(way).collect();
    }

    /// Where a showing is: as the diary says, else where its machines live, else where most machines do.
    fn place_of(&self, coming: &Coming<'_>) -> String {
        let said = coming.showing.place.as_ref().map(ToString::to_string);
        let own = || coming.showing.machines.iter().find_map(|(id, _)| self.booth.machines.get(id)).map(home);
        let usual = || {
            let mut counts: FxHashMap<&str, usize> = FxHashMap::default();
            for machine in &self.model.machines {
                *counts.entry(machine.home.as_str()).or_default() += 1;
            }
            counts
                .into_iter()
                .max_by_key(|(place, count)| (*count, *place))
                .map(|(place, _)| place.to_owned())
        };
        said.or_else(own).or_else(usual).unwrap_or_else(|| NOWHERE.to_owned())
    }

    fn diary(&mut self, desk: &Desk<'a>) {
        let mut taken: FxHashMap<&'a MachineId, Vec<(i64, i64, String)>> = FxHashMap::default();
        for coming in self.showings.clone() {
            let place = self.place_of(&coming);
            let seats = coming.showing.machines.len().max(1);
            let needs = self.needs(desk, &coming);
            let (starts, ends) =
                (self.clock.minute_at(coming.starts_ms), self.clock.minute_at(coming.ends_ms));
            self.model.showings.push(Showing {
                id: coming.id.to_string(),
                place: place.clone(),
                starts: Moment(starts),
                ends: Moment(ends.max(starts + 1)),
                running_hours: run_of(&coming, seats),
                needs: needs.clone(),
                machines: seats,
                stoppage_cost: Cost(stoppage_cost(self.wanted.dark_minute)),
            });
            let mut left = seats;
            for pin in self.pins.clone() {
                if pin.what == Pinned::At(coming.id.clone()) {
                    self.model.pins.push(runs(coming.id, &pin.machine));
                    self.standing.insert((coming.id, &pin.machine), Standing::Pinned(pin.entry));
                    left = left.saturating_sub(1);
                }
            }
            if self.wanted.afresh {
                continue;
            }
            for (id, _) in &coming.showing.machines {
                if left == 0 || self.standing.contains_key(&(coming.id, id)) {
                    continue;
                }
                let away = (starts, ends, place.clone());
                match self.may_stay(desk, id, &needs, &away, &taken) {
                    Ok(()) => {
                        self.model.pins.push(runs(coming.id, id));
                        self.standing.insert((coming.id, id), Standing::InDiary);
                        taken.entry(id).or_default().push(away);
                        left -= 1;
                    }
                    Err(why) => self.not_met.push(format!(
                        "{} stands in the diary for {} on {}, but {why}; the plan looks for another.",
                        self.booth.machine_name(id),
                        coming.showing.title,
                        coming.showing.starts.strftime("%-d %b")
                    )),
                }
            }
        }
    }

    /// What a showing's machines must take: the gauge of its prints, or else of the machines that stand for it.
    fn needs(&self, desk: &Desk<'a>, coming: &Coming<'a>) -> Vec<String> {
        let prints = coming.showing.prints.iter().filter_map(|print| self.booth.prints.get(print));
        let mut gauges: Vec<String> = prints
            .filter_map(|print| print.gauge.parse::<film::Gauge>().ok())
            .map(|gauge| gauge.name().to_owned())
            .collect();
        if gauges.is_empty() {
            let mut machines =
                coming.showing.machines.iter().filter_map(|(id, _)| self.booth.machines.get(id));
            let first = machines.find_map(|machine| desk.kind_of(machine));
            gauges.extend(first.map(|kind| kind.gauge.name().to_owned()));
        }
        gauges.sort();
        gauges.dedup();
        gauges
    }

    fn may_stay(
        &self,
        desk: &Desk<'a>,
        id: &MachineId,
        needs: &[String],
        away: &(i64, i64, String),
        taken: &FxHashMap<&'a MachineId, Vec<(i64, i64, String)>>,
    ) -> Result<(), &'static str> {
        let Some(machine) = self.booth.machines.get(id).filter(|machine| is_offered(machine)) else {
            return Err("it may not be used");
        };
        let gauge = desk.kind_of(machine).map(|kind| kind.gauge.name());
        if needs.iter().any(|need| Some(need.as_str()) != gauge) {
            return Err("it does not take the gauge of the prints");
        }
        let from = home(machine);
        let way = |place: &str| if place == from { 0 } else { WAY_MINUTES };
        let clash = |other: &(i64, i64, String)| {
            let by_way = away.0 - way(&away.2) < other.1 + way(&other.2)
                && other.0 - way(&other.2) < away.1 + way(&away.2);
            let in_place = away.0 < other.1 && other.0 < away.1;
            if away.2 == other.2 { in_place } else { by_way }
        };
        if taken.get(id).is_some_and(|taken| taken.iter().any(clash)) {
            return Err("it stands elsewhere at that time");
        }
        Ok(())
    }

    fn bench_times(&mut self, last: Day) {
        let homes: BTreeSet<String> = self.model.machines.iter().map(|it| it.home.clone()).collect();
        let who = self.keeper();
        for days in 0..=last.since(self.clock.today) {
            let day = self.clock.today.plus(days);
            for place in &homes {
                let first = self
                    .showings
                    .iter()
                    .zip(&self.model.showings)
                    .filter(|(coming, it)| coming.day == day && it.place == *place);
                let first_showing = first.map(|(_, it)| it.starts.0).min();
                let place_name = self.own_name(place, &homes);
                let evening = Evening {
                    day,
                    place,
                    place_name: &place_name,
                    first_showing,
                    many_places: homes.len() > 1,
                    who: &who,
                };
                self.benches.extend(bench::on(&evening, &self.clock, self.wanted));
            }
        }
        self.model.slots = self.benches.iter().map(|time| bench::slot(time, 0)).collect();
    }

    /// What people call a place; its id where two are called the same.
    fn own_name(&self, place: &str, places: &BTreeSet<String>) -> String {
        let name = place_name(self.booth, place);
        let alone = places.iter().all(|other| other == place || place_name(self.booth, other) != name);
        if alone { name } else { place.to_owned() }
    }

    /// Who keeps the machines, where it is one person.
    fn keeper(&self) -> String {
        let mut keepers = self.booth.people.values().filter(|person| person.role == Role::Keeper);
        match (keepers.next(), keepers.next()) {
            (Some(one), None) => one.name.clone(),
            _ => "whoever keeps the machines".to_owned(),
        }
    }

    fn work(&mut self, desk: &Desk<'a>, beliefs: &Beliefs<'a>) {
        let places: Vec<usize> = self.offered().map(|(at, ..)| at).collect();
        let items = desk.count_all(&places);
        let mut states: BTreeSet<String> = BTreeSet::new();
        for (at, (_, id, machine)) in self.offered().enumerate() {
            let time = self.time_of(id, at);
            for item in items.iter().filter(|item| item.machine == id) {
                if !self.is_pinned(item) && !work::falls_due(item, &time) {
                    continue;
                }
                if item.task.who == Hand::Technician {
                    self.wants_technician(item);
                    continue;
                }
                states.insert(work::preparation(item));
                self.model.work.push(work::work(&care_id(item), item, &time, &self.clock));
                self.jobs.push(Job::Care(*item));
            }
            let found = parts(desk, beliefs, id, machine, time.hours);
            self.model.machines[at].stoppages_per_hour = found.rest_per_hour.min(60.0);
            for change in found.changes {
                // Care that renews the part does what a change would do.
                if self.jobs.iter().any(|job| job.renews(id, change.life)) {
                    continue;
                }
                self.model.work.push(change_work(id, &change));
                self.jobs.push(Job::Change { machine: id, change });
            }
        }
        let preparation = |id| Preparation {
            id,
            minutes: Minutes(PREPARING_MINUTES),
            cost: Cost(PREPARING_MINUTES as f64),
        };
        self.model.preparations = states.into_iter().map(preparation).collect();
    }

    /// What a machine may run in the plan: its showings of the diary, and those for which the plan may choose it.
    fn time_of(&self, id: &MachineId, at: usize) -> PlannedTime {
        let fixed = |pin: &Pin| matches!(pin, Pin::Runs { machine, .. } if machine == id.as_str());
        let pinned = self.model.pins.iter().filter(|pin| fixed(pin)).count();
        let able =
            |showing: &&Showing| showing.needs.iter().all(|need| self.model.machines[at].can.contains(need));
        let all: Vec<f64> =
            self.model.showings.iter().filter(able).map(|it| it.running_hours.hours()).collect();
        let mean = if all.is_empty() { 1.5 } else { all.iter().sum::<f64>() / all.len() as f64 };
        let own: f64 = self
            .showings
            .iter()
            .zip(&self.model.showings)
            .filter(|(coming, _)| self.standing.contains_key(&(coming.id, id)))
            .map(|(_, it)| it.running_hours.hours())
            .sum();
        let seats: usize = self.model.showings.iter().map(|it| it.machines).sum();
        let open = seats.saturating_sub(self.model.pins.len()) as f64;
        let n_machines = self.model.machines.len().max(1) as f64;
        // Of the showings that are open each machine is reckoned to take its share, and half as many again.
        let share = if pinned == seats { 0.0 } else { 1.5 * mean * open / n_machines };
        PlannedTime { days: self.wanted.days, hours: own + share, hours_a_showing: mean }
    }

    fn is_pinned(&self, item: &DueItem<'_>) -> bool {
        self.pins.iter().any(|pin| {
            pin.machine == *item.machine
                && matches!(&pin.what, Pinned::Care { task, .. } if task.as_str() == item.task.id.as_str())
        })
    }

    fn wants_technician(&mut self, item: &DueItem<'_>) {
        if matches!(item.state, DueState::Deferred) {
            return;
        }
        let (name, task) = (self.booth.machine_name(item.machine), &item.task.name);
        self.not_met.push(format!("{name}: {task} wants a qualified technician; agree a day with one."));
    }

    fn pinned_care(&mut self) {
        for pin in self.pins.clone() {
            let Pinned::Care { task, on } = &pin.what else { continue };
            let id = format!("{}/{task}", pin.machine);
            let Some(machine) = self.booth.machines.get(&pin.machine) else { continue };
            let within = (self.clock.today..=last_day(self.clock.today, self.wanted)).contains(&Day::on(*on));
            if !within || !self.model.work.iter().any(|work| work.id == id) {
                continue;
            }
            let slot = self.benches.iter().find(|time| time.on == *on && time.place == home(machine));
            match slot {
                Some(slot) => self.model.pins.push(Pin::DoneIn { work: id, slot: slot.id.clone() }),
                None => self.not_met.push(format!(
                    "{} is pinned for {} on {}, and there is no bench time on that day any more.",
                    task,
                    self.booth.machine_name(&pin.machine),
                    on.strftime("%-d %b")
                )),
            }
        }
    }
}

fn runs(showing: &ShowingId, machine: &MachineId) -> Pin {
    Pin::Runs { showing: showing.to_string(), machine: machine.to_string() }
}

/// The name of a piece of care in the model.
fn care_id(item: &DueItem<'_>) -> String {
    format!("{}/{}", item.machine, item.task.id)
}

fn home(machine: &OwnMachine) -> String {
    machine.place.as_ref().map_or_else(|| NOWHERE.to_owned(), ToString::to_string)
}

/// How long each machine of a showing runs, in whole steps.
fn run_of(coming: &Coming<'_>, seats: usize) -> Hours {
    let said: f64 = coming.showing.machines.iter().map(|(_, hours)| hours.hours()).sum();
    let all = if said > 0.0 { said * 60.0 } else { coming.showing.length_minutes };
    let steps = (all / seats as f64 / RUN_STEP as f64).ceil().clamp(1.0, 96.0);
    Hours::from_minutes(steps * RUN_STEP as f64)
}

/// The planned change of a part: it throws away the life that is left, and takes the rate of failure back to a new one's.
fn change_work(machine: &MachineId, change: &Change<'_>) -> Work {
    let slot = &change.life.slot;
    Work {
        id: format!("{machine}/change {slot}"),
        machine: machine.to_string(),
        minutes: Minutes(work::whole_minutes(change.minutes)),
        level: 0,
        preparation: None,
        cost: Cost(0.0),
        hours_since: Hours::new(change.age.max(0.0)),
        limit_hours: None,
        due_by: None,
        limit_minutes: None,
        life: (change.credits > 0.0)
            .then(|| Life { hours: Hours::new(change.mean_life), cost: Cost(change.credits) }),
        risk: change.risk.clone(),
        cost_per_hour_left: Cost(change.credits / change.mean_life),
    }
}
