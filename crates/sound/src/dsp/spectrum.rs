//! Power spectra of long real signals, averaged over overlapping Hann windows.

use realfft::{RealFftPlanner, RealToComplex};
use rustfft::num_complex::Complex32;
use std::f64::consts::PI;
use std::sync::Arc;

/// Equivalent noise bandwidth of the Hann window, in bins.
pub(crate) const HANN_NOISE_BINS: f64 = 1.5;

/// The Hann window of a length.
pub(crate) fn hann(length: usize) -> Vec<f32> {
    (0..length).map(|n| (0.5 - 0.5 * (2.0 * PI * n as f64 / length as f64).cos()) as f32).collect()
}

/// A planned transform of one length with its window and scratch space.
pub(crate) struct Transform {
    plan: Arc<dyn RealToComplex<f32>>,
    window: Vec<f32>,
    input: Vec<f32>,
    output: Vec<Complex32>,
    scratch: Vec<Complex32>,
}

impl Transform {
    pub fn new(length: usize) -> Self {
        let plan = RealFftPlanner::<f32>::new().plan_fft_forward(length);
        let (input, output, scratch) =
            (plan.make_input_vec(), plan.make_output_vec(), plan.make_scratch_vec());
        Self { plan, window: hann(length), input, output, scratch }
    }

    pub fn len(&self) -> usize {
        self.window.len()
    }

    /// Windows the samples (as many as the length) and calls back with the power spectral density of each bin:
    /// squared units for each hertz, one-sided.
    pub fn density(
        &mut self,
        samples: impl Iterator<Item = f32>,
        rate_hz: f64,
        mut each: impl FnMut(usize, f64),
    ) {
        for ((slot, x), w) in self.input.iter_mut().zip(samples).zip(&self.window) {
            *slot = x * w;
        }
        self.plan
            .process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch)
            .expect("the buffers were made by the plan itself");
        let scale = 2.0 / (rate_hz * 0.375 * self.len() as f64);
        for (bin, value) in self.output.iter().enumerate() {
            each(bin, f64::from(value.norm_sqr()) * scale);
        }
    }
}

/// A spectrum averaged over as many windows as were fed.
pub(crate) struct Average {
    transform: Transform,
    rate_hz: f64,
    pub sum: Vec<f64>,
    pub windows: usize,
}

impl Average {
    pub fn new(length: usize, rate_hz: f64) -> Self {
        let transform = Transform::new(length);
        Self { sum: vec![0.0; length / 2 + 1], transform, rate_hz, windows: 0 }
    }

    pub fn len(&self) -> usize {
        self.transform.len()
    }

    pub fn add(&mut self, samples: impl Iterator<Item = f32>) {
        let sum = &mut self.sum;
        self.transform.density(samples, self.rate_hz, |bin, power| {
            if let Some(total) = sum.get_mut(bin) {
                *total += power;
            }
        });
        self.windows += 1;
    }

    /// The mean density.
    pub fn finish(self) -> Density {
        let n = self.windows.max(1) as f64;
        Density {
            bin_hz: self.rate_hz / self.transform.len() as f64,
            windows: self.windows,
            power: self.sum.into_iter().map(|p| p / n).collect(),
        }
    }
}

/// A one-sided power spectral density on evenly spaced bins from 0 Hz.
#[derive(Debug, Clone)]
pub(crate) struct Density {
    pub bin_hz: f64,
    pub windows: usize,
    pub power: Vec<f64>,
}

impl Density {
    /// The power between two frequencies, each bin times a weight.
    pub fn band(&self, low_hz: f64, high_hz: f64, weight: impl Fn(f64) -> f64) -> f64 {
        self.power
            .iter()
            .enumerate()
            .map(|(bin, p)| (bin as f64 * self.bin_hz, p))
            .filter(|(hz, _)| (low_hz..high_hz).contains(hz))
            .map(|(hz, p)| p * weight(hz) * self.bin_hz)
            .sum()
    }

    /// The bin nearest to a frequency.
    pub fn bin(&self, hz: f64) -> usize {
        ((hz / self.bin_hz).round().max(0.0) as usize).min(self.power.len().saturating_sub(1))
    }
}
