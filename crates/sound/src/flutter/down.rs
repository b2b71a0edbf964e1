//! From samples to the tone at rest: two stages of filtering and decimation.
//!
//! The kernels must be inlined into the closures that `pulp` compiles for the processor at hand; otherwise they would be
//! compiled for the oldest one and take three times as long.
#![expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]

use super::plan::{Plan, SECOND_STEP, TURN};
use pulp::{Arch, Simd, WithSimd};
use std::f64::consts::TAU;

/// Samples that are worked on side by side.
pub(crate) const LANES: usize = 16;

/// Complex samples, parts apart so that they can be worked on side by side.
#[derive(Debug, Default, Clone)]
pub(crate) struct Pairs {
    pub re: Vec<f32>,
    pub im: Vec<f32>,
}

/// What the first stage hands on for one block.
#[derive(Debug, Default)]
pub(crate) struct Block {
    pub pairs: Pairs,
    /// Mean square of the samples in each cell that was completed.
    pub powers: Vec<f32>,
}

/// First stage: real samples at the recording's rate to complex ones at about 4 kHz.
pub(crate) struct First<'p> {
    plan: &'p Plan,
    line: Vec<f32>,
    /// Samples of `line` that the next output no longer needs.
    start: usize,
    /// Where the oscillator stands, in table steps.
    phase: usize,
    table: Vec<(f32, f32)>,
    /// Samples that wait until their cell is complete.
    cell: f64,
    in_cell: usize,
}

impl<'p> First<'p> {
    pub fn new(plan: &'p Plan) -> Self {
        let table = (0..TURN)
            .map(|k| {
                let angle = -TAU * k as f64 / TURN as f64;
                (angle.cos() as f32, angle.sin() as f32)
            })
            .collect();
        Self { plan, line: Vec::new(), start: 0, phase: 0, table, cell: 0.0, in_cell: 0 }
    }

    /// Takes the next samples and gives what they complete.
    pub fn feed(&mut self, samples: &[f32]) -> Block {
        self.line.drain(..self.start);
        self.start = 0;
        self.line.extend_from_slice(samples);
        let mut pairs = Pairs::default();
        let (re, im) = (&self.plan.first.0, &self.plan.first.1);
        let (line, step) = (&self.line, self.plan.step);
        self.start = Arch::new().dispatch(Correlate { line, re, im, step, out: &mut pairs });
        self.turn(&mut pairs);
        Block { pairs, powers: self.powers(samples) }
    }

    fn turn(&mut self, pairs: &mut Pairs) {
        let turns = self.plan.turns % TURN;
        for (re, im) in pairs.re.iter_mut().zip(&mut pairs.im) {
            let (c, s) = self.table[self.phase];
            (*re, *im) = (*re * c - *im * s, *re * s + *im * c);
            self.phase = (self.phase + turns) % TURN;
        }
    }

    fn powers(&mut self, mut samples: &[f32]) -> Vec<f32> {
        let whole = self.plan.cell_frames();
        let mut powers = Vec::with_capacity(samples.len() / whole + 1);
        while !samples.is_empty() {
            let (now, later) = samples.split_at(samples.len().min(whole - self.in_cell));
            self.cell += Arch::new().dispatch(
                #[inline(always)]
                || squares(now),
            );
            self.in_cell += now.len();
            samples = later;
            if self.in_cell == whole {
                powers.push((self.cell / whole as f64) as f32);
                (self.cell, self.in_cell) = (0.0, 0);
            }
        }
        powers
    }
}

/// Sum of squares.
#[inline(always)]
fn squares(samples: &[f32]) -> f64 {
    let mut sums = [0.0_f32; LANES];
    let (chunks, rest) = samples.as_chunks::<LANES>();
    for chunk in chunks {
        for (sum, x) in sums.iter_mut().zip(chunk) {
            *sum += x * x;
        }
    }
    f64::from(sums.iter().sum::<f32>()) + rest.iter().map(|x| f64::from(x * x)).sum::<f64>()
}

/// The largest size.
#[inline(always)]
pub(crate) fn loudest(samples: &[f32]) -> f32 {
    let larger = |most: f32, x: &f32| if x.abs() > most { x.abs() } else { most };
    let mut lanes = [0.0_f32; LANES];
    let (chunks, rest) = samples.as_chunks::<LANES>();
    for chunk in chunks {
        for (most, x) in lanes.iter_mut().zip(chunk) {
            *most = larger(*most, x);
        }
    }
    lanes.iter().chain(rest).fold(0.0, larger)
}

/// First-stage kernel: every `step` samples the sum of samples times taps; returns where the next output begins.
struct Correlate<'a> {
    line: &'a [f32],
    re: &'a [f32],
    im: &'a [f32],
    step: usize,
    out: &'a mut Pairs,
}

impl WithSimd for Correlate<'_> {
    type Output = usize;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> usize {
        // The taps fill whole vectors, two at a time, so nothing is left over.
        let (re_taps, im_taps) = (S::as_simd_f32s(self.re).0, S::as_simd_f32s(self.im).0);
        let mut start = 0;
        while let Some(window) = self.line.get(start..start + self.re.len()) {
            let samples = S::as_simd_f32s(window).0;
            let mut sums = [simd.splat_f32s(0.0); 4];
            for ((x, r), i) in
                samples.chunks_exact(2).zip(re_taps.chunks_exact(2)).zip(im_taps.chunks_exact(2))
            {
                sums[0] = simd.mul_add_e_f32s(x[0], r[0], sums[0]);
                sums[1] = simd.mul_add_e_f32s(x[1], r[1], sums[1]);
                sums[2] = simd.mul_add_e_f32s(x[0], i[0], sums[2]);
                sums[3] = simd.mul_add_e_f32s(x[1], i[1], sums[3]);
            }
            self.out.re.push(simd.reduce_sum_f32s(simd.add_f32s(sums[0], sums[1])));
            self.out.im.push(simd.reduce_sum_f32s(simd.add_f32s(sums[2], sums[3])));
            start += self.step;
        }
        start
    }
}

/// Second stage: complex samples to half the rate, in the final band.
pub(crate) struct Second<'p> {
    taps: &'p [f32],
    line: Pairs,
    start: usize,
}

impl<'p> Second<'p> {
    pub fn new(plan: &'p Plan) -> Self {
        Self { taps: &plan.second, line: Pairs::default(), start: 0 }
    }

    /// Takes first-stage samples and gives what they complete.
    pub fn feed(&mut self, pairs: &Pairs, out: &mut Pairs) {
        self.line.re.drain(..self.start);
        self.line.im.drain(..self.start);
        self.line.re.extend_from_slice(&pairs.re);
        self.line.im.extend_from_slice(&pairs.im);
        out.re.clear();
        out.im.clear();
        let (line, taps) = (&self.line, self.taps);
        self.start = Arch::new().dispatch(Halve { line, taps, out });
    }
}

/// Second-stage kernel: every second pair the sum of pairs times taps; returns where the next output begins.
struct Halve<'a> {
    line: &'a Pairs,
    taps: &'a [f32],
    out: &'a mut Pairs,
}

impl WithSimd for Halve<'_> {
    type Output = usize;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> usize {
        let taps = S::as_simd_f32s(self.taps).0;
        let mut start = 0;
        loop {
            let range = start..start + self.taps.len();
            let (Some(re), Some(im)) = (self.line.re.get(range.clone()), self.line.im.get(range)) else {
                return start;
            };
            let (mut sum_re, mut sum_im) = (simd.splat_f32s(0.0), simd.splat_f32s(0.0));
            for ((r, i), t) in S::as_simd_f32s(re).0.iter().zip(S::as_simd_f32s(im).0).zip(taps) {
                sum_re = simd.mul_add_e_f32s(*r, *t, sum_re);
                sum_im = simd.mul_add_e_f32s(*i, *t, sum_im);
            }
            self.out.re.push(simd.reduce_sum_f32s(sum_re));
            self.out.im.push(simd.reduce_sum_f32s(sum_im));
            start += SECOND_STEP;
        }
    }
}

/// Steps of phase (radians) and amplitudes from complex samples; keeps the last sample for the next block.
#[derive(Debug, Default)]
pub(crate) struct Discriminator {
    last: (f32, f32),
}

impl Discriminator {
    pub fn feed(&mut self, pairs: &Pairs, steps: &mut Vec<f32>, sizes: &mut Vec<f32>) {
        steps.clear();
        sizes.clear();
        let (Some(&re), Some(&im)) = (pairs.re.last(), pairs.im.last()) else { return };
        let last = std::mem::replace(&mut self.last, (re, im));
        Arch::new().dispatch(
            #[inline(always)]
            || phase_steps(last, pairs, steps, sizes),
        );
        // The series serves small steps; large ones, in noise and at splices, take the long way.
        let before = std::iter::once(last).chain(pairs.re.iter().copied().zip(pairs.im.iter().copied()));
        for (n, (re0, im0)) in before.take(steps.len()).enumerate() {
            if steps[n].abs() > SERIES_LIMIT {
                let (re1, im1) = (pairs.re[n], pairs.im[n]);
                steps[n] = (im1 * re0 - re1 * im0).atan2(re1 * re0 + im1 * im0);
            }
        }
    }
}

/// Steps up to this angle are exact to 1e-8 by the series: twice the arc tangent of a quarter.
const SERIES_LIMIT: f32 = 0.489;

#[inline(always)]
fn phase_steps(last: (f32, f32), pairs: &Pairs, steps: &mut Vec<f32>, sizes: &mut Vec<f32>) {
    let count = pairs.re.len();
    steps.resize(count, 0.0);
    sizes.resize(count, 0.0);
    for ((size, re), im) in sizes.iter_mut().zip(&pairs.re).zip(&pairs.im) {
        *size = (re * re + im * im).sqrt();
    }
    let Some((first, rest)) = steps.split_first_mut() else { return };
    *first = small_angle(pairs.re[0], pairs.im[0], last.0, last.1);
    let now = pairs.re[1..].iter().zip(&pairs.im[1..]);
    let before = pairs.re[..count - 1].iter().zip(&pairs.im[..count - 1]);
    for ((step, (re1, im1)), (re0, im0)) in rest.iter_mut().zip(now).zip(before) {
        *step = small_angle(*re1, *im1, *re0, *im0);
    }
}

/// The angle from one complex number to another: `2 atan(y / (x + r))` by its series, right to 1e-8 up to half a
/// radian; far off beyond, but never smaller than the limit.
#[inline(always)]
fn small_angle(re1: f32, im1: f32, re0: f32, im0: f32) -> f32 {
    let x = re1 * re0 + im1 * im0;
    let y = im1 * re0 - re1 * im0;
    let t = y / (x + (x * x + y * y).sqrt() + f32::MIN_POSITIVE);
    let s = t * t;
    let series = 1.0 / 11.0;
    let series = 1.0 / 9.0 - s * series;
    let series = 1.0 / 7.0 - s * series;
    let series = 0.2 - s * series;
    let series = 1.0 / 3.0 - s * series;
    let near = 2.0 * t * (1.0 - s * series);
    if s > 1.0 / 16.0 { 2.0 * SERIES_LIMIT } else { near }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_angle_comes_out() {
        let angles: Vec<f32> = (-300..=300).map(|n| n as f32 * 0.01).collect();
        for &angle in &angles {
            let pairs = Pairs { re: vec![1.0, angle.cos()], im: vec![0.0, angle.sin()] };
            let (mut steps, mut sizes) = (Vec::new(), Vec::new());
            Discriminator::default().feed(&pairs, &mut steps, &mut sizes);
            assert!((steps[1] - angle).abs() < 1e-6, "{angle} came out as {}", steps[1]);
            assert!((sizes[1] - 1.0).abs() < 1e-6);
        }
    }
}
