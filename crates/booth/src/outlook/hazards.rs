//! What may stop a coming showing, with the chance of each and what it would cost.

use super::{
    cause::{Age, Aside, Cause, Rests},
    films, readings,
    rules::{COVER_PAUSE_MINUTES, OVERDUE_HAZARD_TIMES},
    troubles,
    unexplained::Unexplained,
};
use crate::{
    answer::{Caveat, CaveatKind, Ground},
    coming::Coming,
    due::{Desk, DueItem, DueState, is_offered},
    lived::{Beliefs, Entered, age_on, is_reckoned},
    stores::Served,
};
use logbook::{
    FaultId, ItemId, MachineId,
    booth::{Fault, Machine},
    fact::RunKind,
};
use machine::{CareKind, Clock, LifeClock, Loss, MachineType, PriorLife, SpareId, Stops};
use risk::{Chance, Change, Hazard, Outcome};
use units::{Probability, Seconds};

/// The hazards of one showing. The key of a hazard is its place, and the place of its cause.
pub(super) struct Hazards<'a> {
    pub list: Vec<Hazard<usize>>,
    pub causes: Vec<Cause<'a>>,
    /// For each hazard of a part: what a new one, and one whose care is not overdue, would have.
    pub eased: Vec<Eased<'a>>,
    /// What is no stoppage but must be known.
    pub asides: Vec<Aside<'a>>,
    pub grounds: Vec<Ground>,
    pub caveats: Vec<Caveat>,
}

/// What deeds could make of a hazard.
#[derive(Clone, Default)]
pub(super) struct Eased<'a> {
    /// The chance of a new part.
    pub new: Option<Chance>,
    /// Overdue care that raises the chance, and the chance without it.
    pub cared: Option<(Vec<DueItem<'a>>, Chance)>,
    /// Its lamp has been struck this evening already.
    pub struck: bool,
    /// The spare that it leans on, where one lies ready.
    pub leans: Option<Leaning<'a>>,
    /// Minutes of work, and the chance that they leave: mending a reel, working a fault through.
    pub worked: Option<(f64, Change)>,
}

/// A spare on which the outcome of a hazard leans.
#[derive(Clone, Copy)]
pub(super) struct Leaning<'a> {
    pub item: &'a ItemId,
    /// How many there are.
    pub pieces: usize,
    /// What the hazard would do without.
    pub without: Outcome,
}

/// What a machine will have done by the time the showing starts, and does in it.
#[derive(Clone, Copy)]
pub(super) struct Use {
    hours_before: f64,
    showings_before: f64,
    hours: f64,
    days_since_run: f64,
    days_until: f64,
}

const DAYS_PER_YEAR: f64 = 365.25;

impl<'a> Hazards<'a> {
    pub fn gather(
        desk: &Desk<'a>,
        beliefs: &Beliefs<'a>,
        earlier: &[Coming<'a>],
        coming: &Coming<'a>,
    ) -> Self {
        let mut made = Self {
            list: Vec::new(),
            causes: Vec::new(),
            eased: Vec::new(),
            asides: Vec::new(),
            grounds: super::grounds(),
            caveats: Vec::new(),
        };
        let length = Seconds::new(coming.showing.length_minutes.max(0.0) * 60.0);
        let assigned: Vec<(&'a MachineId, &'a Machine, f64)> = coming
            .showing
            .machines
            .iter()
            .filter_map(|(id, hours)| Some((id, desk.booth.machines.get(id)?, hours.hours())))
            .collect();
        let served = Served::at(desk);
        for (id, machine, hours) in &assigned {
            let cover =
                assigned.iter().any(|(other, stands, _)| other != id && covers(desk, other, stands, machine));
            let used = usage(desk, earlier, coming, id, machine, *hours);
            let spot = Spot { desk, beliefs, served: &served, id, machine, used, cover, length };
            made.machine(&spot);
        }
        made.prints(desk, coming);
        made.unexplained(desk.register.unexplained(desk.booth));
        made
    }

    /// What the prints may do, and which reels must not run.
    fn prints(&mut self, desk: &Desk<'a>, coming: &Coming<'a>) {
        let (reels, barred) = films::of_showing(desk.booth, desk.library, coming.showing);
        for reel in reels {
            let films::ReelHazard { print, title, reel, places, chance, outcome, mended } = reel;
            let worked = mended.map(|(minutes, left)| (minutes, Change::Becomes(left)));
            let eased = Eased { worked, ..Eased::default() };
            self.push(Cause::Reel { print, title, reel, places }, Chance::known(chance), outcome, eased);
        }
        self.asides.extend(barred.into_iter().map(|reel| Aside::Barred {
            print: reel.print,
            title: reel.title,
            reel: reel.reel,
        }));
    }

    fn machine(&mut self, spot: &Spot<'_, 'a>) {
        let booth = spot.desk.booth;
        if !is_offered(spot.machine) {
            let outcome = if spot.cover { cover() } else { Outcome::lost(spot.length) };
            self.push(
                Cause::NotForUse { machine: spot.id },
                Chance::known(Probability::ALWAYS),
                outcome,
                Eased::default(),
            );
            return;
        }
        for (id, fault) in booth.open_faults(spot.id) {
            self.fault(spot, id, fault);
        }
        self.loose(spot);
        self.readings(spot);
        let Some(kind) = spot.desk.kind_of(spot.machine) else {
            let words = format!(
                "The type of {} is not known here, so its parts are left out.",
                booth.machine_name(spot.id)
            );
            self.caveats.push(Caveat::new(CaveatKind::UnknownType, words));
            return;
        };
        let overdue = overdue(spot);
        let mut n_unknown = 0;
        for life in &kind.lives {
            let Some(loss) = life.loss.as_ref().filter(|loss| loss.stops != Stops::Nothing) else { continue };
            if is_reckoned(spot.machine, kind, life) {
                n_unknown += usize::from(self.part(spot, kind, life, loss, &overdue));
            }
        }
        if n_unknown > 0 {
            let words = format!(
                "The age of {n_unknown} parts of {} is not known; every age up to a usual life is weighed.",
                booth.machine_name(spot.id)
            );
            self.caveats.push(Caveat::new(CaveatKind::UnknownAge, words));
        }
    }

    /// Adds what an open fault may do: a stoppage, or only what is seen and heard of it.
    fn fault(&mut self, spot: &Spot<'_, 'a>, id: &'a FaultId, fault: &'a Fault) {
        let trouble = troubles::weigh(spot, id, fault);
        let machine = spot.id;
        if let Some(why) = trouble.prognosis.as_ref().and_then(|known| known.stop_now.clone()) {
            self.asides.push(Aside::MustNotRun { machine, fault: id, why });
        }
        let Some((chance, outcome)) = trouble.stoppage else {
            let noticed = trouble.prognosis.map_or_else(Vec::new, |known| known.noticed);
            self.asides.push(Aside::Spoils { machine, fault: id, noticed });
            return;
        };
        let likeliest = trouble.prognosis.as_ref().and_then(|known| known.likeliest.clone());
        let mending = trouble.prognosis.and_then(|known| known.mending);
        let worked = mending.map(|mending| (mending.minutes, Change::Leaves(mending.leaves)));
        let (showings, stoppages) = trouble.since;
        let cause = Cause::Fault { machine, fault: id, likeliest, showings, stoppages };
        self.push(cause, chance, outcome, Eased { worked, ..Eased::default() });
    }

    /// Adds what readings say that head past the limit beyond which no film is to run, or are past it.
    fn readings(&mut self, spot: &Spot<'_, 'a>) {
        let machine = spot.id;
        for readings::Drift { passing, chance, since: (showings, stoppages) } in readings::weigh(spot) {
            let (name, last) = (passing.name, passing.last);
            if passing.past_since.is_some() {
                self.asides.push(Aside::PastLimit { machine, name: name.clone(), last });
            }
            let (past, parts) = (passing.chance, passing.parts);
            let cause = Cause::Reading { machine, name, last, past, parts, showings, stoppages };
            self.push(cause, chance, spot.outcome(None, 0.0, true), Eased::default());
        }
    }

    /// Adds what the last work may have left loose, until the machine has run again.
    fn loose(&mut self, spot: &Spot<'_, 'a>) {
        let last_run = spot.machine.runs.last().map_or(spot.machine.added.0.unix_ms, |run| run.at.unix_ms);
        let since = spot.machine.disturbed.values().filter(|(at, _)| at.unix_ms > last_run);
        let came = spot.desk.booth.evening_of(spot.machine.added.0);
        let parts = since.filter(|(at, _)| spot.desk.booth.evening_of(*at) != came).count();
        if parts > 0 {
            let told = spot.desk.register.unexplained(spot.desk.booth);
            let cause = Cause::LooseWork { machine: spot.id, parts, worked: told.worked };
            let outcome = spot.outcome(Some(told.pause.seconds() / 60.0), 0.0, true);
            self.push(cause, told.loose.chance(parts as f64), outcome, Eased::default());
        }
    }

    /// Adds the hazard of a part; returns true if its age is not known.
    fn part(
        &mut self,
        spot: &Spot<'_, 'a>,
        kind: &'a MachineType,
        life: &'a PriorLife,
        loss: &'a Loss,
        overdue: &[DueItem<'a>],
    ) -> bool {
        let booth = spot.desk.booth;
        let fitted = spot.machine.fitted.get(life.slot.as_str()).and_then(|id| booth.parts.get_key_value(id));
        let now = fitted.and_then(|(id, part)| age_on(booth, id, part, life, &spot.desk.now));
        let age = spot.used.age_at_start(life.clock, now.unwrap_or(Entered::Within(0.0, life.scale)));
        let span = spot.used.span(life.clock);
        let belief = spot.beliefs.of(kind, life, spot.id);
        let bare = belief.fails_within(age, span);
        let late: Vec<DueItem<'a>> =
            overdue.iter().filter(|item| item.task.parts.contains(&life.slot)).copied().collect();
        let chance = if late.is_empty() { bare } else { bare.with_hazard_times(OVERDUE_HAZARD_TIMES) };
        // A lamp that was struck this evening has its chance to die at the strike behind it.
        let struck = spot.struck_since(life.slot.as_str());
        let burning = if struck { Probability::clamped(1.0 - loss.at_strike) } else { Probability::ALWAYS };
        let stock = spot.stock_of(kind, life);
        let spares = loss.spare.then(|| stock.map_or(0, |(_, count)| count));
        let cause = Cause::Part {
            machine: spot.id,
            kind,
            life,
            part: fitted.map(|(id, _)| id),
            age: match age {
                Entered::At(age) => Age::Known(age),
                Entered::Within(low, high) => Age::Within(low, high),
            },
            spares,
            rests: Rests {
                failures: belief.failures(),
                lives: belief.n(),
                from_data: belief.share_from_data(),
            },
        };
        let at_strike = if struck { 0.0 } else { loss.at_strike };
        let outcome =
            spot.outcome(loss.minutes, at_strike, !loss.spare || spares.is_some_and(|count| count > 0));
        let eased = Eased {
            new: loss.bench_minutes.map(|_| belief.fails_within(Entered::At(0.0), span)),
            cared: (!late.is_empty()).then(|| (late, bare.thinned(burning))),
            struck,
            leans: stock.filter(|_| loss.spare).and_then(|(item, count)| {
                let pieces = usize::try_from(count).ok().filter(|pieces| *pieces > 0)?;
                Some(Leaning { item, pieces, without: spot.outcome(loss.minutes, at_strike, false) })
            }),
            worked: None,
        };
        self.push(cause, chance.thinned(burning), outcome, eased);
        matches!(age, Entered::Within(..))
    }

    fn push(&mut self, cause: Cause<'a>, chance: Chance, outcome: Outcome, eased: Eased<'a>) {
        self.list.push(Hazard { key: self.causes.len(), chance, outcome });
        self.causes.push(cause);
        self.eased.push(eased);
    }

    /// The booth's own rate of stoppages that no part explains, begun at the trade's.
    fn unexplained(&mut self, told: Unexplained) {
        let chance = told.unforeseen.chance(1.0);
        let cause = Cause::Unexplained { seen: told.seen, showings: told.showings };
        self.push(cause, chance, Outcome::pause(told.pause), Eased::default());
    }
}

/// A chance that is believed like `times` in `of`: the beta distribution that so many trials leave.
pub(super) fn rare(times: f64, of: f64) -> Chance {
    let mean = times / of;
    let square = mean * (times + 1.0) / (of + 1.0);
    Chance::from_moments(mean, square)
        .expect("at most as often as tried, so the moments are those of a beta variate")
}

/// One machine in one showing.
pub(super) struct Spot<'d, 'a> {
    pub desk: &'d Desk<'a>,
    beliefs: &'d Beliefs<'a>,
    served: &'d Served<'a>,
    pub id: &'a MachineId,
    pub machine: &'a Machine,
    pub used: Use,
    /// Another machine stands ready to take over.
    cover: bool,
    length: Seconds,
}

impl<'a> Spot<'_, 'a> {
    /// What a failure costs: `minutes` if there is what it takes, or a take-over, or else the rest of the showing.
    pub fn outcome(&self, minutes: Option<f64>, at_strike: f64, has_what_it_takes: bool) -> Outcome {
        let mended =
            minutes.filter(|_| has_what_it_takes).map(|minutes| Outcome::pause(Seconds::new(minutes * 60.0)));
        let covered = self.cover.then(cover);
        // Whatever is quicker; an operator with a spare and no second machine has one way only.
        let best = mended.into_iter().chain(covered).min_by(|a, b| a.dark().total_cmp(&b.dark()));
        best.unwrap_or_else(|| {
            let left = at_strike + (1.0 - at_strike) / 2.0;
            Outcome::lost(Seconds::new(self.length.seconds() * left))
        })
    }

    /// The item of the stores that is fitted where a life of this machine ends, and how many there are.
    fn stock_of(&self, kind: &MachineType, life: &PriorLife) -> Option<(&'a ItemId, i64)> {
        let booth = self.desk.booth;
        let item = self.served.item_of(self.id, self.machine, kind, life)?;
        booth.stock.get_key_value(&item).map(|(id, known)| (id, known.count))
    }

    /// A spare of the machine's type lies in the stores.
    pub fn has_spare(&self, kind: &MachineType, spare: &SpareId) -> bool {
        let Some(spare) = kind.spares.iter().find(|known| known.id == *spare) else { return false };
        let slot = spare.fits.first().map_or("", machine::SlotId::as_str);
        let item = self.served.kept_as(self.id, kind, spare, slot);
        self.desk.booth.stock.get(&item).is_some_and(|known| known.count > 0)
    }

    /// The lamp in a slot was struck in a rehearsal or a test of this evening.
    fn struck_since(&self, slot: &str) -> bool {
        let booth = self.desk.booth;
        let part = self.machine.fitted.get(slot).and_then(|id| booth.parts.get(id));
        let fitted = part.and_then(|part| part.open_stint()).map_or(i64::MIN, |stint| stint.fitted.unix_ms);
        self.machine
            .runs
            .iter()
            .rev()
            .take_while(|run| self.desk.now.day_of(run.at) == self.desk.now.day)
            .any(|run| run.run == RunKind::Rehearsal && run.at.unix_ms >= fitted)
    }
}

fn cover() -> Outcome {
    Outcome::pause(Seconds::new(COVER_PAUSE_MINUTES * 60.0))
}

/// A machine that may be used, has no fault or reading for which it must not run and takes the same film can go on where
/// another stops.
pub(super) fn covers<'a>(desk: &Desk<'a>, id: &MachineId, other: &'a Machine, machine: &Machine) -> bool {
    let gauge = |machine| desk.kind_of(machine).map(|kind: &MachineType| kind.gauge);
    is_offered(other)
        && gauge(other).is_some()
        && gauge(other) == gauge(machine)
        && !troubles::must_not_run(desk, id, other)
}

fn overdue<'a>(spot: &Spot<'_, 'a>) -> Vec<DueItem<'a>> {
    let Some(at) = spot.desk.booth.machines.get_index_of(spot.id) else { return Vec::new() };
    let mut items = spot.desk.count_one(at);
    items.retain(|item| {
        item.state == DueState::Overdue && matches!(item.task.kind, CareKind::Clean | CareKind::Oil)
    });
    items
}

impl Use {
    /// What a clock goes on from now until the end of the showing.
    pub fn until_the_end(&self, clock: Clock) -> f64 {
        match clock {
            Clock::Running | Clock::Motor | Clock::Lamp => self.hours_before + self.hours,
            Clock::Strikes => self.showings_before + 1.0,
        }
    }

    fn age_at_start(&self, clock: LifeClock, now: Entered) -> Entered {
        let more = match clock {
            LifeClock::Hours | LifeClock::LampHours => self.hours_before,
            LifeClock::Strikes | LifeClock::Showings => self.showings_before,
            // The span reaches from the last run to this showing, so the age is that of the last run.
            LifeClock::Years => (self.days_until - self.days_since_run) / DAYS_PER_YEAR,
            LifeClock::Operations => 0.0,
        };
        match now {
            Entered::At(age) => Entered::At((age + more).max(0.0)),
            Entered::Within(low, high) => Entered::Within((low + more).max(0.0), (high + more).max(0.0)),
        }
    }

    fn span(&self, clock: LifeClock) -> f64 {
        match clock {
            LifeClock::Hours | LifeClock::LampHours => self.hours,
            LifeClock::Strikes | LifeClock::Showings => 1.0,
            LifeClock::Years => self.days_since_run / DAYS_PER_YEAR,
            LifeClock::Operations => 0.0,
        }
    }
}

/// Works out what a machine does before and in a showing.
fn usage(
    desk: &Desk<'_>,
    earlier: &[Coming<'_>],
    coming: &Coming<'_>,
    id: &MachineId,
    machine: &Machine,
    hours: f64,
) -> Use {
    let turns = || earlier.iter().flat_map(|other| &other.showing.machines).filter(|(own, _)| own == id);
    let last_turn =
        earlier.iter().rev().find(|other| other.showing.machines.iter().any(|(own, _)| own == id));
    let last_run = machine.runs.last().map(|run| desk.now.day_of(run.at));
    let last = last_turn.map(|other| other.day).or(last_run);
    Use {
        hours_before: turns().map(|(_, hours)| hours.hours().max(0.0)).sum(),
        showings_before: turns().count() as f64,
        hours: hours.max(0.0),
        days_since_run: f64::from(last.map_or(1, |last| coming.day.since(last)).max(1)),
        days_until: f64::from(coming.day.since(desk.now.day)),
    }
}
