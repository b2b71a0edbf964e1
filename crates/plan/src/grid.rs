//! One piece of work for itself, when it is open which showings its machine runs at: the least cost by hours since
//! it was last done, from each moment to the end.
//!
//! The machine is in one place at a time here, too: a run or a doing leads to the first event that it leaves time for.
//! Hours go up in steps that all running times share, so the table is exact as long as they share one that is coarse
//! enough; otherwise hours are rounded down, and what is found is a bound from below.

use crate::events::{Event, Phase, What, events};
use crate::problem::Problem;
use std::ops::Range;

/// So many minutes of running are told apart at most where not all are: ten hours a week for half a year. A machine for
/// which hours beyond are free seems a bargain, so a smaller number costs more of the bound than it saves time.
const MOST_MINUTES: i64 = 240 * 60;
/// Most rows of hours in a table.
const MOST_LEVELS: i64 = 2048;

/// What a table is counted in: exactly, or in half the room and time where it only has to say which way prices go.
pub(crate) trait Number:
    Copy + PartialOrd + Default + std::ops::Add<Output = Self> + std::ops::Mul<Output = Self> + 'static
{
    /// The nearest number of this kind.
    fn near(it: f64) -> Self;
    /// What a grid knows in numbers of this kind.
    fn known(grid: &Grid) -> &Known<Self>;
}

impl Number for f64 {
    #[inline]
    fn near(it: f64) -> Self {
        it
    }
    #[inline]
    fn known(grid: &Grid) -> &Known<Self> {
        &grid.known
    }
}

impl Number for f32 {
    #[expect(clippy::cast_possible_truncation, reason = "it is what is asked")]
    #[inline]
    fn near(it: f64) -> Self {
        it as Self
    }
    #[inline]
    fn known(grid: &Grid) -> &Known<Self> {
        &grid.nearly
    }
}

/// What does not change while prices move.
pub(crate) struct Known<T> {
    /// For each phase kind (never done, done) and table of risk: stoppages of a run from each level.
    risk: [Vec<Vec<T>>; 2],
    /// Waste by level, before the first doing and after.
    waste: [Vec<T>; 2],
}

impl Known<f64> {
    fn nearly(&self) -> Known<f32> {
        let row = |row: &Vec<f64>| row.iter().map(|&it| f32::near(it)).collect::<Vec<_>>();
        Known {
            risk: self.risk.each_ref().map(|tables| tables.iter().map(row).collect()),
            waste: self.waste.each_ref().map(row),
        }
    }
}

/// The table of one piece of work, or of a machine that has none to which runs matter.
pub(crate) struct Grid {
    pub events: Vec<Event>,
    pub phases: Vec<Phase>,
    /// For each of the work's slots the phase that begins with it.
    phase_of: Vec<usize>,
    unit: i64,
    pub levels: usize,
    /// For each event how many levels are told: those that can have been reached before it, or all where a proof asks
    /// from any of them; and at the end.
    reached: Vec<usize>,
    /// A row with what is read beyond its end.
    pub width: usize,
    known: Known<f64>,
    nearly: Known<f32>,
    /// The least stoppages of a run for each table of risk.
    least_risk: Vec<f64>,
    left: f64,
    /// What a minute more of running can save at most: life that is not thrown away.
    saves: f64,
    limit: Option<i64>,
    pub overdue: f64,
}

/// Numbers that are compared side by side.
pub(crate) const LANES: usize = 8;

/// Rows to be filled; compiled for the processor at hand.
struct Fill<'a, T> {
    grid: &'a Grid,
    run_price: &'a [f64],
    slot_price: &'a [f64],
    rows: usize,
    table: &'a mut Vec<T>,
    took: Option<&'a mut Vec<bool>>,
}

impl<T: Number> pulp::NullaryFnOnce for Fill<'_, T> {
    type Output = ();

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn call(self) {
        self.grid.fill_here(self.run_price, self.slot_price, self.rows, self.table, self.took);
    }
}

/// What a piece of work alone would do.
#[derive(Debug, Clone, Default)]
pub(crate) struct Alone {
    pub cost: f64,
    /// For each of the machine's showings, whether it runs there.
    pub runs: Vec<bool>,
    /// For each of the work's slots, whether it is done there.
    pub done: Vec<bool>,
}

/// Room to work in, kept from one piece of work to the next.
#[derive(Default)]
pub(crate) struct Room<T = f64> {
    table: Vec<T>,
    /// For each event, phase and level whether it is taken.
    took: Vec<bool>,
}

impl Grid {
    /// Makes the table of a piece of work; with `all`, hours are told apart as far as they can go, else as far as they
    /// matter in a plan that anybody would make.
    pub fn new(problem: &Problem<'_>, job: usize, all: bool) -> Self {
        let it = &problem.jobs[job];
        let mach = &problem.machines[it.machine];
        let total: i64 = mach.shows.iter().map(|&show| problem.shows[show].run).sum();
        let span =
            if all { total } else { total.min(it.matters_until().min(MOST_MINUTES).max(problem.step)) };
        let coarser = (span / problem.step) / MOST_LEVELS + 1;
        let unit = problem.step * coarser.max(1);
        let levels = if it.hours_matter { usize::try_from(span / unit + 1).unwrap_or(1) } else { 1 };
        let exact = coarser <= 1;
        let runs = running_times(problem, it.machine);
        let (events, phases) = events(problem, it.machine, Some(it), unit, &runs, levels);
        let risk = [it.since, 0].map(|offset| {
            let table =
                |&run: &i64| (0..levels).map(|at| it.stoppages(offset + minutes(at, unit), run)).collect();
            runs.iter().map(table).collect()
        });
        let waste = [it.since, 0].map(|offset| {
            let mut row: Vec<f64> = (0..levels).map(|at| it.waste(offset + minutes(at, unit))).collect();
            if !exact || !it.hours_matter {
                row.fill(0.0);
            } else if span < total
                && let Some(top) = row.last_mut()
            {
                *top = 0.0;
            }
            row
        });
        let least_risk = least(&risk);
        let known = Known { risk, waste };
        let most = runs.last().map_or(0, |&run| usize::try_from(run / unit).unwrap_or(0)).min(levels);
        Self {
            phase_of: phases_of_slots(&events),
            reached: if all { vec![levels; events.len() + 1] } else { reached(&events, levels) },
            events,
            phases,
            unit,
            levels,
            width: levels + most,
            least_risk,
            nearly: known.nearly(),
            known,
            left: it.left,
            saves: it.life.map_or(0.0, |(life, cost)| cost / life),
            limit: it.limit,
            overdue: problem.overdue,
        }
    }

    /// Makes the table of a machine alone: which of its runs it can have together.
    pub fn of_machine(problem: &Problem<'_>, machine: usize) -> Self {
        let runs = running_times(problem, machine);
        let (events, phases) = events(problem, machine, None, problem.step, &runs, 1);
        let risk = [(); 2].map(|()| vec![vec![0.0]; runs.len()]);
        let known = Known { risk, waste: [vec![0.0], vec![0.0]] };
        Self {
            phase_of: Vec::new(),
            reached: vec![1; events.len() + 1],
            events,
            phases,
            unit: problem.step,
            levels: 1,
            width: 1,
            least_risk: vec![0.0; runs.len()],
            nearly: known.nearly(),
            known,
            left: 0.0,
            saves: 0.0,
            limit: None,
            overdue: problem.overdue,
        }
    }

    /// Returns how many numbers the whole table holds.
    pub fn size(&self) -> usize {
        (self.events.len() + 1) * self.phases.len() * self.width
    }

    /// Returns where the row of an event and a phase lies in a table.
    pub fn row(&self, event: usize, phase: usize) -> Range<usize> {
        let start = (event * self.phases.len() + phase) * self.width;
        start..start + self.width
    }

    /// Returns how many levels are told before an event.
    pub fn reached(&self, event: usize) -> usize {
        self.reached[event]
    }

    /// Returns the stoppages of a run from each level, in a phase.
    pub fn risk(&self, phase: usize, table: usize) -> &[f64] {
        self.risk_in(phase, table)
    }

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn risk_in<T: Number>(&self, phase: usize, table: usize) -> &[T] {
        &T::known(self).risk[usize::from(phase > 0)][table]
    }

    /// Returns what a doing throws away at each level, in a phase.
    pub fn waste(&self, phase: usize) -> &[f64] {
        self.waste_in(phase)
    }

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn waste_in<T: Number>(&self, phase: usize) -> &[T] {
        &T::known(self).waste[usize::from(phase > 0)]
    }

    /// Returns whether an event can be left out: it cannot be, or it is a run that costs more than it can ever save
    /// (what grows with hours never falls, so leaving it out makes no life dearer).
    pub fn out(&self, event: &Event, run_price: &[f64]) -> bool {
        let useless = match event.what {
            What::Run { at, run, stoppage, table, .. } => {
                let at_least = run_price[at] + stoppage * self.least_risk[table];
                !event.fixed && at_least >= self.saves * run as f64
            }
            What::Slot { .. } => false,
        };
        event.barred || useless
    }

    /// Fills the whole table from the end: `run_price` and `slot_price` come on top of what each choice costs.
    pub fn fill(&self, run_price: &[f64], slot_price: &[f64], table: &mut Vec<f64>) {
        let rows = self.events.len() + 1;
        pulp::Arch::new().dispatch(Fill { grid: self, run_price, slot_price, rows, table, took: None });
    }

    /// Returns what the work alone would do.
    pub fn alone<T: Number + Into<f64>>(
        &self,
        run_price: &[f64],
        slot_price: &[f64],
        room: &mut Room<T>,
    ) -> Alone {
        let reach = self.events.iter().enumerate().map(|(at, event)| event.after - at).max().unwrap_or(1);
        let (rows, took) = (reach + 1, &mut room.took);
        took.resize(self.events.len() * self.phases.len() * self.levels, false);
        let table = &mut room.table;
        pulp::Arch::new().dispatch(Fill { grid: self, run_price, slot_price, rows, table, took: Some(took) });
        self.follow(run_price, slot_price.len(), room.table[0].into(), &room.took)
    }

    /// Fills rows from the end, of which only the last so many are kept; says, where that is asked, from which levels
    /// each event is taken. Inlined, so that it is compiled for the processor at hand.
    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn fill_here<T: Number>(
        &self,
        run_price: &[f64],
        slot_price: &[f64],
        rows: usize,
        table: &mut Vec<T>,
        mut took: Option<&mut Vec<bool>>,
    ) {
        table.resize(rows * self.phases.len() * self.width, T::default());
        let last = self.events.len();
        for (phase, it) in self.phases.iter().enumerate() {
            let row = &mut table[self.row(last % rows, phase)];
            for (level, cell) in row[..self.levels].iter_mut().enumerate() {
                *cell = T::near(self.left * (it.offset + minutes(level, self.unit)) as f64);
            }
            self.pad(row);
        }
        let mut unasked = vec![false; self.levels];
        for (event, it) in self.events.iter().enumerate().rev() {
            let out = self.out(it, run_price);
            let reached = self.reached(event);
            for phase in 0..self.phases.len() {
                if self.phases[phase].from > event {
                    continue;
                }
                let into = self.row(event % rows, phase);
                let skip = self.row((event + 1) % rows, phase);
                let took = match &mut took {
                    Some(took) => &mut took[(event * self.phases.len() + phase) * self.levels..][..reached],
                    None => &mut unasked[..reached],
                };
                if out {
                    took.fill(false);
                    let until = if reached == self.levels { self.width } else { reached };
                    table.copy_within(skip.start..skip.start + until, into.start);
                    continue;
                }
                match it.what {
                    What::Run { at, .. } => {
                        let then = self.row(it.after % rows, phase);
                        let known = "a run leads to a later row";
                        let (into, skip, then) = if then == skip {
                            let [into, skip] = table.get_disjoint_mut([into, skip]).expect(known);
                            (into, &*skip, &*skip)
                        } else {
                            let [into, skip, then] = table.get_disjoint_mut([into, skip, then]).expect(known);
                            (into, &*skip, &*then)
                        };
                        self.fill_run(it, phase, run_price[at], [skip, then], into, took);
                    }
                    What::Slot { at, cost, phase: begins } => {
                        let anew =
                            table[self.row(it.after % rows, begins).start] + T::near(cost + slot_price[at]);
                        let [into, skip] =
                            table.get_disjoint_mut([into, skip]).expect("a row and the next one");
                        let cells =
                            into[..reached].iter_mut().zip(&*skip).zip(self.waste_in(phase)).zip(took);
                        for (((cell, &skip), &waste), took) in cells {
                            let do_it = anew + waste;
                            *took = it.fixed || do_it < skip;
                            *cell = if *took { do_it } else { skip };
                        }
                        self.pad(into);
                    }
                }
            }
        }
    }

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn fill_run<T: Number>(
        &self,
        event: &Event,
        phase: usize,
        price: f64,
        [skip, then]: [&[T]; 2],
        into: &mut [T],
        took: &mut [bool],
    ) {
        let What::Run { stoppage, table, steps, run, ends, .. } = event.what else { return };
        let risk = self.risk_in::<T>(phase, table);
        let stoppage = T::near(stoppage);
        let over_from = self.over_from(phase, run, ends).min(took.len());
        for (range, price) in [(0..over_from, price), (over_from..took.len(), price + self.overdue)] {
            let price = T::near(price);
            let take = &then[range.start + steps..range.end + steps];
            let (skip, risk) = (&skip[range.clone()], &risk[range.clone()]);
            let (into, took) = (&mut into[range.clone()], &mut took[range]);
            if event.fixed {
                for (((cell, &take), &risk), took) in into.iter_mut().zip(take).zip(risk).zip(took) {
                    (*cell, *took) = (stoppage * risk + price + take, true);
                }
                continue;
            }
            // First all costs, then all choices: each loop is one that a processor does side by side.
            for (((cell, &skip), &take), &risk) in into.iter_mut().zip(skip).zip(take).zip(risk) {
                let run_it = stoppage * risk + price + take;
                *cell = if run_it < skip { run_it } else { skip };
            }
            for ((took, cell), skip) in took.iter_mut().zip(&*into).zip(skip) {
                *took = cell < skip;
            }
        }
        self.pad(into);
    }

    /// The first level from which a run is past a limit.
    pub fn over_from(&self, phase: usize, run: i64, ends: i64) -> usize {
        let it = &self.phases[phase];
        if ends > it.expiry {
            return 0;
        }
        let Some(limit) = self.limit else { return self.levels };
        // Past it where offset + level × unit + run > limit.
        let room = limit - run - it.offset;
        if room < 0 {
            0
        } else {
            usize::try_from(room / self.unit + 1).unwrap_or(usize::MAX).min(self.levels)
        }
    }

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn pad<T: Number>(&self, row: &mut [T]) {
        let top = row[self.levels - 1];
        row[self.levels..].fill(top);
    }

    /// Goes the way that was taken.
    fn follow(&self, run_price: &[f64], n_slots: usize, cost: f64, took: &[bool]) -> Alone {
        let mut alone = Alone { cost, runs: vec![false; run_price.len()], done: vec![false; n_slots] };
        let (mut event, mut phase, mut level) = (0, 0, 0);
        while let Some(it) = self.events.get(event) {
            let takes = took[(event * self.phases.len() + phase) * self.levels + level];
            event = if takes { it.after } else { event + 1 };
            match it.what {
                What::Run { at, steps, .. } if takes => {
                    alone.runs[at] = true;
                    level = (level + steps).min(self.levels - 1);
                }
                What::Slot { at, phase: begins, .. } if takes => {
                    alone.done[at] = true;
                    (phase, level) = (begins, 0);
                }
                _ => {}
            }
        }
        alone
    }

    /// Returns the least cost from an event on, for work that was last done in the slot of `last` (none: never) and
    /// whose machine has run so many minutes since then (or since the plan's zero).
    pub fn rest(&self, table: &[f64], event: usize, last: Option<usize>, ran: i64) -> f64 {
        let level = usize::try_from(ran / self.unit).unwrap_or(0).min(self.levels - 1);
        let phase = last.map_or(0, |slot| self.phase_of[slot]);
        table[self.row(event, phase)][level]
    }
}

/// Returns the least stoppages of a run, for each of its tables; they never fall with the level.
fn least(risk: &[Vec<Vec<f64>>; 2]) -> Vec<f64> {
    let first = |row: &Vec<f64>| row.first().copied().unwrap_or(0.0);
    risk[0].iter().zip(&risk[1]).map(|(before, after)| first(before).min(first(after))).collect()
}

/// Returns for each event, and for the end, how many levels can have been reached before it.
fn reached(events: &[Event], levels: usize) -> Vec<usize> {
    let mut reached = vec![1; events.len() + 1];
    for (at, event) in events.iter().enumerate() {
        let steps = match event.what {
            What::Run { steps, .. } => steps,
            What::Slot { .. } => 0,
        };
        reached[at + 1] = reached[at + 1].max(reached[at]);
        reached[event.after] = reached[event.after].max((reached[at] + steps).min(levels));
    }
    reached
}

/// The slots stand in the order of time, as they do among the work's.
fn phases_of_slots(events: &[Event]) -> Vec<usize> {
    let phase = |event: &Event| match event.what {
        What::Slot { phase, .. } => Some(phase),
        What::Run { .. } => None,
    };
    events.iter().filter_map(phase).collect()
}

fn running_times(problem: &Problem<'_>, machine: usize) -> Vec<i64> {
    let mut runs: Vec<i64> =
        problem.machines[machine].shows.iter().map(|&show| problem.shows[show].run).collect();
    runs.sort_unstable();
    runs.dedup();
    runs
}

/// Minutes of so many levels.
fn minutes(levels: usize, unit: i64) -> i64 {
    i64::try_from(levels).map_or(i64::MAX / 4, |levels| levels * unit)
}
