//! One piece of work for itself, when it is open which showings its machine runs at: the least cost by hours since
//! it was last done, from each moment to the end.
//!
//! Hours go up in steps that all running times share, so the table is exact as long as they share one that is coarse
//! enough; otherwise hours are rounded down, and what is found is a bound from below.

use crate::problem::Problem;
use std::ops::Range;

/// Most rows of hours in a table.
const MOST_LEVELS: i64 = 2048;

/// Something that may happen to a machine, in the order of time.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Event {
    /// It may run at a showing.
    Run {
        /// The showing's place among the machine's.
        at: usize,
        /// What a stoppage costs.
        stoppage: f64,
        /// Which of the tables of risk.
        table: usize,
        /// Levels that a run adds.
        steps: usize,
        run: i64,
        ends: i64,
        fixed: bool,
    },
    /// The work may be done in a slot.
    Slot {
        /// The slot's place among the work's.
        at: usize,
        cost: f64,
        /// The phase that begins with it.
        phase: usize,
        fixed: bool,
    },
}

/// From when hours are counted, and until when the doing holds.
#[derive(Debug, Clone, Copy)]
struct Phase {
    offset: i64,
    expiry: i64,
    /// The event with which it begins.
    from: usize,
}

/// The table of one piece of work.
pub(crate) struct Grid {
    pub events: Vec<Event>,
    phases: Vec<Phase>,
    unit: i64,
    levels: usize,
    /// A row with what is read beyond its end.
    width: usize,
    /// For each phase kind (never done, done) and table of risk: stoppages of a run from each level.
    risk: [Vec<Vec<f64>>; 2],
    /// Waste by level, before the first doing and after.
    waste: [Vec<f64>; 2],
    left: f64,
    limit: Option<i64>,
    overdue: f64,
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

impl Grid {
    /// Makes the table of a piece of work; hours beyond `most_minutes` of running are not told apart.
    pub fn new(problem: &Problem<'_>, job: usize, most_minutes: i64) -> Self {
        let it = &problem.jobs[job];
        let mach = &problem.machines[it.machine];
        let total: i64 = mach.shows.iter().map(|&show| problem.shows[show].run).sum();
        let span = total.min(most_minutes.max(problem.step));
        let coarser = (span / problem.step) / MOST_LEVELS + 1;
        let unit = problem.step * coarser.max(1);
        let levels = if it.hours_matter { usize::try_from(span / unit + 1).unwrap_or(1) } else { 1 };
        let exact = coarser <= 1;
        let mut runs: Vec<i64> = mach.shows.iter().map(|&show| problem.shows[show].run).collect();
        runs.sort_unstable();
        runs.dedup();
        let (events, phases) = events(problem, job, unit, &runs, levels);
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
        let most = runs.last().map_or(0, |&run| usize::try_from(run / unit).unwrap_or(0)).min(levels);
        Self {
            events,
            phases,
            unit,
            levels,
            width: levels + most,
            risk,
            waste,
            left: it.left,
            limit: it.limit,
            overdue: problem.overdue,
        }
    }

    /// Returns how many numbers the whole table holds.
    pub fn size(&self) -> usize {
        (self.events.len() + 1) * self.phases.len() * self.width
    }

    fn row(&self, event: usize, phase: usize) -> Range<usize> {
        let start = (event * self.phases.len() + phase) * self.width;
        start..start + self.width
    }

    /// Fills the table from the end: `run_price` and `slot_price` come on top of what each choice costs.
    pub fn fill(&self, run_price: &[f64], slot_price: &[f64], table: &mut Vec<f64>) {
        table.resize(self.size(), 0.0);
        let last = self.events.len();
        for (phase, it) in self.phases.iter().enumerate() {
            let row = &mut table[self.row(last, phase)];
            for (level, cell) in row[..self.levels].iter_mut().enumerate() {
                *cell = self.left * (it.offset + minutes(level, self.unit)) as f64;
            }
            self.pad(row);
        }
        for (event, it) in self.events.iter().enumerate().rev() {
            let (before, after) = table.split_at_mut((event + 1) * self.phases.len() * self.width);
            for phase in 0..self.phases.len() {
                if self.phases[phase].from > event {
                    continue;
                }
                let into = &mut before[self.row(event, phase)];
                let next = &after[phase * self.width..(phase + 1) * self.width];
                match *it {
                    Event::Run { at, .. } => self.fill_run(it, phase, run_price[at], next, into),
                    Event::Slot { at, cost, phase: begins, fixed } => {
                        let anew = after[begins * self.width] + cost + slot_price[at];
                        let waste = &self.waste[usize::from(phase > 0)];
                        for ((cell, &skip), &waste) in into.iter_mut().zip(next).zip(waste) {
                            let do_it = anew + waste;
                            *cell = if fixed || do_it < skip { do_it } else { skip };
                        }
                        self.pad(into);
                    }
                }
            }
        }
    }

    fn fill_run(&self, event: &Event, phase: usize, price: f64, next: &[f64], into: &mut [f64]) {
        let Event::Run { stoppage, table, steps, run, ends, fixed, .. } = *event else { return };
        let risk = &self.risk[usize::from(phase > 0)][table];
        let over_from = self.over_from(phase, run, ends);
        for (range, price) in [(0..over_from, price), (over_from..self.levels, price + self.overdue)] {
            let skip = &next[range.clone()];
            let take = &next[range.start + steps..range.end + steps];
            let cells = into[range.clone()].iter_mut().zip(skip).zip(take).zip(&risk[range]);
            if fixed {
                for (((cell, _), &take), &risk) in cells {
                    *cell = stoppage * risk + price + take;
                }
            } else {
                for (((cell, &skip), &take), &risk) in cells {
                    let run_it = stoppage * risk + price + take;
                    *cell = if run_it < skip { run_it } else { skip };
                }
            }
        }
        self.pad(into);
    }

    /// The first level from which a run is past a limit.
    fn over_from(&self, phase: usize, run: i64, ends: i64) -> usize {
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

    fn pad(&self, row: &mut [f64]) {
        let top = row[self.levels - 1];
        row[self.levels..].fill(top);
    }

    /// Returns what the work alone would do, from a filled table.
    pub fn follow(&self, run_price: &[f64], slot_price: &[f64], table: &[f64], n_slots: usize) -> Alone {
        let mut alone =
            Alone { cost: table[0], runs: vec![false; run_price.len()], done: vec![false; n_slots] };
        let (mut phase, mut level) = (0, 0);
        for (event, it) in self.events.iter().enumerate() {
            let next = &table[self.row(event + 1, phase)];
            match *it {
                Event::Run { at, stoppage, table: of, steps, run, ends, fixed } => {
                    let over = if level >= self.over_from(phase, run, ends) { self.overdue } else { 0.0 };
                    let risk = self.risk[usize::from(phase > 0)][of][level];
                    let run_it = stoppage * risk + (run_price[at] + over) + next[level + steps];
                    if fixed || run_it < next[level] {
                        alone.runs[at] = true;
                        level = (level + steps).min(self.levels - 1);
                    }
                }
                Event::Slot { at, cost, phase: begins, fixed } => {
                    let anew = table[self.row(event + 1, begins)][0] + cost + slot_price[at];
                    if fixed || anew + self.waste[usize::from(phase > 0)][level] < next[level] {
                        alone.done[at] = true;
                        (phase, level) = (begins, 0);
                    }
                }
            }
        }
        alone
    }

    /// Returns the least cost from an event on, for work that was last done in the slot of `last` (none: never) and
    /// whose machine has run so many minutes since then (or since the plan's zero).
    pub fn rest(&self, table: &[f64], event: usize, last: Option<usize>, ran: i64) -> f64 {
        let level = usize::try_from(ran / self.unit).unwrap_or(0).min(self.levels - 1);
        let phase = last.map_or(0, |slot| (1 + slot).min(self.phases.len() - 1));
        table[self.row(event, phase)][level]
    }
}

/// Minutes of so many levels.
fn minutes(levels: usize, unit: i64) -> i64 {
    i64::try_from(levels).map_or(i64::MAX / 4, |levels| levels * unit)
}

/// Lists what may happen, and the phases: never done; done, one for all slots if each doing holds to the end, else
/// one for each slot.
fn events(
    problem: &Problem<'_>,
    job: usize,
    unit: i64,
    runs: &[i64],
    levels: usize,
) -> (Vec<Event>, Vec<Phase>) {
    let it = &problem.jobs[job];
    let mach = &problem.machines[it.machine];
    let latest = mach.shows.iter().map(|&show| problem.shows[show].ends).max().unwrap_or(i64::MIN);
    let holds = it.slots.iter().all(|chance| it.expiry(problem.benches[chance.slot].ends) >= latest);
    let mut phases = vec![Phase { offset: it.since, expiry: it.first_expiry(), from: 0 }];
    if holds {
        phases.push(Phase { offset: 0, expiry: i64::MAX, from: 0 });
    }
    let mut events = Vec::with_capacity(mach.shows.len() + it.slots.len());
    let mut slots = it.slots.iter().enumerate().peekable();
    let mut slot_event = |events: &mut Vec<Event>, at: usize| {
        let chance = &it.slots[at];
        let phase = if holds { 1 } else { 1 + at };
        if !holds {
            let expiry = it.expiry(problem.benches[chance.slot].ends);
            phases.push(Phase { offset: 0, expiry, from: events.len() + 1 });
        }
        events.push(Event::Slot { at, cost: chance.cost, phase, fixed: chance.fixed });
    };
    for (at, &show) in mach.shows.iter().enumerate() {
        let show = &problem.shows[show];
        while let Some((slot, _)) =
            slots.next_if(|(_, chance)| problem.benches[chance.slot].starts <= show.starts)
        {
            slot_event(&mut events, slot);
        }
        let steps = usize::try_from(show.run / unit).unwrap_or(0).min(levels);
        events.push(Event::Run {
            at,
            stoppage: show.stoppage,
            table: runs.binary_search(&show.run).expect("every run of the machine is in the list"),
            steps: if levels == 1 { 0 } else { steps },
            run: show.run,
            ends: show.ends,
            fixed: problem.able(it.machine, at).fixed,
        });
    }
    for (slot, _) in slots {
        slot_event(&mut events, slot);
    }
    (events, phases)
}
