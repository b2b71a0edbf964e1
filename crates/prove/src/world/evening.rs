//! One evening: what is done before the doors, the showing, and what is mended after it.

use super::World;
use crate::{
    dice::Draw,
    log::{COVER_SECONDS, Deed, Done, STANDBY_MINUTES, STRIKE_MINUTES, Tonight},
    policy::{Ended, Policy},
};

/// What one stoppage does.
enum Then {
    Pause(f64),
    Covered,
    Lost,
}

impl<P: Policy> World<'_, P> {
    pub(super) fn evening(&mut self, showing: u64) {
        self.receive_spares();
        self.tally.showings += 1.0;
        if !self.assign(showing) {
            self.tally.stoppages += 1.0;
            self.tally.cancelled += 1.0;
            self.tally.lost += 1.0;
            self.tally.cost += self.scenario.money.lost;
            return;
        }
        self.usual_care();
        let mut deeds = Vec::new();
        self.policy.prepare(&self.log, &mut deeds);
        for deed in deeds {
            self.do_deed(deed);
        }
        let given = self.policy.chance(&self.log);
        let before = self.tally.stoppages;
        self.show(showing);
        let stopped = self.tally.stoppages > before;
        self.tally.given.extend(given.map(|chance| (chance, stopped)));
        self.policy.shown(&self.log, stopped);
        for &machine in &self.log.tonight.runs {
            self.log.machines[machine].worked = 0;
        }
    }

    /// Which machines run tonight; false where none is fit.
    fn assign(&mut self, showing: u64) -> bool {
        let (customs, dice) = (&self.scenario.customs, self.dice);
        let fit: Vec<usize> = (0..self.log.machines.len())
            .filter(|&at| self.log.machines[at].out_until <= self.log.day)
            .collect();
        if fit.is_empty() {
            return false;
        }
        let first = (dice.even(Draw::Assigned, [0, 0, showing]) * fit.len() as f64) as usize;
        let length =
            dice.between(Draw::Length, [0, 0, showing], (customs.length.0.hours(), customs.length.1.hours()));
        let two = self.kind.pair && fit.len() > 1;
        let threaded = fit.len() > 1 && dice.happens(Draw::Second, [0, 0, showing], customs.threaded) && !two;
        let n = 1 + usize::from(two);
        self.log.tonight = Tonight {
            runs: (0..n).map(|at| fit[(first + at) % fit.len()]).collect(),
            hours: length / n as f64,
            covered: two || threaded,
            free: fit.len() > 1,
            minutes: dice.between(Draw::Minutes, [0, 0, showing], customs.minutes),
            struck: 0,
            unblamed: Vec::new(),
        };
        true
    }

    /// Care that is due is done, whoever runs the booth, but for what is forgotten.
    fn usual_care(&mut self) {
        for at in 0..self.log.tonight.runs.len() {
            let machine = self.log.tonight.runs[at];
            for care in 0..self.kind.cares.len() {
                if self.log.machines[machine].overdue(self.kind, care, self.log.day)
                    && !self.forgets(machine, care)
                {
                    self.do_deed(Deed::Care { machine, care });
                }
            }
        }
    }

    fn forgets(&self, machine: usize, care: usize) -> bool {
        let name = [machine as u64, care as u64, self.hidden[machine].cared[care]];
        let (every, own) = (&self.kind.cares[care], &self.log.machines[machine]);
        let done = own.cares[care];
        let past_hours = every.hours.map_or(0.0, |hours| (own.hours - done.hours) / hours - 1.0);
        let past_days = every.days.map_or(0.0, |days| (self.log.day - done.day) / days - 1.0);
        self.dice.happens(Draw::Forgotten, name, self.scenario.customs.forgotten)
            && past_hours.max(past_days) < self.dice.even(Draw::ForgottenFor, name)
    }

    /// Does a deed if there is time and what it takes; a technician's work has its own day.
    fn do_deed(&mut self, deed: Deed) {
        let minutes = match deed {
            Deed::Change { part, .. } => self.kind.parts[part].bench_minutes.unwrap_or(0.0),
            Deed::Care { care, .. } => self.kind.cares[care].minutes,
            Deed::Strike { .. } => STRIKE_MINUTES,
            Deed::Standby => STANDBY_MINUTES,
            Deed::Adjust { .. } => self.scenario.nature.adjusting.seconds() / 60.0,
        };
        if minutes > self.log.tonight.minutes {
            return;
        }
        match deed {
            Deed::Change { machine, part, ordered } => {
                let spec = &self.kind.parts[part];
                if !ordered && spec.takes_spare {
                    if self.log.stock[part] == 0 {
                        return;
                    }
                    self.take_spare(part);
                }
                if spec.bench_minutes.is_none() {
                    self.technician_works();
                }
                self.ended(machine, part, 0.0, None);
                self.fit(machine, part, true);
            }
            Deed::Care { machine, care } => {
                let own = &mut self.log.machines[machine];
                own.cares[care] = Done { hours: own.hours, day: self.log.day };
                self.hidden[machine].cared[care] += 1;
            }
            Deed::Strike { machine } => self.strike(machine),
            Deed::Standby => self.log.tonight.covered |= self.log.tonight.free,
            Deed::Adjust { machine } => self.adjust(machine),
        }
        self.log.tonight.minutes -= minutes;
        self.operator_works(minutes);
    }

    /// Lamps that would have died at tonight's strike die now, and are changed where a spare lies.
    fn strike(&mut self, machine: usize) {
        let hours = self.log.tonight.hours;
        for part in 0..self.kind.parts.len() {
            let spec = &self.kind.parts[part];
            let spare = !spec.takes_spare || self.log.stock[part] > 0;
            if spec.at_strike <= 0.0 || !spare || !self.dies_at_strike(machine, part) {
                continue;
            }
            let gathers = self.gathering(machine, part, hours);
            let fails = self.first_to_fail(machine, part, &gathers).is_some();
            self.room = gathers;
            if !fails {
                continue;
            }
            if spec.takes_spare {
                self.take_spare(part);
            }
            self.tally.failures += 1.0;
            self.tally.found_before += 1.0;
            self.operator_works(spec.bench_minutes.unwrap_or(0.0));
            self.ended(machine, part, 0.0, Some(0));
            self.fit(machine, part, false);
        }
        self.log.tonight.struck |= 1 << machine;
    }

    fn dies_at_strike(&self, machine: usize, part: usize) -> bool {
        let name = [machine as u64, part as u64, self.hidden[machine].fitted[part]];
        self.dice.happens(Draw::AtStrike, name, self.kind.parts[part].at_strike)
    }

    fn stress(&self, machine: usize, part: usize) -> f64 {
        let own = &self.log.machines[machine];
        let late = |care: &usize| own.overdue(self.kind, *care, self.log.day);
        if self.kind.parts[part].cares.iter().any(late) { self.truth.neglect } else { 1.0 }
    }

    /// What each mode of a part gathers in a showing; kept in a room of its own for the next to use.
    fn gathering(&mut self, machine: usize, part: usize, hours: f64) -> Vec<f64> {
        let mut room = std::mem::take(&mut self.room);
        room.clear();
        let stress = self.stress(machine, part);
        let modes = 0..self.kind.parts[part].modes.len();
        room.extend(modes.map(|mode| stress * self.gathers(machine, part, mode, hours)));
        room
    }

    /// The mode by which a part fails in a showing, and when in it, as a share.
    fn first_to_fail(&self, machine: usize, part: usize, gathers: &[f64]) -> Option<(usize, f64)> {
        let left = &self.hidden[machine].left[part];
        let modes = left.iter().zip(gathers).enumerate();
        modes
            .filter(|(_, (left, gathers))| gathers >= left)
            .map(|(mode, (left, gathers))| (mode, left / gathers))
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The machines run, and what fails stops the showing.
    fn show(&mut self, showing: u64) {
        let hours = self.log.tonight.hours;
        let runs = std::mem::take(&mut self.log.tonight.runs);
        let mut failing = Vec::new();
        for &machine in &runs {
            for part in 0..self.kind.parts.len() {
                let gathers = self.gathering(machine, part, hours);
                if let Some((mode, at)) = self.first_to_fail(machine, part, &gathers) {
                    let at = if self.dies_at_strike(machine, part) { 0.0 } else { at };
                    failing.push((machine, part, mode, at));
                } else {
                    for (left, gathers) in self.hidden[machine].left[part].iter_mut().zip(&gathers) {
                        *left -= gathers;
                    }
                }
                self.room = gathers;
            }
        }
        for &(machine, part, mode, at) in &failing {
            self.ended(machine, part, at, Some(mode));
        }
        for &machine in &runs {
            let own = &mut self.log.machines[machine];
            own.hours += hours;
            own.showings += 1.0;
            own.last_run = self.log.day;
        }
        let mut lost = false;
        for (machine, part, ..) in failing {
            lost |= self.part_stops(machine, part);
        }
        for &machine in &runs {
            self.other_stops(showing, machine, runs.len());
        }
        if lost {
            self.tally.lost += 1.0;
            self.tally.cost += self.scenario.money.lost;
        }
        self.log.tonight.runs = runs;
    }

    /// Tells the policy of a part that came out, `at` a share of the showing.
    fn ended(&mut self, machine: usize, part: usize, at: f64, failed: Option<usize>) {
        let (own, fitted) = (&self.log.machines[machine], self.log.machines[machine].fitted[part]);
        let ran = if failed.is_some() { at * self.log.tonight.hours } else { 0.0 };
        let showings = own.showings - fitted.showings + if failed.is_some() { 1.0 } else { 0.0 };
        let ages = [own.hours - fitted.hours + ran, showings, (self.log.day - fitted.day) / crate::log::DAYS];
        let end = Ended { machine, part, entered: fitted.entered, ages, failed: failed.is_some() };
        self.policy.ended(&self.log, &end);
    }

    /// A part has failed in the showing; returns true if that loses it.
    fn part_stops(&mut self, machine: usize, part: usize) -> bool {
        let spec = &self.kind.parts[part];
        let spare = !spec.takes_spare || self.log.stock[part] > 0;
        let mended = spec.mend.filter(|_| spare).map(units::Seconds::seconds);
        let then = match (mended, self.log.tonight.covered) {
            (Some(pause), false) => Then::Pause(pause),
            (Some(pause), true) if pause <= COVER_SECONDS => Then::Pause(pause),
            (_, true) => Then::Covered,
            (None, false) => Then::Lost,
        };
        self.tally.failures += 1.0;
        self.tally.part_stoppages += 1.0;
        let pause = match then {
            Then::Pause(pause) => pause,
            Then::Covered => COVER_SECONDS,
            Then::Lost => 0.0,
        };
        self.stops_for(pause);
        match then {
            Then::Pause(pause) => {
                if spec.takes_spare {
                    self.take_spare(part);
                }
                self.operator_works(pause / 60.0);
            }
            Then::Covered | Then::Lost => self.mended_after(machine, part),
        }
        self.fit(machine, part, false);
        matches!(then, Then::Lost)
    }

    /// A machine that could not be mended in the showing stands until there is what it takes.
    fn mended_after(&mut self, machine: usize, part: usize) {
        let spec = &self.kind.parts[part];
        let mut out = 0.0;
        if self.log.stock[part] > 0 {
            self.take_spare(part);
        } else {
            out += spec.lead_days;
        }
        if let Some(minutes) = spec.bench_minutes {
            self.operator_works(minutes);
        } else {
            self.technician_works();
            self.tally.cost += self.scenario.money.call;
            out += self.scenario.customs.technician_days;
        }
        let own = &mut self.log.machines[machine];
        own.out_until = own.out_until.max(self.log.day + out);
    }

    /// What no part explains: the unforeseen, loose work, an adjustment past its limit.
    fn other_stops(&mut self, showing: u64, machine: usize, n_run: usize) {
        let (nature, dice) = (&self.scenario.nature, self.dice);
        let at = machine as u64;
        let share = self.truth.unexplained / n_run as f64;
        if dice.happens(Draw::Unexplained, [at, 0, showing], share) {
            self.log.tonight.unblamed.push(machine);
            self.tally.other_stoppages += 1.0;
            self.stops_for(nature.unexplained_pause.seconds());
        }
        if std::mem::take(&mut self.hidden[machine].loose) {
            self.log.tonight.unblamed.push(machine);
            self.tally.other_stoppages += 1.0;
            self.stops_for(nature.slip_pause.seconds());
        }
        let own = &self.log.machines[machine];
        let drifted = (own.hours - own.reading.adjusted_at) / self.truth.machines[machine].drift_hours;
        if drifted > 1.0 && dice.happens(Draw::PastLimit, [at, 0, showing], nature.past_limit) {
            self.tally.other_stoppages += 1.0;
            self.stops_for(nature.adjusting.seconds());
            self.adjust(machine);
        } else if own.hours - own.reading.read_at >= self.scenario.customs.reading_hours {
            self.hidden[machine].read += 1;
            let error =
                nature.reading_sd * dice.normal(Draw::ReadingError, [at, 0, self.hidden[machine].read]);
            let own = &mut self.log.machines[machine];
            (own.reading.read, own.reading.read_at) = (drifted + error, own.hours);
        }
    }

    fn adjust(&mut self, machine: usize) {
        let own = &mut self.log.machines[machine];
        own.reading.adjusted_at = own.hours;
        own.reading.read_at = own.hours;
        own.reading.read = 0.0;
    }

    fn stops_for(&mut self, seconds: f64) {
        let money = &self.scenario.money;
        self.tally.stoppages += 1.0;
        self.tally.dark_minutes += seconds / 60.0;
        self.tally.cost += money.stoppage + seconds / 60.0 * money.dark_minute;
    }
}
