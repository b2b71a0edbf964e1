//! The weighted and unweighted readings, taken as the speed signal goes by.

use crate::detectors::{QuasiPeak, Sizes};
use crate::dsp::biquad::Biquad;
use crate::dsp::fir::LowPass;
use crate::weighting::Weighting;

/// The unweighted reading spans these rates, Hz.
///
/// # Reference
/// IEC 60386, unweighted measurement (from memory).
pub(crate) const UNWEIGHTED_HZ: (f64, f64) = (0.2, 200.0);
/// The band of the speed signal that the readings need, flat.
const FLAT_HZ: f64 = 220.0;
/// A step of phase is the mean of the deviation over one sample, which loses sinc(f/rate). The three taps
/// `[-c, 1 + 2c, -c]` give it back: for low rates c tends to 1/24, and this serves best up to a tenth of the rate.
const GIVE_BACK: f64 = 0.0437;
/// A break longer than this ends a stretch: the filters begin afresh after it.
const LONGEST_BREAK_SECONDS: f64 = 0.5;
/// What is fed backwards first, so that the filters have settled when the stretch begins.
const RUN_IN_SECONDS: f64 = 3.0;
/// What is not counted at the beginning of a stretch.
const SETTLING_SECONDS: f64 = 1.0;
/// Shorter stretches are left out.
const SHORTEST_STRETCH_SECONDS: f64 = 1.0;
/// After a short break nothing is counted while the filters ring.
const REST_SECONDS: f64 = 0.15;

/// Halves the rate of the speed signal and makes up what taking phase step by step loses at high rates.
pub(crate) struct Halver {
    taps: Vec<f32>,
    line: Vec<(f32, bool)>,
}

impl Halver {
    pub fn new(signal_hz: f64) -> Self {
        let low_pass = LowPass {
            rate_hz: signal_hz,
            pass_hz: FLAT_HZ,
            stop_hz: signal_hz / 2.0 - FLAT_HZ,
            attenuation_db: 80.0,
        };
        let plain = low_pass.taps();
        let at = |n: Option<usize>| n.and_then(|n| plain.get(n)).copied().unwrap_or_default();
        let tap = |n: usize| {
            let (before, here, after) = (at(Some(n)), at(n.checked_sub(1)), at(n.checked_sub(2)));
            ((1.0 + 2.0 * GIVE_BACK) * here - GIVE_BACK * (before + after)) as f32
        };
        let taps = (0..plain.len() + 2).map(tap).collect();
        Self { taps, line: Vec::new() }
    }

    /// Takes samples, all in order or none, and gives those at half the rate with their verdict.
    pub fn feed(&mut self, samples: impl Iterator<Item = f32>, good: bool, mut each: impl FnMut(f32, bool)) {
        self.line.extend(samples.map(|x| (x, good)));
        let mut start = 0;
        while let Some(window) = self.line.get(start..start + self.taps.len()) {
            let sum = window.iter().zip(&self.taps).map(|((x, _), t)| x * t).sum();
            let middle = window.get(self.taps.len() / 2).is_some_and(|(_, good)| *good);
            each(sum, middle);
            start += 2;
        }
        self.line.drain(..start);
    }
}

/// What the readings add up to.
#[derive(Debug, Clone)]
pub(crate) struct Readings {
    pub quasi_peak: f64,
    pub sizes: Sizes,
    pub unweighted_peak: f64,
    pub unweighted_squares: f64,
    pub weighted_squares: f64,
    pub counted: u64,
}

/// The chain of filters and meters at half the signal's rate.
pub(crate) struct Chain {
    rate_hz: f64,
    weighting: Weighting,
    unweighted: [Biquad; 3],
    meter: QuasiPeak,
    fresh: (Weighting, [Biquad; 3], QuasiPeak),
    /// Samples that wait until there are enough to run in.
    waiting: Option<Vec<(f32, bool)>>,
    offset: f64,
    broken: usize,
    rest: usize,
    pub readings: Readings,
}

impl Chain {
    pub fn new(rate_hz: f64) -> Self {
        let weighting = Weighting::new(rate_hz);
        let [a, b] = Biquad::butterworth_4(rate_hz, UNWEIGHTED_HZ.1);
        let unweighted = [Biquad::butterworth_high_2(rate_hz, UNWEIGHTED_HZ.0), a, b];
        let meter = QuasiPeak::new(rate_hz);
        Self {
            rate_hz,
            fresh: (weighting.clone(), unweighted, meter.clone()),
            weighting,
            unweighted,
            meter,
            waiting: Some(Vec::new()),
            offset: 0.0,
            broken: 0,
            rest: 0,
            readings: Readings {
                quasi_peak: 0.0,
                sizes: Sizes::new(),
                unweighted_peak: 0.0,
                unweighted_squares: 0.0,
                weighted_squares: 0.0,
                counted: 0,
            },
        }
    }

    /// Takes the next sample; gives the meter's reading where it counts.
    pub fn feed(&mut self, x: f32, good: bool, each: &mut impl FnMut(f64)) {
        self.broken = if good { 0 } else { self.broken + 1 };
        let ended = self.broken as f64 > LONGEST_BREAK_SECONDS * self.rate_hz;
        match &mut self.waiting {
            Some(waiting) => {
                if good || !waiting.is_empty() {
                    waiting.push((x, good));
                }
                if ended || waiting.len() as f64 >= RUN_IN_SECONDS * self.rate_hz {
                    self.run_in(each);
                    if ended {
                        self.waiting = Some(Vec::new());
                    }
                }
            }
            None if ended => self.waiting = Some(Vec::new()),
            None => self.step(x, good, each),
        }
    }

    /// Counts what still waits.
    pub fn finish(mut self, each: &mut impl FnMut(f64)) -> Readings {
        self.run_in(each);
        self.readings
    }

    /// Feeds the stretch backwards, uncounted, and then forwards: so the filters meet no step at its beginning.
    fn run_in(&mut self, each: &mut impl FnMut(f64)) {
        let Some(waiting) = self.waiting.take() else { return };
        let good = waiting.iter().filter(|(_, good)| *good);
        let (sum, count) = good.fold((0.0, 0_usize), |(sum, n), (x, _)| (sum + f64::from(*x), n + 1));
        if (count as f64) < SHORTEST_STRETCH_SECONDS * self.rate_hz {
            self.waiting = Some(Vec::new());
            return;
        }
        (self.weighting, self.unweighted, self.meter) = self.fresh.clone();
        self.offset = sum / count as f64;
        self.rest = 0;
        for (x, _) in waiting.iter().rev() {
            self.step(*x, false, each);
        }
        // Turning round at the beginning leaves a kink; nothing is counted until its answer has died away.
        let settling = (SETTLING_SECONDS * self.rate_hz) as usize;
        for (n, (x, good)) in waiting.iter().enumerate() {
            if n < settling {
                self.rest = self.rest.max(1);
            }
            self.step(*x, *good, each);
        }
    }

    fn step(&mut self, x: f32, good: bool, each: &mut impl FnMut(f64)) {
        let x = f64::from(x) - self.offset;
        let weighted = self.weighting.step(x);
        let unweighted = self.unweighted.iter_mut().fold(x, |x, section| section.step(x));
        if !good {
            self.rest = (REST_SECONDS * self.rate_hz) as usize;
        }
        if self.rest > 0 {
            // What rings now is the break, not the machine: the meter holds its breath.
            self.rest -= usize::from(good);
            self.meter.step(0.0);
            return;
        }
        let reading = self.meter.step(weighted);
        let readings = &mut self.readings;
        readings.quasi_peak = readings.quasi_peak.max(reading);
        readings.sizes.add(weighted);
        readings.unweighted_peak = readings.unweighted_peak.max(unweighted.abs());
        readings.unweighted_squares += unweighted * unweighted;
        readings.weighted_squares += weighted * weighted;
        readings.counted += 1;
        each(reading);
    }
}
