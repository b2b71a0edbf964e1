//! Second-order sections in double precision, designed by the bilinear transform with the corner pre-warped.

use std::f64::consts::{PI, SQRT_2};

/// One second-order section, transposed direct form II.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Biquad {
    b: [f64; 3],
    a: [f64; 2],
    state: [f64; 2],
}

impl Biquad {
    pub fn new(b: [f64; 3], a: [f64; 2]) -> Self {
        Self { b, a, state: [0.0; 2] }
    }

    /// Second-order high-pass.
    pub fn high_pass(rate_hz: f64, corner_hz: f64, q: f64) -> Self {
        let w = (PI * corner_hz / rate_hz).tan();
        let n = 1.0 / (1.0 + w / q + w * w);
        Self::new([n, -2.0 * n, n], [2.0 * (w * w - 1.0) * n, (1.0 - w / q + w * w) * n])
    }

    /// Second-order low-pass.
    pub fn low_pass(rate_hz: f64, corner_hz: f64, q: f64) -> Self {
        let w = (PI * corner_hz / rate_hz).tan();
        let n = 1.0 / (1.0 + w / q + w * w);
        let g = w * w * n;
        Self::new([g, 2.0 * g, g], [2.0 * (w * w - 1.0) * n, (1.0 - w / q + w * w) * n])
    }

    /// First-order high-pass.
    pub fn high_pass_1(rate_hz: f64, corner_hz: f64) -> Self {
        let w = (PI * corner_hz / rate_hz).tan();
        let n = 1.0 / (1.0 + w);
        Self::new([n, -n, 0.0], [(w - 1.0) * n, 0.0])
    }

    /// First-order section with given poles and zero: unit gain at 0 Hz, and at half the sample rate the gain that
    /// the analogue section would have there, so that the warping of the bilinear transform does not show.
    ///
    /// # Reference
    /// Vicanek, Matched One-Pole Digital Shelving Filters (from memory).
    pub fn matched_1(rate_hz: f64, pole_hz: f64, zero_hz: Option<f64>) -> Self {
        let nyquist = rate_hz / 2.0;
        let zero = zero_hz.map_or(1.0, |z| (1.0 + (nyquist / z).powi(2)).sqrt());
        let gain = zero / (1.0 + (nyquist / pole_hz).powi(2)).sqrt();
        let a1 = -(-2.0 * PI * pole_hz / rate_hz).exp();
        let (low, high) = (1.0 + a1, gain * (1.0 - a1));
        Self::new([f64::midpoint(low, high), (low - high) / 2.0, 0.0], [a1, 0.0])
    }

    /// Fourth-order Butterworth low-pass as two sections.
    pub fn butterworth_4(rate_hz: f64, corner_hz: f64) -> [Self; 2] {
        // Q of the two pole pairs of a Butterworth filter of order 4: 1 / (2 cos(pi/8)), 1 / (2 cos(3 pi/8)).
        [PI / 8.0, 3.0 * PI / 8.0].map(|angle| Self::low_pass(rate_hz, corner_hz, 0.5 / angle.cos()))
    }

    /// Second-order Butterworth high-pass.
    pub fn butterworth_high_2(rate_hz: f64, corner_hz: f64) -> Self {
        Self::high_pass(rate_hz, corner_hz, 1.0 / SQRT_2)
    }

    #[inline]
    pub fn step(&mut self, x: f64) -> f64 {
        let y = self.b[0] * x + self.state[0];
        self.state[0] = self.b[1] * x - self.a[0] * y + self.state[1];
        self.state[1] = self.b[2] * x - self.a[1] * y;
        y
    }

    /// Gain at a frequency.
    pub fn gain(&self, rate_hz: f64, hz: f64) -> f64 {
        let w = 2.0 * PI * hz / rate_hz;
        let along = |c0: f64, c1: f64, c2: f64| {
            let re = c0 + c1 * w.cos() + c2 * (2.0 * w).cos();
            let im = c1 * w.sin() + c2 * (2.0 * w).sin();
            re.hypot(im)
        };
        along(self.b[0], self.b[1], self.b[2]) / along(1.0, self.a[0], self.a[1])
    }
}
