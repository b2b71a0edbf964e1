//! Boothwright's advice: what the log has taught of lives, the best age by cost, and deeds before the doors.

use super::{
    Ended, Policy,
    ahead::Ahead,
    belief::Beliefs,
    best_age::{Ladder, Prices},
    experience::Experience,
    grid::{Grid, Table},
};
use crate::{
    log::{COVER_SECONDS, DAYS, Deed, Log, STANDBY_MINUTES, STRIKE_MINUTES},
    scenario::{Clock, Kind, Mode, Part, Scenario},
    world::Truth,
};
use risk::{Action, Case, Chance, Change, Effect, Hazard, Outcome, TrackRecord, best_within};
use units::{Probability, Seconds};

/// Overdue care multiplies hazards by this, the advice thinks (common practice, no source).
const NEGLECT: f64 = 2.0;
/// A stoppage that no part explains lasts so many seconds, the advice thinks (common practice, no source).
const UNEXPLAINED_SECONDS: f64 = 120.0;
/// A fault that stands open strikes in one showing of so many (our choice, no source).
const OPEN_FAULT_ONE_IN: f64 = 20.0;
/// A deed must save so many dark seconds (our choice, no source).
const LEAST_SAVED: f64 = 1.0;

/// Where the advice has its lives from.
enum Insight<'s> {
    /// From the log.
    Learnt(Beliefs<'s>, Experience),
    /// It has been told; the hazards of its parts by machine, part and mode.
    Told(&'s Truth, Vec<Vec<Vec<Table>>>),
}

/// The advice.
pub(crate) struct Advice<'s> {
    scenario: &'s Scenario,
    kind: &'s Kind,
    ladder: &'s Ladder,
    insight: Insight<'s>,
    /// A stoppage counts for so many times its price.
    dread: f64,
    /// How its chances fared so far, and the one it reckoned for tonight before it looked at that.
    record: TrackRecord,
    reckoned: Probability,
    /// What the parts of machines gather tonight if their care is not overdue, where that was looked at before the deeds.
    expected: Vec<Vec<Option<f64>>>,
    /// Room to look at all modes of a machine at once.
    ahead: Ahead,
    /// Room for which parts of a machine have a belief made anew.
    anew: Vec<bool>,
    /// Parts that run tonight with their care overdue, by machine.
    neglected: Vec<(usize, usize)>,
    /// The best age of each part in each machine, in hours of running; none: left until it fails.
    best: Vec<Vec<Option<Best>>>,
}

#[derive(Clone, Copy)]
struct Best {
    /// Hours of running.
    age: f64,
    /// It is looked at again by this day: the machine's use may have changed.
    until: f64,
}

impl<'s> Advice<'s> {
    /// Learns from the log.
    pub fn learning(
        scenario: &'s Scenario,
        kind: &'s Kind,
        (ladder, grids): (&'s Ladder, &'s [Vec<Grid>]),
        n_machines: usize,
        dread: f64,
    ) -> Self {
        let learnt = Insight::Learnt(Beliefs::new(kind, grids, n_machines), Experience::new(n_machines));
        Self { dread, ..Self::with(scenario, kind, ladder, learnt, n_machines) }
    }

    /// Knows the hidden lives.
    pub fn told(scenario: &'s Scenario, kind: &'s Kind, ladder: &'s Ladder, truth: &'s Truth) -> Self {
        let of_part = |(part, scales): (&Part, &Vec<f64>)| {
            let modes = part.modes.iter().zip(scales);
            modes.map(|(mode, scale)| Table::of_law(mode.shape, scale / mode.scale)).collect()
        };
        let tables =
            truth.machines.iter().map(|own| kind.parts.iter().zip(&own.scales).map(of_part).collect());
        let told = Insight::Told(truth, tables.collect());
        Self::with(scenario, kind, ladder, told, truth.machines.len())
    }

    fn with(
        scenario: &'s Scenario,
        kind: &'s Kind,
        ladder: &'s Ladder,
        insight: Insight<'s>,
        n_machines: usize,
    ) -> Self {
        Self {
            scenario,
            kind,
            ladder,
            insight,
            dread: 1.0,
            record: TrackRecord::default(),
            reckoned: Probability::NEVER,
            expected: vec![vec![None; kind.parts.len()]; n_machines],
            ahead: Ahead::default(),
            anew: Vec::new(),
            neglected: Vec::new(),
            best: vec![vec![None; kind.parts.len()]; n_machines],
        }
    }

    /// Hazard of a part by age along a mode, a share of the prior scale.
    fn table(&self, machine: usize, part: usize, mode: usize) -> &Table {
        match &self.insight {
            Insight::Learnt(beliefs, _) => beliefs.table(machine, part, mode),
            Insight::Told(_, tables) => &tables[machine][part][mode],
        }
    }

    fn neglect(&self) -> f64 {
        match &self.insight {
            Insight::Learnt(..) => NEGLECT,
            Insight::Told(truth, _) => truth.neglect,
        }
    }

    /// Stoppages to expect in a showing that nothing foretells.
    fn unforeseen(&self) -> f64 {
        match &self.insight {
            Insight::Learnt(_, experience) => experience.unforeseen(),
            Insight::Told(truth, _) => truth.unexplained,
        }
    }

    /// The chance that a piece of work left something loose.
    fn loose(&self) -> f64 {
        match &self.insight {
            Insight::Learnt(_, experience) => experience.loose(),
            Insight::Told(..) => self.scenario.nature.slip,
        }
    }

    /// How far a machine's adjustment has drifted, as a share of its limit, and the chance that it stands past it.
    fn drift(&self, log: &Log, machine: usize) -> (f64, f64) {
        let own = &log.machines[machine];
        match &self.insight {
            Insight::Learnt(_, experience) => experience.drift(own, machine),
            Insight::Told(truth, _) => {
                let drifted = (own.hours - own.reading.adjusted_at) / truth.machines[machine].drift_hours;
                (drifted, f64::from(u8::from(drifted > 1.0)))
            }
        }
    }

    /// True where adjusting a machine costs less than what its drift may cost tonight; what is thrown away is the time
    /// until it stands at its limit.
    fn adjusts(&self, log: &Log, machine: usize) -> bool {
        let (drifted, past) = self.drift(log, machine);
        let adjusting = self.scenario.nature.adjusting;
        let risked = past / OPEN_FAULT_ONE_IN * self.price(&Outcome::pause(adjusting));
        risked > self.work_price(adjusting.seconds() / 60.0) * (1.0 - drifted).max(0.0)
    }

    /// Hazard that a part gathers tonight if its care is not overdue.
    fn tonight(&self, log: &Log, machine: usize, part: usize) -> f64 {
        let one = |(at, mode): (usize, &Mode)| {
            let (age, span) = log.machines[machine].span(part, mode.clock, log.day, log.tonight.hours);
            let table = self.table(machine, part, at);
            table.gathered((age + span) / mode.scale) - table.gathered(age / mode.scale)
        };
        self.kind.parts[part].modes.iter().enumerate().map(one).sum()
    }

    /// The same, from where it was worked out already if it was.
    fn cared(&self, log: &Log, machine: usize, part: usize) -> f64 {
        self.expected[machine][part].unwrap_or_else(|| self.tonight(log, machine, part))
    }

    /// The hazard with what overdue care adds.
    fn worn(&self, cared: f64, late: bool) -> f64 {
        if late { cared * self.neglect() } else { cared }
    }

    /// Hazards that all parts of a machine gather tonight; the beliefs must have been refreshed.
    fn look_ahead(&mut self, log: &Log, machine: usize) {
        let mut ahead = std::mem::take(&mut self.ahead);
        ahead.begin();
        for (part, spec) in self.kind.parts.iter().enumerate() {
            for mode in &spec.modes {
                let (age, span) = log.machines[machine].span(part, mode.clock, log.day, log.tonight.hours);
                ahead.way(age / mode.scale, (age + span) / mode.scale);
            }
        }
        let parts = self.kind.parts.iter().enumerate();
        ahead.work_out(
            parts
                .flat_map(|(part, spec)| (0..spec.modes.len()).map(move |mode| (part, mode)))
                .map(|(part, mode)| self.table(machine, part, mode)),
        );
        let mut gathered = ahead.gathered();
        for (expected, spec) in self.expected[machine].iter_mut().zip(&self.kind.parts) {
            *expected = Some(gathered.by_ref().take(spec.modes.len()).sum());
        }
        drop(gathered);
        self.ahead = ahead;
    }

    fn overdue<'a>(&'a self, log: &'a Log, machine: usize, part: usize) -> impl Iterator<Item = usize> + 'a {
        let own = &log.machines[machine];
        let late = move |care: &usize| own.overdue(self.kind, *care, log.day);
        self.kind.parts[part].cares.iter().copied().filter(late)
    }

    fn is_late(&self, log: &Log, machine: usize, part: usize) -> bool {
        self.overdue(log, machine, part).next().is_some()
    }

    /// The share of a part's failures that tonight is still to come: those at the strike may be over.
    fn burning(&self, log: &Log, machine: usize, part: usize) -> f64 {
        let struck = log.tonight.struck >> machine & 1 == 1;
        if struck { 1.0 - self.kind.parts[part].at_strike } else { 1.0 }
    }

    /// What a failure of a part does tonight.
    fn outcome(&self, log: &Log, part: usize) -> Outcome {
        let spec = &self.kind.parts[part];
        let spare = !spec.takes_spare || log.stock[part] > 0;
        let mended = spec.mend.filter(|_| spare).map(Outcome::pause);
        let covered = log.tonight.covered.then(|| Outcome::pause(Seconds::new(COVER_SECONDS)));
        let best = mended.into_iter().chain(covered).min_by(|a, b| a.dark().total_cmp(&b.dark()));
        best.unwrap_or_else(|| {
            let length = log.tonight.hours * 3600.0;
            Outcome::lost(Seconds::new(length * f64::midpoint(1.0, spec.at_strike)))
        })
    }

    /// What an outcome costs, in credits; each stoppage, not its dark minutes, counts for as many times its price as it is
    /// dreaded, so that money goes where a credit saves most stoppages.
    fn price(&self, outcome: &Outcome) -> f64 {
        let money = &self.scenario.money;
        let lost = outcome.lost.value();
        let pause = (1.0 - lost) * outcome.pause.seconds() / 60.0 * money.dark_minute;
        self.dread * money.stoppage + lost * money.lost + pause
    }

    fn work_price(&self, minutes: f64) -> f64 {
        minutes / 60.0 * self.scenario.money.operator_hour
    }

    /// What a planned change costs.
    fn change_price(&self, spec: &Part) -> f64 {
        let technician =
            self.scenario.customs.technician_minutes / 60.0 * self.scenario.money.technician_hour;
        let loose = self.loose() * self.price(&Outcome::pause(Seconds::new(UNEXPLAINED_SECONDS)));
        spec.credits + spec.bench_minutes.map_or(technician, |minutes| self.work_price(minutes)) + loose
    }

    /// What a failure costs as a rule, whoever stands by and whatever lies ready.
    fn failure_price(&self, spec: &Part) -> f64 {
        let length = self.scenario.customs.length;
        let lost = Outcome::lost(Seconds::new(1800.0 * (length.0.hours() + length.1.hours())));
        let covered = if self.kind.pair { 1.0 } else { self.scenario.customs.threaded };
        let cover = Outcome::pause(Seconds::new(COVER_SECONDS));
        let unmended = covered * self.price(&cover) + (1.0 - covered) * self.price(&lost);
        let call = if spec.bench_minutes.is_none() { self.scenario.money.call } else { 0.0 };
        let stops = spec.mend.map_or(unmended, |pause| self.price(&Outcome::pause(pause)).min(unmended));
        stops + call + self.change_price(spec)
    }

    /// The age at which to change a part as planned, in hours of running.
    fn best_age(&self, log: &Log, machine: usize, part: usize) -> f64 {
        let spec = &self.kind.parts[part];
        let own = &log.machines[machine];
        let prices = Prices { planned: self.change_price(spec), failure: self.failure_price(spec) };
        // A machine that has hardly run is taken to run as the others do.
        let hours_a_year = (own.hours + 50.0) / (log.day / DAYS + 0.5);
        let showings_an_hour = (own.showings + 1.0) / (own.hours + 2.0);
        let on = |clock, hours: f64| match clock {
            Clock::Hours => hours,
            Clock::Showings => hours * showings_an_hour,
            Clock::Years => hours / hours_a_year,
        };
        let scale =
            spec.modes.iter().map(|mode| mode.scale / on(mode.clock, 1.0)).fold(f64::INFINITY, f64::min);
        let way = |(at, mode): (usize, &Mode)| {
            (self.table(machine, part, at), (on(mode.clock, scale) / mode.scale).ln())
        };
        self.ladder.best(scale, spec.modes.iter().enumerate().map(way), prices).unwrap_or(f64::INFINITY)
    }

    /// True if a part has reached its best age.
    fn is_due(&mut self, log: &Log, machine: usize, part: usize, anew: bool) -> bool {
        let held = self.best[machine][part].filter(|best| !anew && log.day < best.until);
        let best = held.unwrap_or_else(|| {
            let age = self.best_age(log, machine, part);
            Best { age, until: 1.3 * log.day + 180.0 }
        });
        self.best[machine][part] = Some(best);
        log.machines[machine].age(part, Clock::Hours, log.day) >= best.age
    }
}

impl Policy for Advice<'_> {
    fn prepare(&mut self, log: &Log, deeds: &mut Vec<Deed>) {
        let mut evening = Evening::default();
        for &machine in &log.tonight.runs {
            if self.adjusts(log, machine) {
                evening.planned(
                    deeds,
                    Deed::Adjust { machine },
                    self.scenario.nature.adjusting.seconds() / 60.0,
                );
            }
            let mut anew = std::mem::take(&mut self.anew);
            anew.clear();
            anew.extend((0..self.kind.parts.len()).map(|part| match &mut self.insight {
                Insight::Learnt(beliefs, _) => beliefs.refresh(log, machine, part),
                Insight::Told(..) => false,
            }));
            self.look_ahead(log, machine);
            for (part, anew) in anew.iter().enumerate() {
                if self.is_due(log, machine, part, *anew) {
                    let minutes = self.kind.parts[part].bench_minutes.unwrap_or(0.0);
                    evening.planned(deeds, Deed::Change { machine, part, ordered: true }, minutes);
                } else {
                    self.weigh(log, machine, part, &mut evening);
                }
            }
            self.anew = anew;
        }
        self.stand_by(log, &mut evening);
        evening.choose(log.tonight.minutes, deeds);
    }

    fn chance(&mut self, log: &Log) -> Option<f64> {
        let (mut clean, mut gathered) = (1.0 - self.unforeseen(), 0.0);
        self.neglected.clear();
        for &machine in &log.tonight.runs {
            for part in 0..self.kind.parts.len() {
                let late = self.is_late(log, machine, part);
                if late {
                    self.neglected.push((machine, part));
                }
                let gathers = self.worn(self.cared(log, machine, part), late);
                if let Insight::Learnt(beliefs, _) = &mut self.insight {
                    beliefs.gathers(machine, part, gathers);
                }
                match self.burning(log, machine, part) {
                    1.0 => gathered += gathers,
                    burning => clean *= 1.0 - failing(gathers) * burning,
                }
            }
            clean *= 1.0 - self.drift(log, machine).1 / OPEN_FAULT_ONE_IN;
            clean *= (1.0 - self.loose()).powf(f64::from(log.machines[machine].worked));
        }
        self.reckoned = Probability::clamped(1.0 - clean * (-gathered).exp());
        Some(match &self.insight {
            Insight::Learnt(..) => self.record.corrected(self.reckoned).value(),
            Insight::Told(..) => self.reckoned.value(),
        })
    }

    fn ended(&mut self, log: &Log, end: &Ended) {
        self.expected[end.machine][end.part] = None;
        if let Insight::Learnt(beliefs, _) = &mut self.insight {
            beliefs.ended(log, end);
        }
    }

    fn shown(&mut self, log: &Log, stopped: bool) {
        self.record.fared(self.reckoned, stopped);
        if let Insight::Learnt(beliefs, experience) = &mut self.insight {
            experience.shown(log);
            for (machine, part) in std::mem::take(&mut self.neglected) {
                beliefs.neglected(log, machine, part, NEGLECT);
            }
        }
    }
}

/// The chance to fail while so much hazard is gathered.
fn failing(gathers: f64) -> f64 {
    -(-gathers).exp_m1()
}

/// What may stop tonight's showing, and what could be done.
#[derive(Default)]
struct Evening {
    hazards: Vec<Hazard<usize>>,
    actions: Vec<Action<Deed>>,
    /// Minutes that planned work takes.
    taken: f64,
}

impl Evening {
    fn planned(&mut self, deeds: &mut Vec<Deed>, deed: Deed, minutes: f64) {
        deeds.push(deed);
        self.taken += minutes;
    }

    fn hazard(&mut self, chance: f64, outcome: Outcome) -> usize {
        let chance = Chance::known(Probability::clamped(chance));
        self.hazards.push(Hazard { key: self.hazards.len(), chance, outcome });
        self.hazards.len() - 1
    }

    fn action(&mut self, deed: Deed, minutes: f64, hazard: usize, change: Change) {
        let effect = Effect { hazard, change };
        if let Some(known) = self.actions.iter_mut().find(|action| action.key == deed) {
            known.effects.push(effect);
        } else {
            self.actions.push(Action {
                key: deed,
                minutes,
                needs: Vec::new(),
                takes: Vec::new(),
                effects: vec![effect],
            });
        }
    }

    /// The deeds that save most dark seconds in the minutes left.
    fn choose(self, minutes: f64, deeds: &mut Vec<Deed>) {
        if self.actions.is_empty() {
            return;
        }
        let case = Case::new(self.hazards, self.actions, Vec::new())
            .expect("every effect names a hazard of this evening, and minutes are numbers");
        let choice = best_within(&case, (minutes - self.taken).max(0.0), Seconds::new(LEAST_SAVED));
        deeds.extend(choice.actions.iter().map(|&at| case.actions()[at].key));
    }
}

impl Advice<'_> {
    /// Adds a part's hazard, with the deeds against it that are worth their price.
    fn weigh(&self, log: &Log, machine: usize, part: usize, evening: &mut Evening) {
        let spec = &self.kind.parts[part];
        let cared = self.cared(log, machine, part);
        let gathers = self.worn(cared, self.is_late(log, machine, part));
        let outcome = self.outcome(log, part);
        // The chance is no greater than the hazard: 1 − e^−x ≤ x.
        if gathers * outcome.dark().seconds() < LEAST_SAVED {
            return;
        }
        let chance = failing(gathers) * self.burning(log, machine, part);
        let (dark, price) = (chance * outcome.dark().seconds(), chance * self.price(&outcome));
        if dark < LEAST_SAVED {
            return;
        }
        let hazard = evening.hazard(chance, outcome);
        let spare = !spec.takes_spare || log.stock[part] > 0;
        if spec.at_strike > 0.0 && spare && price * spec.at_strike > self.work_price(STRIKE_MINUTES) {
            let left = Change::Leaves(Probability::clamped(1.0 - spec.at_strike));
            evening.action(Deed::Strike { machine }, STRIKE_MINUTES, hazard, left);
        }
        for care in self.overdue(log, machine, part) {
            let becomes = Change::Becomes(Chance::known(Probability::clamped(failing(cared))));
            evening.action(Deed::Care { machine, care }, self.kind.cares[care].minutes, hazard, becomes);
        }
        if let Some(minutes) = spec.bench_minutes.filter(|_| spare) {
            // What is thrown away is the part's time until its best age.
            let age = log.machines[machine].age(part, Clock::Hours, log.day);
            let best = self.best[machine][part].map_or(f64::INFINITY, |best| best.age);
            let wasted = if best.is_finite() { 1.0 - age / best } else { 1.0 };
            if price > self.change_price(spec) - spec.credits * (1.0 - wasted) {
                let new = Change::Becomes(Chance::NEVER);
                evening.action(Deed::Change { machine, part, ordered: false }, minutes, hazard, new);
            }
        }
    }

    /// A second machine threaded beside, where that is worth the work.
    fn stand_by(&self, log: &Log, evening: &mut Evening) {
        if log.tonight.covered || !log.tonight.free {
            return;
        }
        let cover = Outcome::pause(Seconds::new(COVER_SECONDS));
        let graver = |hazard: &&Hazard<usize>| hazard.outcome.dark() > cover.dark();
        let saved = |hazard: &Hazard<usize>| {
            hazard.chance.mean().value() * (self.price(&hazard.outcome) - self.price(&cover))
        };
        let worth: f64 = evening.hazards.iter().filter(graver).map(saved).sum();
        if worth > self.work_price(STANDBY_MINUTES) {
            for hazard in 0..evening.hazards.len() {
                evening.action(Deed::Standby, STANDBY_MINUTES, hazard, Change::Costs(cover));
            }
        }
    }
}
