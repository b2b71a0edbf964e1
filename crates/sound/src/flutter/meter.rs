//! Everything that is gathered while the speed signal goes by, in a fixed amount of memory.

use super::gate::{Cell, Fault};
use super::joins::{Join, Joins};
use super::plan::Plan;
use super::weighted::{Chain, Halver, Readings};
use crate::dsp::spectrum::Average;

/// Longest window of the line spectrum: it tells lines 0.016 Hz apart.
const LONGEST_WINDOW_SECONDS: f64 = 128.0;
/// Points of the speed curve; when full, neighbours are merged.
const CURVE_POINTS: usize = 2400;
/// Breaks reported one by one.
const MOST_BREAKS: usize = 200;
/// The opening is kept cell by cell, so that the run-up can be timed.
const OPENING_SECONDS: f64 = 60.0;
/// Span of the batches whose scatter gives the uncertainty of the mean speed.
const BATCH_SECONDS: f64 = 3.0;

/// A stretch that was left out.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Break {
    pub from: u64,
    pub to: u64,
    pub fault: Fault,
    /// Cells whose level was lost.
    pub quiet: u64,
    /// Whether the wave went on as if nothing had been; known once something has come after it.
    pub join: Option<Join>,
}

/// One point of the speed curve.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Point {
    pub cells: u32,
    pub good: u32,
    pub sum: f64,
    pub low: f64,
    pub high: f64,
    pub quasi_peak: f64,
}

/// What is known of one cell of the opening.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Opening {
    pub power: f32,
    pub mean: f32,
    pub fault: Option<Fault>,
}

/// Sums for a straight line through deviation against time, over good cells.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Slope {
    pub n: f64,
    pub t: f64,
    pub d: f64,
    pub tt: f64,
    pub td: f64,
}

impl Slope {
    fn add(&mut self, t: f64, d: f64) {
        self.n += 1.0;
        self.t += t;
        self.d += d;
        self.tt += t * t;
        self.td += t * d;
    }

    pub fn mean(&self) -> f64 {
        self.d / self.n.max(1.0)
    }

    /// Deviation for each second.
    pub fn slope(&self) -> f64 {
        let n = self.n.max(1.0);
        let spread = self.tt - self.t * self.t / n;
        if spread > 0.0 { (self.td - self.t * self.d / n) / spread } else { 0.0 }
    }
}

/// The gatherer.
pub(crate) struct Meter<'p> {
    plan: &'p Plan,
    halver: Halver,
    chain: Chain,
    cells: u64,
    good_cells: u64,
    fill: f64,
    first_good: Option<u64>,
    last_good: u64,
    breaks: Vec<Break>,
    joins: Joins,
    unlisted_breaks: usize,
    broken_cells: [u64; 4],
    curve: Vec<Point>,
    cells_for_point: u32,
    opening: Vec<Opening>,
    slope: Slope,
    batches: Vec<(f64, f64)>,
    batch: (f64, f64, u32),
    window: Vec<f32>,
    mask: Vec<bool>,
    window_capacity: usize,
    average: Option<Average>,
    levels: (f64, f64),
}

/// What was gathered.
pub(crate) struct Gathered {
    pub good_cells: u64,
    pub first_good: Option<u64>,
    pub last_good: u64,
    pub breaks: Vec<Break>,
    pub unlisted_breaks: usize,
    /// Cells left out between the first and the last good one: quiet, noise, jump, off speed.
    pub broken_cells: [u64; 4],
    pub curve: Vec<Point>,
    pub opening: Vec<Opening>,
    pub slope: Slope,
    /// Time and mean deviation of each batch.
    pub batches: Vec<(f64, f64)>,
    pub readings: Readings,
    /// The last window of the speed signal: all of it, where the recording is short.
    pub window: Vec<f32>,
    pub mask: Vec<bool>,
    /// Averaged windows, where the recording is long.
    pub average: Option<Average>,
    /// Mean amplitude of the tone over good cells, relative to the level found at first.
    pub level: f64,
}

impl<'p> Meter<'p> {
    pub fn new(plan: &'p Plan) -> Self {
        // An even number with small factors, for the transform.
        let window_capacity = ((plan.signal_hz * LONGEST_WINDOW_SECONDS / 4096.0).round() as usize) * 4096;
        Self {
            plan,
            halver: Halver::new(plan.signal_hz),
            chain: Chain::new(plan.signal_hz / 2.0),
            cells: 0,
            good_cells: 0,
            fill: 0.0,
            first_good: None,
            last_good: 0,
            breaks: Vec::new(),
            joins: Joins::new(plan.mix_hz * plan.cell_seconds()),
            unlisted_breaks: 0,
            broken_cells: [0; 4],
            curve: Vec::with_capacity(CURVE_POINTS),
            cells_for_point: 5,
            opening: Vec::new(),
            slope: Slope::default(),
            batches: Vec::new(),
            batch: (0.0, 0.0, 0),
            window: Vec::new(),
            mask: Vec::new(),
            window_capacity,
            average: None,
            levels: (0.0, 0.0),
        }
    }

    /// Takes the next judged cell.
    pub fn cell(&mut self, cell: &Cell) {
        let good = cell.fault.is_none();
        self.note_opening(cell);
        self.joins.cell(cell.mean, good);
        self.note_break(cell.fault);
        self.judge_breaks(false);
        if good {
            self.note_good(cell);
        }
        self.point(cell, good);
        let fill = self.fill as f32;
        let samples = cell.deviation.iter().map(|&d| if good { d } else { fill });
        let point = self.curve.last_mut();
        let mut highest = 0.0_f64;
        let chain = &mut self.chain;
        self.halver
            .feed(samples.clone(), good, |x, good| chain.feed(x, good, &mut |r| highest = highest.max(r)));
        if let Some(point) = point {
            point.quasi_peak = point.quasi_peak.max(highest);
        }
        if self.first_good.is_some() {
            self.window.extend(samples);
            self.mask.resize(self.window.len(), good);
            self.full_window();
        }
        self.cells += 1;
    }

    pub fn finish(mut self) -> Gathered {
        self.judge_breaks(true);
        let mut highest = 0.0_f64;
        let readings = self.chain.finish(&mut |r| highest = highest.max(r));
        if let Some(point) = self.curve.last_mut() {
            point.quasi_peak = point.quasi_peak.max(highest);
        }
        // What follows the last good cell is no tone.
        let after = self.cells.saturating_sub(self.last_good + 1) as usize * self.plan.cell;
        if self.average.is_none() {
            let keep = self.window.len().saturating_sub(after);
            self.window.truncate(keep);
            self.mask.truncate(keep);
        }
        self.breaks.retain(|b| Some(b.from) > self.first_good && b.to <= self.last_good + 1);
        Gathered {
            good_cells: self.good_cells,
            first_good: self.first_good,
            last_good: self.last_good,
            broken_cells: self.broken_cells,
            breaks: self.breaks,
            unlisted_breaks: self.unlisted_breaks,
            curve: self.curve,
            opening: self.opening,
            slope: self.slope,
            batches: self.batches,
            readings,
            window: self.window,
            mask: self.mask,
            average: self.average,
            level: self.levels.0 / self.levels.1.max(1.0),
        }
    }

    fn note_opening(&mut self, cell: &Cell) {
        if (self.opening.len() as f64) < OPENING_SECONDS / self.plan.cell_seconds() {
            self.opening.push(Opening {
                power: cell.power as f32,
                mean: cell.mean as f32,
                fault: cell.fault,
            });
        }
    }

    fn note_good(&mut self, cell: &Cell) {
        if self.first_good.is_none() {
            self.first_good = Some(self.cells);
            self.fill = cell.mean;
        }
        self.good_cells += 1;
        self.last_good = self.cells;
        self.levels.0 += cell.level;
        self.levels.1 += 1.0;
        // Half a second's memory of the speed, to bridge breaks with.
        self.fill += (cell.mean - self.fill) * 0.04;
        let t = self.cells as f64 * self.plan.cell_seconds();
        self.slope.add(t, cell.mean);
        let (times, sum, count) = &mut self.batch;
        (*times, *sum, *count) = (*times + t, *sum + cell.mean, *count + 1);
        if f64::from(*count) * self.plan.cell_seconds() >= BATCH_SECONDS {
            let n = f64::from(*count);
            self.batches.push((*times / n, *sum / n));
            self.batch = (0.0, 0.0, 0);
        }
    }

    /// Faults after the first good cell are breaks; what comes after the last good one is dropped in the end.
    fn note_break(&mut self, fault: Option<Fault>) {
        let Some(fault) = fault else {
            return self.count_last_break();
        };
        let Some(_) = self.first_good else { return };
        let at = self.cells;
        match self.breaks.last_mut() {
            Some(open) if open.to == at => {
                open.to = at + 1;
                open.quiet += u64::from(fault == Fault::Quiet);
                if open.fault == Fault::Beside {
                    open.fault = fault;
                }
            }
            _ => {
                let quiet = u64::from(fault == Fault::Quiet);
                self.breaks.push(Break { from: at, to: at + 1, fault, quiet, join: None });
            }
        }
    }

    /// Judges the breaks after which enough has come; in the end, all that are left.
    fn judge_breaks(&mut self, all: bool) {
        // Breaks are judged in their order, so only the last ones wait.
        let waiting = self.breaks.iter_mut().rev().take_while(|b| b.join.is_none());
        for one in waiting.filter(|b| all || self.joins.is_ripe(b.to)) {
            one.join = Some(self.joins.judge(one.from, one.to, one.quiet));
        }
    }

    /// A good cell closes a break: now it is known to lie within the tone.
    fn count_last_break(&mut self) {
        let Some(last) = self.breaks.last().copied() else { return };
        if last.to != self.cells {
            return;
        }
        let kind = match last.fault {
            Fault::Quiet => 0,
            Fault::Noise => 1,
            Fault::Jump | Fault::Beside => 2,
            Fault::OffSpeed => 3,
        };
        self.broken_cells[kind] += last.to - last.from;
        if self.breaks.len() > MOST_BREAKS {
            self.breaks.pop();
            self.unlisted_breaks += 1;
        }
    }

    fn point(&mut self, cell: &Cell, good: bool) {
        let full = self.curve.last().is_none_or(|p| p.cells >= self.cells_for_point);
        if full {
            if self.curve.len() == CURVE_POINTS {
                self.curve = self.curve.as_chunks::<2>().0.iter().map(|[a, b]| a.merged(*b)).collect();
                self.cells_for_point *= 2;
            }
            self.curve.push(Point::default());
        }
        if let Some(point) = self.curve.last_mut() {
            point.add(cell.mean, good);
        }
    }

    /// A full window goes into the average; its later half begins the next one.
    fn full_window(&mut self) {
        let length = self.window_capacity;
        if self.window.len() < length {
            return;
        }
        let average = self.average.get_or_insert_with(|| Average::new(length, self.plan.signal_hz));
        let trend = straight(&self.window[..length], &self.mask[..length]);
        let scale = kept_share(&self.mask[..length]);
        // Windows that are mostly breaks would only dilute the average.
        if scale > 0.5 {
            let gain = (1.0 / scale).sqrt() as f32;
            let samples = self.window[..length].iter().zip(&self.mask).enumerate();
            average.add(samples.map(|(n, (x, good))| if *good { (x - trend.at(n)) * gain } else { 0.0 }));
        }
        self.window.drain(..length / 2);
        self.mask.drain(..length / 2);
    }
}

impl Point {
    fn add(&mut self, mean: f64, good: bool) {
        self.cells += 1;
        if !good {
            return;
        }
        if self.good == 0 {
            (self.low, self.high) = (mean, mean);
        }
        self.good += 1;
        self.sum += mean;
        self.low = self.low.min(mean);
        self.high = self.high.max(mean);
    }

    fn merged(self, other: Self) -> Self {
        let (low, high) = match (self.good, other.good) {
            (_, 0) => (self.low, self.high),
            (0, _) => (other.low, other.high),
            _ => (self.low.min(other.low), self.high.max(other.high)),
        };
        Self {
            cells: self.cells + other.cells,
            good: self.good + other.good,
            sum: self.sum + other.sum,
            low,
            high,
            quasi_peak: self.quasi_peak.max(other.quasi_peak),
        }
    }
}

/// A straight line through samples.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Straight {
    start: f64,
    slope: f64,
}

impl Straight {
    pub fn at(self, n: usize) -> f32 {
        (self.start + self.slope * n as f64) as f32
    }
}

/// The straight line nearest to the good samples.
pub(crate) fn straight(samples: &[f32], mask: &[bool]) -> Straight {
    let mut sums = Slope::default();
    for (n, (x, _)) in samples.iter().zip(mask).enumerate().filter(|(_, (_, good))| **good) {
        sums.add(n as f64, f64::from(*x));
    }
    let slope = sums.slope();
    Straight { start: sums.mean() - slope * sums.t / sums.n.max(1.0), slope }
}

/// Share of the samples that are good.
pub(crate) fn kept_share(mask: &[bool]) -> f64 {
    mask.iter().filter(|m| **m).count() as f64 / mask.len().max(1) as f64
}
