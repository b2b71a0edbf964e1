//! The weighting that makes a flutter reading follow what the ear minds: loudest at 4 Hz.

use crate::dsp::biquad::Biquad;

/// One row of the standard's table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightingRow {
    /// Rate of the flutter, Hz.
    pub hz: f64,
    /// Response, dB relative to 4 Hz.
    pub decibels: f64,
    /// The instrument may read higher by so many dB.
    pub above: f64,
    /// The instrument may read lower by so many dB.
    pub below: f64,
}

const fn row(hz: f64, decibels: f64, above: f64, below: f64) -> WeightingRow {
    WeightingRow { hz, decibels, above, below }
}

/// The weighting curve.
///
/// # Reference
/// IEC 60386:1972 with amendment 1 (the same as DIN 45507 and AES6-2008). Values and tolerances from memory; the paper
/// was not at hand.
pub const WEIGHTING: [WeightingRow; 17] = [
    row(0.1, -48.0, 10.0, 4.0),
    row(0.2, -30.6, 10.0, 4.0),
    row(0.315, -19.7, 4.0, 4.0),
    row(0.4, -15.0, 4.0, 4.0),
    row(0.63, -8.4, 2.0, 2.0),
    row(0.8, -6.0, 2.0, 2.0),
    row(1.0, -4.2, 2.0, 2.0),
    row(1.6, -1.8, 2.0, 2.0),
    row(2.0, -0.9, 2.0, 2.0),
    row(4.0, 0.0, 0.0, 0.0),
    row(6.3, -0.9, 2.0, 2.0),
    row(10.0, -2.1, 2.0, 2.0),
    row(20.0, -5.9, 2.0, 2.0),
    row(40.0, -10.4, 2.0, 2.0),
    row(63.0, -14.2, 4.0, 4.0),
    row(100.0, -17.3, 4.0, 4.0),
    row(200.0, -23.0, 4.0, 4.0),
];

// The curve has no formula; these corners were fitted to the table by least squares in dB and stay within 0.35 dB of
// every row, far inside its tolerance.
const HIGH_PASS_1_HZ: f64 = 1.512_643_2;
const HIGH_PASS_2_HZ: f64 = 0.440_329_76;
const HIGH_PASS_2_Q: f64 = 0.661_351_55;
const LOW_PASS_HZ: f64 = 9.090_872;
const SHELF_ZERO_HZ: f64 = 40.188_563;
const SHELF_POLE_HZ: f64 = 54.278_228;

/// Where the curve is 0 dB.
const REFERENCE_HZ: f64 = 4.0;

/// The weighting as a digital filter at one sample rate.
#[derive(Debug, Clone)]
pub(crate) struct Weighting {
    sections: [Biquad; 4],
    scale: f64,
}

impl Weighting {
    pub fn new(rate_hz: f64) -> Self {
        let sections = [
            Biquad::high_pass_1(rate_hz, HIGH_PASS_1_HZ),
            Biquad::high_pass(rate_hz, HIGH_PASS_2_HZ, HIGH_PASS_2_Q),
            Biquad::matched_1(rate_hz, LOW_PASS_HZ, None),
            Biquad::matched_1(rate_hz, SHELF_POLE_HZ, Some(SHELF_ZERO_HZ)),
        ];
        let mut filter = Self { sections, scale: 1.0 };
        filter.scale = 1.0 / filter.gain(rate_hz, REFERENCE_HZ);
        filter
    }

    #[inline]
    pub fn step(&mut self, x: f64) -> f64 {
        self.sections.iter_mut().fold(x * self.scale, |x, section| section.step(x))
    }

    /// Gain at a rate of flutter.
    pub fn gain(&self, rate_hz: f64, hz: f64) -> f64 {
        self.sections.iter().map(|s| s.gain(rate_hz, hz)).product::<f64>() * self.scale
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weighting_agrees_with_the_table_of_iec_60386_from_memory() {
        for rate_hz in [918.75, 1000.0, 1002.27, 1125.0] {
            let filter = Weighting::new(rate_hz);
            for row in WEIGHTING {
                let off = 20.0 * filter.gain(rate_hz, row.hz).log10() - row.decibels;
                // The fit of six corners to seventeen rows leaves at most 0.35 dB, the step to a digital filter 0.2 dB more at
                // 200 Hz; the tolerance is 2 dB and more.
                assert!(off.abs() < 0.6, "{} Hz at {rate_hz}: off by {off:.2} dB", row.hz);
            }
        }
    }
}
