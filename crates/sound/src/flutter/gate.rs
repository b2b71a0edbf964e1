//! Which parts of a recording are steady tone and which must be left out: silence, noise, drop-outs, splices,
//! run-up and run-down. Works on cells of 20 ms and looks one second ahead.

use super::plan::Plan;
use std::collections::VecDeque;

/// Why a cell is no steady tone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    /// The level fell away.
    Quiet,
    /// Something is heard but not the tone.
    Noise,
    /// The phase jumped.
    Jump,
    /// The tone is there but far off its speed.
    OffSpeed,
    /// In order itself, but next to a cell that is not.
    Beside,
}

/// One cell of the speed signal.
#[derive(Debug, Clone)]
pub(crate) struct Cell {
    /// Deviation of speed from the oscillator, as a fraction.
    pub deviation: Vec<f32>,
    pub mean: f64,
    /// Amplitude of the tone relative to the level found at first.
    pub level: f64,
    /// Mean square of all sound.
    pub power: f64,
    pub fault: Option<Fault>,
}

/// Below this share of its usual level the tone has dropped out (9 dB). Amplitude modulation that a machine can give
/// stays above; a splice and a drop-out do not.
const DIP: f32 = 0.355;
/// A tone that stays quieter than it was, but steady, is taken as the new level after so many cells.
const NEW_LEVEL_CELLS: usize = 25;
/// But not below this share of the level found at first (30 dB).
const FAINTEST: f64 = 0.03;
/// Noise alone wanders over more of the band than this share of it; a tone does not.
const WANDER: f64 = 0.25;
/// A step that stands out so many times above the usual ones is a jump of phase.
const JUMP: f64 = 9.0;
/// And at least so large, as a fraction of speed.
const SMALLEST_JUMP: f64 = 1.5e-3;
/// Further off than this and the machine is starting, stopping or standing.
const OFF_SPEED: f64 = 0.03;
/// Back within this and it runs again.
const ON_SPEED: f64 = 0.003;
/// Cells to each side of a faulty one that its filters' ringing reaches: with the cell itself 100 ms.
const GUARD: usize = 2;
/// Cells left out after a run-up, while the last of it dies away.
const SETTLE: usize = 25;
/// A machine that keeps another speed for so many cells runs at that speed.
const NEW_SPEED_CELLS: usize = 100;
/// Cells that wait, so that a run-down can still be taken back.
const AHEAD: usize = 50;

/// Cuts the speed signal into cells and judges them.
pub(crate) struct Gate<'p> {
    plan: &'p Plan,
    cell: Vec<f32>,
    sizes: Vec<f32>,
    waiting: VecDeque<Cell>,
    powers: VecDeque<f32>,
    /// Usual size of the complex samples.
    usual: f64,
    quiet_but_steady: usize,
    /// Usual unevenness from sample to sample, squared.
    unevenness: Option<f64>,
    /// Slow mean of the deviation over good cells.
    speed: Option<f64>,
    off_speed: bool,
    /// While off speed: a slow mean of the deviation, and how many cells in a row stayed close to it.
    settling: (f64, usize),
    guard_left: usize,
    /// The level found at first.
    first: f64,
}

impl<'p> Gate<'p> {
    pub fn new(plan: &'p Plan) -> Self {
        // A real tone of amplitude A is a complex one of A/2 once it is mixed down.
        let first = plan.amplitude / 2.0;
        Self {
            plan,
            cell: Vec::new(),
            sizes: Vec::new(),
            waiting: VecDeque::new(),
            powers: VecDeque::new(),
            usual: first,
            quiet_but_steady: 0,
            unevenness: None,
            speed: None,
            off_speed: false,
            settling: (0.0, 0),
            guard_left: 0,
            first,
        }
    }

    /// Takes steps of phase, sizes and powers; hands on every cell whose verdict is final.
    pub fn feed(&mut self, steps: &[f32], sizes: &[f32], powers: &[f32], mut each: impl FnMut(&Cell)) {
        self.powers.extend(powers);
        let scale = (1.0 / self.plan.radians()) as f32;
        let whole = self.plan.cell;
        let (mut steps, mut sizes) = (steps, sizes);
        while !steps.is_empty() {
            let n = steps.len().min(whole - self.cell.len());
            self.cell.extend(steps[..n].iter().map(|s| s * scale));
            self.sizes.extend_from_slice(&sizes[..n]);
            (steps, sizes) = (&steps[n..], &sizes[n..]);
            if self.cell.len() == whole {
                self.complete();
                while self.waiting.len() > AHEAD {
                    if let Some(cell) = self.waiting.pop_front() {
                        each(&cell);
                    }
                }
            }
        }
    }

    /// Hands on what still waits.
    pub fn finish(mut self, mut each: impl FnMut(&Cell)) {
        // The last cells ring with the end of the recording.
        self.mark_back(GUARD);
        self.waiting.iter().for_each(&mut each);
    }

    fn complete(&mut self) {
        let deviation = std::mem::replace(&mut self.cell, Vec::with_capacity(self.plan.cell));
        let mean = deviation.iter().map(|&d| f64::from(d)).sum::<f64>() / deviation.len() as f64;
        let square = self.sizes.iter().map(|&r| f64::from(r * r)).sum::<f64>() / self.sizes.len() as f64;
        let size = square.sqrt();
        let power = f64::from(self.powers.pop_front().unwrap_or_default());
        let fault = self.judge(&deviation, mean, size);
        self.sizes.clear();
        self.waiting.push_back(Cell { deviation, mean, level: size / self.first, power, fault: None });
        match fault {
            Some(fault) => {
                self.mark_back(GUARD);
                if fault == Fault::OffSpeed {
                    self.take_back_run_down();
                }
                self.guard_left = if fault == Fault::OffSpeed { SETTLE } else { GUARD };
                if let Some(cell) = self.waiting.back_mut() {
                    cell.fault = Some(fault);
                }
            }
            None if self.guard_left > 0 => {
                self.guard_left -= 1;
                self.mark_back(1);
            }
            None => self.learn(mean, size),
        }
    }

    /// Marks the latest cells that are in order as standing beside a fault.
    fn mark_back(&mut self, cells: usize) {
        for cell in self.waiting.iter_mut().rev().take(cells) {
            cell.fault.get_or_insert(Fault::Beside);
        }
    }

    fn take_back_run_down(&mut self) {
        let speed = self.speed.unwrap_or_default();
        for cell in self.waiting.iter_mut().rev() {
            if cell.fault.is_none() && (cell.mean - speed).abs() < ON_SPEED {
                break;
            }
            cell.fault.get_or_insert(Fault::OffSpeed);
        }
        self.mark_back(GUARD);
    }

    fn judge(&mut self, deviation: &[f32], mean: f64, size: f64) -> Option<Fault> {
        let spread = (deviation.iter().map(|&d| (f64::from(d) - mean).powi(2)).sum::<f64>()
            / deviation.len() as f64)
            .sqrt();
        let reach = self.plan.band_hz / self.plan.mix_hz;
        let steady = spread < WANDER * reach && mean.abs() < 0.9 * reach;
        let quiet =
            size < f64::from(DIP) * self.usual || self.sizes.iter().any(|&r| r < DIP * self.usual as f32);
        if quiet && !self.is_new_level(steady, size) {
            return Some(Fault::Quiet);
        }
        if !steady {
            return Some(Fault::Noise);
        }
        let off = (mean - self.speed.unwrap_or_default()).abs();
        if (off > OFF_SPEED || (self.off_speed && off > ON_SPEED)) && !self.is_new_speed(mean) {
            self.off_speed = true;
            return Some(Fault::OffSpeed);
        }
        self.off_speed = false;
        self.jumps(deviation).then_some(Fault::Jump)
    }

    /// True once a quieter tone has stayed long enough.
    fn is_new_level(&mut self, steady: bool, size: f64) -> bool {
        self.quiet_but_steady =
            if steady && size > FAINTEST * self.first { self.quiet_but_steady + 1 } else { 0 };
        if self.quiet_but_steady < NEW_LEVEL_CELLS {
            return false;
        }
        self.quiet_but_steady = 0;
        self.usual = size;
        true
    }

    /// True once another speed has been kept long enough.
    fn is_new_speed(&mut self, mean: f64) -> bool {
        let (slow, kept) = self.settling;
        let close = (mean - slow).abs() < ON_SPEED;
        self.settling = (slow + (mean - slow) * 0.05, if close { kept + 1 } else { 0 });
        if self.settling.1 < NEW_SPEED_CELLS {
            return false;
        }
        self.speed = Some(slow);
        self.settling.1 = 0;
        true
    }

    /// Whether one sample stands out from those two milliseconds before and after it, as no flutter does.
    fn jumps(&mut self, deviation: &[f32]) -> bool {
        const LAG: usize = 4;
        let mut largest = 0.0_f64;
        let mut sum = 0.0;
        for window in deviation.windows(2 * LAG + 1) {
            let bend = f64::from(window[LAG]) - 0.5 * f64::from(window[0] + window[2 * LAG]);
            largest = largest.max(bend.abs());
            sum += bend * bend;
        }
        let mean = sum / deviation.len() as f64;
        let usual = self.unevenness.unwrap_or(mean);
        let stands_out = largest > SMALLEST_JUMP && largest > JUMP * usual.sqrt();
        if stands_out {
            // A scrape that begins and stays is learned, slowly, and is no row of splices.
            self.unevenness = Some(usual * 1.1);
        } else {
            self.unevenness = Some(usual + (mean - usual) * 0.05);
        }
        stands_out
    }

    /// Follows slow changes of level and speed over about a second.
    fn learn(&mut self, mean: f64, size: f64) {
        self.quiet_but_steady = 0;
        self.usual += (size - self.usual) * 0.02;
        let speed = self.speed.unwrap_or(mean);
        self.speed = Some(speed + (mean - speed) * 0.02);
    }
}
