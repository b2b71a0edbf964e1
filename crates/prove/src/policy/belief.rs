//! What the log of one booth has taught about the lives of its parts.

use super::{
    Ended,
    grid::{Grid, Kin, Sums, Table},
};
use crate::{
    log::{Log, place},
    scenario::Kind,
};

/// Beliefs about every mode of every part in every machine.
pub(crate) struct Beliefs<'s> {
    kind: &'s Kind,
    grids: &'s [Vec<Grid>],
    /// Lives that have ended, by part, mode and machine.
    lived: Vec<Vec<Vec<Sums>>>,
    /// What the lives in each machine were last found to say of its family, by part, mode and machine.
    kin: Vec<Vec<Vec<Option<Seen>>>>,
    /// How often lives of a part have ended.
    version: Vec<u64>,
    held: Vec<Vec<Option<Held>>>,
}

/// A belief worked out before.
struct Held {
    /// It is made anew once so many lives of the part have ended.
    anew_at: u64,
    /// It is made anew by then even if no life has ended: those that go on have grown older.
    until: f64,
    /// The same where much hangs on it.
    until_grave: f64,
    /// Much hangs on it: the part is likely to fail tonight, as such things go.
    is_grave: bool,
    modes: Vec<Table>,
}

/// What a machine's lives said of its family when they were last looked at.
struct Seen {
    /// It is looked at again by this day, though no life has ended: the one that goes on has grown older.
    until: f64,
    kin: Option<Kin>,
}

/// A belief that rests on so many lives is made anew with each second one more of its kin, and so on.
const FEW_MORE: u64 = 4;
/// A part that fails once in so many showings or oftener is looked at when the log is a tenth older and a month more, not
/// twice as old: lives that go on say that hazards are less, and the greatest chances hang on it (docs/prove.md).
const GRAVE_ONE_IN: f64 = 100.0;
const LITTLE_OLDER: f64 = 1.1;
/// Days from which lives that go on count, though none has ended.
const FIRST_LOOK: f64 = 365.0;
/// A life that goes on is looked at again for the sake of its kin when the log is a twelfth older and a month more.
const OLDER: f64 = 1.08;
const SOME_DAYS: f64 = 30.0;

impl<'s> Beliefs<'s> {
    pub fn new(kind: &'s Kind, grids: &'s [Vec<Grid>], n_machines: usize) -> Self {
        let none = |n: usize| (0..n).map(|_| None).collect::<Vec<_>>();
        let seen = kind.parts.iter().map(|part| part.modes.iter().map(|_| none(n_machines)).collect());
        let lived = kind.parts.iter().map(|part| vec![vec![Sums::default(); n_machines]; part.modes.len()]);
        Self {
            kind,
            grids,
            lived: lived.collect(),
            kin: seen.collect(),
            version: vec![0; kind.parts.len()],
            held: (0..n_machines).map(|_| kind.parts.iter().map(|_| None).collect()).collect(),
        }
    }

    /// Makes sure that what is held of a part is up to the log; returns true if it was made anew.
    pub fn refresh(&mut self, log: &Log, machine: usize, part: usize) -> bool {
        let version = self.version[part];
        if let Some(held) = &self.held[machine][part]
            && version < held.anew_at
            && log.day < if held.is_grave { held.until_grave } else { held.until }
        {
            return false;
        }
        let modes = (0..self.kind.parts[part].modes.len()).map(|mode| self.made(log, machine, part, mode));
        let modes = modes.collect();
        let held = Held {
            anew_at: version + 1 + version / FEW_MORE,
            until: 2.0 * log.day + FIRST_LOOK,
            until_grave: LITTLE_OLDER * log.day + SOME_DAYS,
            is_grave: false,
            modes,
        };
        self.held[machine][part] = Some(held);
        true
    }

    /// Learns what a part gathers tonight by the belief that is held.
    pub fn gathers(&mut self, machine: usize, part: usize, hazard: f64) {
        if let Some(held) = &mut self.held[machine][part] {
            held.is_grave = hazard * GRAVE_ONE_IN > 1.0;
        }
    }

    fn made(&mut self, log: &Log, machine: usize, part: usize, mode: usize) -> Table {
        let grid = &self.grids[part][mode];
        if self.version[part] == 0 && log.day < FIRST_LOOK {
            return grid.prior;
        }
        let (lived, seen) = (&self.lived[part][mode], &mut self.kin[part][mode]);
        for other in (0..lived.len()).filter(|&other| other != machine) {
            if seen[other].as_ref().is_none_or(|seen| log.day >= seen.until) {
                let sums = with_the_living(grid, lived[other], log, other, part);
                seen[other] = Some(Seen { until: OLDER * log.day + SOME_DAYS, kin: grid.kin(&sums) });
            }
        }
        let others = seen.iter().enumerate().filter(|(other, _)| *other != machine);
        let kin: Vec<&Kin> = others.filter_map(|(_, seen)| seen.as_ref()?.kin.as_ref()).collect();
        grid.table(&lived[machine], &kin)
    }

    /// Hazard of a part by age along one of its modes; the belief must have been refreshed.
    pub fn table(&self, machine: usize, part: usize, mode: usize) -> &Table {
        self.held[machine][part].as_ref().map_or(&self.grids[part][mode].prior, |held| &held.modes[mode])
    }

    /// Learns that a part was worn in a showing by overdue care, `times` as hard as it would have been: the hazard beyond
    /// the usual counts as more of the same life, else the part would seem shorter-lived than it is when cared for.
    pub fn neglected(&mut self, log: &Log, machine: usize, part: usize, times: f64) {
        for (mode, spec) in self.kind.parts[part].modes.iter().enumerate() {
            // The showing is over: its clocks have run on.
            let (age, span) = log.machines[machine].last_span(part, spec.clock, log.day, log.tonight.hours);
            let (from, to) = (age / spec.scale, (age + span) / spec.scale);
            self.lived[part][mode][machine].wore(&self.grids[part][mode], from, to, times - 1.0);
        }
    }

    /// Learns from a life that has ended. Where a part may fail in several ways, nobody writes in which: each is to
    /// blame by its hazard at that age.
    ///
    /// What failed in a showing, or at the strike before it, failed somewhere in that showing: in its middle, for want of
    /// better. The moment itself would say that lamps, most of which go at the strike, last half a showing less.
    pub fn ended(&mut self, log: &Log, end: &Ended) {
        let modes = &self.kind.parts[end.part].modes;
        let age = |mode: usize| {
            let clock = modes[mode].clock;
            if !end.failed {
                return end.ages[place(clock)];
            }
            let (age, span) = log.machines[end.machine].span(end.part, clock, log.day, log.tonight.hours);
            age + 0.5 * span
        };
        let hazard = |mode: usize| {
            let age = age(mode).max(1e-3 * modes[mode].scale);
            let table = self.table(end.machine, end.part, mode);
            let gathers = |age: f64| table.gathered(age / modes[mode].scale);
            // As a rate along the common time of all modes: a share of this life.
            (gathers(age) - gathers(0.98 * age)).max(1e-12)
        };
        let hazards: Vec<f64> = (0..modes.len()).map(hazard).collect();
        let all: f64 = hazards.iter().sum();
        for (mode, hazard) in hazards.iter().enumerate() {
            let (clock, scale) = (modes[mode].clock, modes[mode].scale);
            let blame = if end.failed { hazard / all } else { 0.0 };
            let (entered, age) = (end.entered[place(clock)] / scale, age(mode) / scale);
            self.lived[end.part][mode][end.machine].add(&self.grids[end.part][mode], entered, age, blame);
            self.kin[end.part][mode][end.machine] = None;
        }
        self.version[end.part] += 1;
        // A machine's own lives count at once; those of its kin once there are enough of them to matter.
        if let Some(held) = &mut self.held[end.machine][end.part] {
            held.anew_at = 0;
        }
    }
}

/// The lives of a part in a machine, with the one that goes on.
fn with_the_living(grid: &Grid, mut sums: Sums, log: &Log, machine: usize, part: usize) -> Sums {
    let (clock, scale) = (grid.mode.clock, grid.mode.scale);
    let entered = log.machines[machine].fitted[part].entered[place(clock)];
    let age = log.machines[machine].age(part, clock, log.day);
    if age > entered {
        sums.add(grid, entered / scale, age / scale, 0.0);
    }
    sums
}
