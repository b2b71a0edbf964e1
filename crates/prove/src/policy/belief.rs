//! What the log of one booth has taught about the lives of its parts.

use super::{
    Ended,
    grid::{Grid, Sums, Table},
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
    modes: Vec<Table>,
}

/// A belief that rests on so many lives is made anew with each second one more of its kin, and so on.
const FEW_MORE: u64 = 4;
/// Days from which lives that go on count, though none has ended.
const FIRST_LOOK: f64 = 365.0;

impl<'s> Beliefs<'s> {
    pub fn new(kind: &'s Kind, grids: &'s [Vec<Grid>], n_machines: usize) -> Self {
        let lived = kind.parts.iter().map(|part| vec![vec![Sums::default(); n_machines]; part.modes.len()]);
        Self {
            kind,
            grids,
            lived: lived.collect(),
            version: vec![0; kind.parts.len()],
            held: (0..n_machines).map(|_| kind.parts.iter().map(|_| None).collect()).collect(),
        }
    }

    /// Makes sure that what is held of a part is up to the log; returns true if it was made anew.
    pub fn refresh(&mut self, log: &Log, machine: usize, part: usize) -> bool {
        let version = self.version[part];
        if let Some(held) = &self.held[machine][part]
            && version < held.anew_at
            && log.day < held.until
        {
            return false;
        }
        let modes = (0..self.kind.parts[part].modes.len()).map(|mode| self.table(log, machine, part, mode));
        let held = Held {
            anew_at: version + 1 + version / FEW_MORE,
            until: 2.0 * log.day + FIRST_LOOK,
            modes: modes.collect(),
        };
        self.held[machine][part] = Some(held);
        true
    }

    fn table(&self, log: &Log, machine: usize, part: usize, mode: usize) -> Table {
        let (grid, lived) = (&self.grids[part][mode], &self.lived[part][mode]);
        if self.version[part] == 0 && log.day < FIRST_LOOK {
            return grid.prior;
        }
        let kin: Vec<Sums> = (0..lived.len())
            .filter(|&other| other != machine)
            .map(|other| {
                let (clock, scale) = (grid.mode.clock, grid.mode.scale);
                let entered = log.machines[other].fitted[part].entered[place(clock)];
                let age = log.machines[other].age(part, clock, log.day);
                let mut sums = lived[other];
                if age > entered {
                    sums.add(grid, entered / scale, age / scale, 0.0);
                }
                sums
            })
            .collect();
        grid.table(&lived[machine], &kin)
    }

    /// Hazard that a part gathers by an age along one of its modes; the belief must have been refreshed.
    pub fn gathered(&self, machine: usize, part: usize, mode: usize, age: f64) -> f64 {
        let table =
            self.held[machine][part].as_ref().map_or(&self.grids[part][mode].prior, |held| &held.modes[mode]);
        table.gathered(age / self.grids[part][mode].mode.scale)
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
            let gathers = |age| self.gathered(end.machine, end.part, mode, age);
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
        }
        self.version[end.part] += 1;
        // A machine's own lives count at once; those of its kin once there are enough of them to matter.
        if let Some(held) = &mut self.held[end.machine][end.part] {
            held.anew_at = 0;
        }
    }
}
