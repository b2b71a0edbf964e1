//! Finite filters: a Kaiser-windowed low-pass of a wanted attenuation.

use std::f64::consts::PI;

/// What a low-pass must do.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LowPass {
    pub rate_hz: f64,
    /// Flat up to here.
    pub pass_hz: f64,
    /// Gone from here on.
    pub stop_hz: f64,
    pub attenuation_db: f64,
}

impl LowPass {
    /// Taps, symmetric, with unit gain at 0 Hz; their number is odd.
    ///
    /// # Reference
    /// Kaiser's formulas for length and shape, as in Oppenheim and Schafer, Discrete-Time Signal Processing, section on
    /// FIR design by the Kaiser window (from memory).
    pub fn taps(self) -> Vec<f64> {
        let a = self.attenuation_db;
        let width = 2.0 * PI * (self.stop_hz - self.pass_hz) / self.rate_hz;
        let half = (((a - 7.95) / (2.285 * width)).ceil() as usize).div_ceil(2).max(1);
        let beta = kaiser_beta(a);
        let cutoff = (self.pass_hz + self.stop_hz) / (2.0 * self.rate_hz);
        let mut taps: Vec<f64> = (0..=2 * half)
            .map(|n| {
                let x = n as f64 - half as f64;
                let w = bessel_i0(beta * (1.0 - (x / half as f64).powi(2)).max(0.0).sqrt()) / bessel_i0(beta);
                2.0 * cutoff * sinc(2.0 * cutoff * x) * w
            })
            .collect();
        let sum: f64 = taps.iter().sum();
        for tap in &mut taps {
            *tap /= sum;
        }
        taps
    }
}

fn kaiser_beta(attenuation_db: f64) -> f64 {
    let a = attenuation_db;
    if a > 50.0 {
        0.1102 * (a - 8.7)
    } else {
        0.5842 * (a - 21.0).max(0.0).powf(0.4) + 0.078_86 * (a - 21.0).max(0.0)
    }
}

/// `sin(pi x) / (pi x)`.
pub(crate) fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-12 { 1.0 } else { (PI * x).sin() / (PI * x) }
}

/// Modified Bessel function of the first kind and order nought, by its power series.
fn bessel_i0(x: f64) -> f64 {
    let quarter = x * x / 4.0;
    let (mut term, mut sum, mut k) = (1.0, 1.0, 1.0);
    while term > sum * 1e-17 {
        term *= quarter / (k * k);
        sum += term;
        k += 1.0;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn low_pass_keeps_its_word() {
        let wanted = LowPass { rate_hz: 4000.0, pass_hz: 600.0, stop_hz: 1000.0, attenuation_db: 80.0 };
        let taps = wanted.taps();
        let gain = |hz: f64| {
            let half = (taps.len() / 2) as f64;
            taps.iter()
                .enumerate()
                .map(|(n, t)| t * (2.0 * PI * hz / 4000.0 * (n as f64 - half)).cos())
                .sum::<f64>()
        };
        assert!((gain(0.0) - 1.0).abs() < 1e-12);
        assert!((gain(590.0) - 1.0).abs() < 3e-4);
        assert!((1000..2000).all(|hz| gain(f64::from(hz)).abs() < 1.2e-4));
    }
}
