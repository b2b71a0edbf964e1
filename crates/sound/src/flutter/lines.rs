//! Steady lines in the spectrum of speed deviation: their rates and depths, and the noise they stand in.

use super::floor::Floors;
use super::meter::{kept_share, straight};
use crate::dsp::fir::sinc;
use crate::dsp::spectrum::{Average, Density, HANN_NOISE_BINS, hann};
use std::f64::consts::TAU;

/// Slower than this is drift.
pub(crate) const SLOWEST_HZ: f64 = 0.1;
/// At most so many lines.
const MOST_LINES: usize = 32;
/// Shallower lines are of no use to anyone, whatever they are: 0.002 % peak.
const SHALLOWEST: f64 = 2.0e-5;

/// One line.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line {
    pub hz: f64,
    /// Standard deviation of the rate.
    pub hz_deviation: f64,
    /// Peak deviation of speed, as a fraction.
    pub depth: f64,
    pub depth_deviation: f64,
    phase: f64,
}

/// What the spectrum says.
pub(crate) struct Analysis {
    pub lines: Vec<Line>,
    /// Density of the speed deviation as measured, lines and all.
    pub density: Density,
    /// Lines closer together than this cannot be told apart.
    pub resolution_hz: f64,
}

/// The speed signal that is to be searched.
pub(crate) struct Signal<'a> {
    pub window: &'a [f32],
    pub mask: &'a [bool],
    pub average: Option<Average>,
    pub rate_hz: f64,
    pub band_hz: f64,
}

/// Searches the whole signal where it is short, and the average of its windows where it is long.
pub(crate) fn analyse(signal: Signal<'_>) -> Analysis {
    match signal.average {
        Some(average) if average.windows > 0 => analyse_average(average, signal.rate_hz, signal.band_hz),
        _ => Short::new(signal.window, signal.mask, signal.rate_hz, signal.band_hz).analyse(),
    }
}

/// The loss of taking phase step by step.
fn step_loss(hz: f64, signal_hz: f64) -> f64 {
    sinc(hz / signal_hz)
}

fn undo_step_loss(density: &mut Density, signal_hz: f64) {
    let bin_hz = density.bin_hz;
    for (bin, power) in density.power.iter_mut().enumerate() {
        *power /= step_loss(bin as f64 * bin_hz, signal_hz).powi(2);
    }
}

fn search_range(density: &Density, band_hz: f64) -> (usize, usize) {
    // Below three bins a line cannot be told from drift.
    let first = density.bin(SLOWEST_HZ).max(3);
    (first, density.bin(band_hz * 0.95).max(first))
}

/// A recording that fits into one window: lines are found one by one, strongest first, each fitted and taken away
/// before the next is looked for, and all fitted again together.
struct Short {
    /// What is left of the signal once the lines found are taken away; nought where it is broken.
    rest: Vec<f64>,
    /// Window times mask.
    weight: Vec<f64>,
    signal_hz: f64,
    band_hz: f64,
    /// Sum of the weights, and of the weights times time squared.
    sums: (f64, f64),
    /// Share of samples that are good.
    kept: f64,
}

impl Short {
    fn new(window: &[f32], mask: &[bool], signal_hz: f64, band_hz: f64) -> Self {
        let length = window.len() - window.len() % 256;
        let (window, mask) = (&window[..length], &mask[..length]);
        let trend = straight(window, mask);
        let rest = window
            .iter()
            .zip(mask)
            .enumerate()
            .map(|(n, (x, m))| if *m { f64::from(x - trend.at(n)) } else { 0.0 });
        let weight: Vec<f64> =
            hann(length).iter().zip(mask).map(|(w, m)| if *m { f64::from(*w) } else { 0.0 }).collect();
        let middle = length as f64 / 2.0;
        let sums = weight
            .iter()
            .enumerate()
            .fold((0.0, 0.0), |(s, m), (n, w)| (s + w, m + w * ((n as f64 - middle) / signal_hz).powi(2)));
        Self { rest: rest.collect(), weight, signal_hz, band_hz, sums, kept: kept_share(mask) }
    }

    fn seconds(&self) -> f64 {
        self.rest.len() as f64 / self.signal_hz
    }

    fn density(&self) -> Density {
        let mut average = Average::new(self.rest.len(), self.signal_hz);
        let gain = (1.0 / self.kept).sqrt();
        average.add(self.rest.iter().map(|x| (x * gain) as f32));
        let mut density = average.finish();
        undo_step_loss(&mut density, self.signal_hz);
        density
    }

    fn analyse(mut self) -> Analysis {
        let resolution_hz = 2.0 / self.seconds().max(1e-3);
        if self.rest.is_empty() || self.sums.0 <= 0.0 {
            let density = Density { bin_hz: 1.0, windows: 0, power: Vec::new() };
            return Analysis { lines: Vec::new(), density, resolution_hz };
        }
        let density = self.density();
        let mut lines: Vec<Line> = Vec::new();
        let mut refused: Vec<f64> = Vec::new();
        let mut now = density.clone();
        while lines.len() < MOST_LINES && refused.len() < MOST_LINES {
            let (first, last) = search_range(&now, self.band_hz);
            let floors = Floors::new(&now, first, last);
            let Some((bin, floor)) = strongest(&now, &floors, first, last, &lines, &refused, resolution_hz)
            else {
                break;
            };
            let found = self.fit(bin as f64 * now.bin_hz, floor);
            if is_skirt(&found, &lines, self.seconds()) || found.depth < SHALLOWEST {
                refused.push(found.hz);
                refused.push(bin as f64 * now.bin_hz);
                continue;
            }
            self.add(&found, -1.0);
            lines.push(found);
            now = self.density();
        }
        self.fit_together(&mut lines);
        self.state_uncertainty(&mut lines, &now);
        lines.sort_by(|a, b| a.hz.total_cmp(&b.hz));
        Analysis { lines, density, resolution_hz }
    }

    /// Every line once more, with all others taken away, twice over.
    fn fit_together(&mut self, lines: &mut [Line]) {
        let rounds = if lines.len() > 1 { 3 } else { 0 };
        for _ in 0..rounds {
            for line in lines.iter_mut() {
                self.add(line, 1.0);
                *line = self.fit(line.hz, 0.0);
                self.add(line, -1.0);
            }
        }
    }

    fn state_uncertainty(&self, lines: &mut [Line], rest: &Density) {
        let (first, last) = search_range(rest, self.band_hz);
        let floors = Floors::new(rest, first, last);
        for line in lines {
            let density = floors.at(rest.bin(line.hz)).density;
            (line.hz_deviation, line.depth_deviation) =
                scatter(density, line.depth, self.seconds() * self.kept);
        }
    }

    /// Finds the rate at which the weighted sum is largest, near `hz`, and the line's amplitude and phase there.
    fn fit(&self, hz: f64, floor: f64) -> Line {
        let mut hz = hz;
        let mut sum = (0.0, 0.0);
        for _ in 0..5 {
            let (zeroth, first) = self.moments(hz);
            sum = zeroth;
            // With the window's second moment M: X1/X0 = j (w0 - w) M / sum of weights.
            let size = zeroth.0 * zeroth.0 + zeroth.1 * zeroth.1;
            let slope = (first.1 * zeroth.0 - first.0 * zeroth.1) / size.max(f64::MIN_POSITIVE);
            let step = slope * self.sums.0 / self.sums.1 / TAU;
            let step = step.clamp(-1.0 / self.seconds(), 1.0 / self.seconds());
            hz += step;
            if step.abs() < 1e-7 {
                break;
            }
        }
        let loss = step_loss(hz, self.signal_hz);
        let depth = 2.0 * sum.0.hypot(sum.1) / self.sums.0 / loss;
        let (hz_deviation, depth_deviation) = scatter(floor, depth, self.seconds() * self.kept);
        Line { hz, hz_deviation, depth, depth_deviation, phase: sum.1.atan2(sum.0) }
    }

    /// Weighted sums of the rest times `exp(-j w t)`, and the same times t; time counts from the middle.
    fn moments(&self, hz: f64) -> ((f64, f64), (f64, f64)) {
        let middle = self.rest.len() as f64 / 2.0;
        let (mut zeroth, mut first) = ((0.0, 0.0), (0.0, 0.0));
        let mut turning = Turning::new(hz / self.signal_hz, -middle);
        for (n, (x, w)) in self.rest.iter().zip(&self.weight).enumerate() {
            let (c, s) = turning.next();
            let (re, im) = (x * w * c, -x * w * s);
            let t = (n as f64 - middle) / self.signal_hz;
            zeroth = (zeroth.0 + re, zeroth.1 + im);
            first = (first.0 + re * t, first.1 + im * t);
        }
        (zeroth, first)
    }

    /// Adds a line to the rest so many times.
    fn add(&mut self, line: &Line, times: f64) {
        let middle = self.rest.len() as f64 / 2.0;
        let depth = line.depth * step_loss(line.hz, self.signal_hz) * times;
        let mut turning =
            Turning::new(line.hz / self.signal_hz, -middle + line.phase / TAU * self.signal_hz / line.hz);
        for (x, w) in self.rest.iter_mut().zip(&self.weight) {
            let (c, _) = turning.next();
            if *w > 0.0 {
                *x += depth * c;
            }
        }
    }
}

/// Cosine and sine of a steadily growing angle, by turning a unit vector and setting it right now and then.
struct Turning {
    cycles: f64,
    at: f64,
    now: (f64, f64),
    step: (f64, f64),
    left: u32,
}

impl Turning {
    fn new(cycles: f64, at: f64) -> Self {
        let step = (TAU * cycles).sin_cos();
        Self { cycles, at, now: (1.0, 0.0), step: (step.1, step.0), left: 0 }
    }

    #[inline]
    fn next(&mut self) -> (f64, f64) {
        if self.left == 0 {
            let (s, c) = (TAU * (self.cycles * self.at).fract()).sin_cos();
            self.now = (c, s);
            self.left = 256;
        }
        let (c, s) = self.now;
        self.now = (c * self.step.0 - s * self.step.1, s * self.step.0 + c * self.step.1);
        self.at += 1.0;
        self.left -= 1;
        (c, s)
    }
}

/// Standard deviations of rate and depth of a line in noise of this density.
///
/// # Reference
/// Rife and Boorstyn's bounds for a single sine in white noise, widened by what the Hann window gives away (a factor of
/// 1.5 in depth and 1.9 in rate, in power; from memory).
fn scatter(density: f64, depth: f64, seconds: f64) -> (f64, f64) {
    let depth_variance = HANN_NOISE_BINS * density / seconds;
    let rate_variance =
        1.9 * 3.0 * density / (std::f64::consts::PI.powi(2) * depth * depth * seconds.powi(3));
    (rate_variance.sqrt(), depth_variance.sqrt())
}

/// The bin that stands furthest above its threshold, if any does.
fn strongest(
    density: &Density,
    floors: &Floors,
    first: usize,
    last: usize,
    lines: &[Line],
    refused: &[f64],
    resolution_hz: f64,
) -> Option<(usize, f64)> {
    let taken = |hz: f64| {
        lines.iter().map(|l| l.hz).chain(refused.iter().copied()).any(|t| (t - hz).abs() < resolution_hz)
    };
    let mut best: Option<(usize, f64, f64)> = None;
    for bin in first..=last {
        let (Some(&power), floor) = (density.power.get(bin), floors.at(bin)) else { continue };
        let over = power / (floor.density * floor.threshold).max(f64::MIN_POSITIVE);
        if over > 1.0 && best.is_none_or(|(_, most, _)| power > most) && !taken(bin as f64 * density.bin_hz) {
            best = Some((bin, power, floor.density));
        }
    }
    best.map(|(bin, _, floor)| (bin, floor))
}

/// What is left beside a strong line that is not quite steady is its skirt and no line of its own.
fn is_skirt(found: &Line, lines: &[Line], seconds: f64) -> bool {
    lines.iter().any(|line| {
        let bins = (line.hz - found.hz).abs() * seconds;
        (bins < 6.0 && found.depth < 0.15 * line.depth) || (bins < 30.0 && found.depth < 0.02 * line.depth)
    })
}

/// A long recording: lines are peaks of the averaged spectrum.
fn analyse_average(average: Average, signal_hz: f64, band_hz: f64) -> Analysis {
    let seconds = average.len() as f64 / signal_hz;
    let mut density = average.finish();
    undo_step_loss(&mut density, signal_hz);
    let (first, last) = search_range(&density, band_hz);
    let floors = Floors::new(&density, first, last);
    let resolution_hz = 2.0 / seconds;
    let total = seconds * (density.windows as f64 + 1.0) / 2.0;
    let mut lines: Vec<Line> = Vec::new();
    let mut refused: Vec<f64> = Vec::new();
    let mut rest = density.clone();
    while lines.len() < MOST_LINES && refused.len() < 4 * MOST_LINES {
        let found = strongest(&rest, &floors, first, last, &lines, &refused, resolution_hz);
        let Some((bin, floor)) = found else { break };
        let line = peak(&rest, bin, floor, total);
        if is_skirt(&line, &lines, seconds) || line.depth < SHALLOWEST {
            refused.push(line.hz);
            refused.push(bin as f64 * density.bin_hz);
        } else {
            take_away(&mut rest, &line);
            lines.push(line);
        }
    }
    lines.sort_by(|a, b| a.hz.total_cmp(&b.hz));
    Analysis { lines, density, resolution_hz }
}

/// Takes what a steady line puts into every bin out of a Hann spectrum.
fn take_away(density: &mut Density, line: &Line) {
    let scale = line.depth * line.depth / 2.0 / (HANN_NOISE_BINS * density.bin_hz);
    for (bin, power) in density.power.iter_mut().enumerate() {
        let off = bin as f64 - line.hz / density.bin_hz;
        // The transform of the Hann window: sinc(x) / (1 - x^2), one half at x = 1.
        let kernel = if (off.abs() - 1.0).abs() < 1e-6 { 0.5 } else { sinc(off) / (1.0 - off * off) };
        *power = (*power - scale * kernel * kernel).max(0.0);
    }
}

/// Rate and depth of the line at a peak bin of an averaged Hann spectrum.
///
/// # Method
/// For a line between two bins of a Hann window the amplitudes of those bins stand as `(1 + d) / (2 - d)`, with `d` the
/// distance from the larger; its power is the sum over the bins of the main lobe less the floor.
fn peak(density: &Density, bin: usize, floor: f64, total_seconds: f64) -> Line {
    let power = |b: usize| density.power.get(b).map_or(0.0, |p| (p - floor).max(0.0));
    let (before, here, after) = (power(bin - 1), power(bin), power(bin + 1));
    let (side, sign) = if after > before { (after, 1.0) } else { (before, -1.0) };
    let ratio = (side / here.max(f64::MIN_POSITIVE)).sqrt();
    let shift = sign * ((2.0 * ratio - 1.0) / (1.0 + ratio)).clamp(-0.5, 1.0);
    let lobe: f64 = (bin.saturating_sub(3)..=bin + 3).map(power).sum::<f64>() * density.bin_hz;
    let depth = (2.0 * lobe).sqrt();
    let hz = (bin as f64 + shift) * density.bin_hz;
    let (hz_deviation, depth_deviation) = scatter(floor, depth, total_seconds);
    // Averaging powers forgets the phase between windows, so the rate gains only from the length of one window.
    let one_window = density.bin_hz.recip();
    let hz_deviation = hz_deviation * (total_seconds / one_window).max(1.0) + 0.01 * density.bin_hz;
    Line { hz, hz_deviation, depth, depth_deviation, phase: 0.0 }
}
