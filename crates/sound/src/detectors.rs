//! How a weighted deviation becomes a reading: the quasi-peak meter and the two-sigma statistic.

/// The quasi-peak meter: rises at a limited rate, falls slowly.
///
/// # Method
/// The held value `q` rises at most at [`RISE`] of the present size for each second, or at [`RISE_HIGH`] once it has
/// come to [`KNEE`] of it; close to the size it approaches with the time constant [`APPROACH`]; it falls with [`FALL`].
/// All rates are shares of the present size, so the meter is linear in level. The constants were fitted so that the
/// meter's answer to short pulses is the standard's and a steady sine reads its peak.
///
/// # Reference
/// IEC 60386 / DIN 45507, dynamic characteristics: one-sided pulses once a second of 10, 30, 60 and 100 ms read 21 ± 3,
/// 62 ± 6, 90 ± 6 and 100 ± 4 %; between pulses of 100 ms the reading falls to 36 to 44 % (from memory).
#[derive(Debug, Clone)]
pub(crate) struct QuasiPeak {
    dt: f64,
    keep: f64,
    scale: f64,
    held: f64,
}

/// Largest rise for each second, as a share of the size.
const RISE: f64 = 14.0;
/// The same, once above the knee.
const RISE_HIGH: f64 = 7.2;
/// Share of the size at which the rise slows down.
const KNEE: f64 = 0.66;
/// Time constant of the last approach, seconds.
const APPROACH: f64 = 0.0035;
/// Time constant of the fall, seconds: to 40 % in the 0.9 s between pulses of 100 ms.
const FALL: f64 = 0.982;
/// The meter is set so that a steady sine at this rate reads its peak.
const SET_AT_HZ: f64 = 4.0;

impl QuasiPeak {
    pub fn new(rate_hz: f64) -> Self {
        let dt = 1.0 / rate_hz;
        let mut meter = Self { dt, keep: (-dt / FALL).exp(), scale: 1.0, held: 0.0 };
        let step = std::f64::consts::TAU * SET_AT_HZ / rate_hz;
        let peak =
            (0..(3.0 * rate_hz) as usize).map(|n| meter.step((step * n as f64).sin())).fold(0.0, f64::max);
        meter.scale = 1.0 / peak;
        meter.held = 0.0;
        meter
    }

    /// Takes the next value and gives the reading.
    #[inline]
    pub fn step(&mut self, x: f64) -> f64 {
        let size = x.abs();
        if size > self.held {
            let gap = size - self.held;
            let limit = if self.held < KNEE * size { RISE } else { RISE_HIGH };
            self.held += (limit * size).min(gap / APPROACH) * self.dt;
        }
        self.held *= self.keep;
        self.held * self.scale
    }
}

/// How often each size occurred, in bins a thousandth wide, so that a percentile can be read off at the end.
#[derive(Debug, Clone)]
pub(crate) struct Sizes {
    counts: Vec<u32>,
    total: u64,
}

/// Bits of the mantissa that are kept: bins of 2^-10 of their size.
const KEPT_BITS: u32 = 10;
const DROPPED_BITS: u32 = 23 - KEPT_BITS;
/// Smallest size told apart: 2^-30.
const FIRST_BIN: u32 = (127 - 30) << KEPT_BITS;
/// Sizes from 2 on share the last bin.
const BINS: u32 = 31 << KEPT_BITS;

/// Share of the time that a normal deviation stays within two standard deviations.
///
/// # Reference
/// AES6-2008: the reading is the deviation that is exceeded for 4.55 % of the time.
pub(crate) const TWO_SIGMA_SHARE: f64 = 0.954_499_736_103_641_6;

impl Sizes {
    pub fn new() -> Self {
        Self { counts: vec![0; BINS as usize], total: 0 }
    }

    #[inline]
    pub fn add(&mut self, x: f64) {
        let bin = ((x as f32).abs().to_bits() >> DROPPED_BITS).saturating_sub(FIRST_BIN).min(BINS - 1);
        if let Some(count) = self.counts.get_mut(bin as usize) {
            *count += 1;
        }
        self.total += 1;
    }

    /// The size that is exceeded for 4.55 % of the time; nothing before the first value.
    pub fn two_sigma(&self) -> Option<f64> {
        let rank = self.total as f64 * TWO_SIGMA_SHARE;
        let mut below = 0.0;
        for (bin, &count) in self.counts.iter().enumerate() {
            let count = f64::from(count);
            if count > 0.0 && below + count >= rank {
                let (low, high) = (edge(bin as u32), edge(bin as u32 + 1));
                return Some(low + (high - low) * ((rank - below) / count));
            }
            below += count;
        }
        None
    }
}

/// The smallest size of a bin; the first bin begins at nought.
fn edge(bin: u32) -> f64 {
    if bin == 0 { 0.0 } else { f64::from(f32::from_bits((bin + FIRST_BIN) << DROPPED_BITS)) }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use std::f64::consts::TAU;

    const RATE: f64 = 1000.0;

    /// Highest and lowest reading in the last of eight seconds of pulses, one each second.
    fn pulses(milliseconds: usize) -> (f64, f64) {
        let mut meter = QuasiPeak::new(RATE);
        let readings: Vec<f64> =
            (0..8000).map(|n| meter.step(if n % 1000 < milliseconds { 1.0 } else { 0.0 })).collect();
        let last = &readings[7000..];
        (last.iter().copied().fold(0.0, f64::max), last.iter().copied().fold(1.0, f64::min))
    }

    #[test]
    fn pulses_read_as_iec_60386_and_din_45507_ask_from_memory() {
        for (milliseconds, wanted, tolerance) in
            [(10, 0.21, 0.03), (30, 0.62, 0.06), (60, 0.90, 0.06), (100, 1.00, 0.04)]
        {
            let (high, _) = pulses(milliseconds);
            assert!((high - wanted).abs() <= tolerance, "{milliseconds} ms reads {high:.3}, not {wanted}");
        }
        let (high, low) = pulses(100);
        assert!((0.36..=0.44).contains(&(low / high)), "falls back to {:.3}", low / high);
    }

    #[test]
    fn a_steady_sine_reads_its_peak() {
        for hz in [0.5, 1.0, 4.0, 10.0, 24.0, 61.0, 97.0] {
            let mut meter = QuasiPeak::new(RATE);
            let high =
                (0..10_000).map(|n| meter.step((TAU * hz * f64::from(n) / RATE).sin())).fold(0.0, f64::max);
            // The fall between two peaks is what the meter cannot make up at high rates: under 4 %.
            assert!((high - 1.0).abs() < 0.04, "{hz} Hz reads {high}");
        }
    }

    #[test]
    fn two_sigma_of_a_sine_is_0_9974_of_its_peak() {
        let mut sizes = Sizes::new();
        (0..100_000).for_each(|n| sizes.add(0.0025 * (TAU * f64::from(n) * 0.004_173).sin()));
        // sin(pi/2 * 0.9545), by the definition of AES6-2008; the bins are a thousandth wide.
        assert!((sizes.two_sigma().unwrap() / 0.0025 - 0.9974).abs() < 5e-4);
    }

    #[test]
    fn two_sigma_of_normal_noise_is_twice_its_standard_deviation() {
        let mut noise = crate::make::Noise::new(7);
        let mut sizes = Sizes::new();
        (0..2_000_000).for_each(|_| sizes.add(0.001 * noise.normal()));
        // Sampling error of the percentile over two million values: 0.1 %.
        assert!((sizes.two_sigma().unwrap() / 0.002 - 1.0).abs() < 4e-3);
    }
}
