//! Mean speed and drift from what was gathered, with their uncertainty.

use super::meter::Gathered;
use super::plan::Plan;
use crate::FlutterRequest;
use units::Hertz;

/// Tones that test films carry, Hz: flutter films 3150 and 3000 (IEC 60386; Z22.43-1946), level films 400 and 1000,
/// steps of multi-frequency films (Z22.44-1946).
const CUSTOMARY_HZ: [f64; 14] = [
    3150.0, 3000.0, 300.0, 400.0, 500.0, 1000.0, 2000.0, 4000.0, 5000.0, 6000.0, 7000.0, 8000.0, 10_000.0,
    12_000.0,
];
/// A running machine is no further off its speed than this; ISO 26:1993 allows 24 ± 1 frames per second, 4.2 %.
const FURTHEST: f64 = 0.045;
/// A normal variable stays within so many standard deviations with 95 % chance.
pub(crate) const K95: f64 = 1.96;

/// The speed of one recording. Fractions, not percent.
pub(crate) struct Speed {
    pub tone_hz: f64,
    pub nominal_hz: Option<f64>,
    pub assumed: bool,
    /// Another customary tone that would fit too.
    pub also_hz: Option<f64>,
    /// Measured over nominal, less one.
    pub error: Option<f64>,
    /// Half-width of the 95 % interval, as a fraction.
    pub uncertainty: f64,
    /// Deviation for each minute.
    pub drift: f64,
    pub drift_uncertainty: Option<f64>,
    /// Mean deviation from the oscillator.
    pub mean: f64,
}

impl Speed {
    pub fn of(gathered: &Gathered, plan: &Plan, request: &FlutterRequest) -> Self {
        let mean = gathered.slope.mean();
        let tone_hz = plan.mix_hz * (1.0 + mean);
        let (nominal_hz, also_hz) = match request.tone.map(Hertz::hertz) {
            Some(named) => (Some(named), None),
            None => customary(tone_hz),
        };
        let scatter = Scatter::of(gathered);
        Self {
            tone_hz,
            nominal_hz,
            assumed: request.tone.is_none() && nominal_hz.is_some(),
            also_hz,
            error: nominal_hz.map(|n| tone_hz / n - 1.0),
            uncertainty: scatter.mean * K95,
            drift: gathered.slope.slope() * 60.0 / (1.0 + mean),
            drift_uncertainty: scatter.slope.map(|s| s * 60.0 * K95),
            mean,
        }
    }
}

/// The customary tone that is nearest, and the next one if it would do as well.
fn customary(tone_hz: f64) -> (Option<f64>, Option<f64>) {
    let off = |hz: f64| (tone_hz / hz).ln().abs();
    let mut near: Vec<f64> = CUSTOMARY_HZ.into_iter().filter(|&hz| off(hz) < FURTHEST).collect();
    near.sort_by(|a, b| off(*a).total_cmp(&off(*b)));
    (near.first().copied(), near.get(1).copied())
}

/// Standard deviations of mean and slope, from the scatter of batches of three seconds about the line.
struct Scatter {
    mean: f64,
    slope: Option<f64>,
}

impl Scatter {
    fn of(gathered: &Gathered) -> Self {
        let batches = &gathered.batches;
        let n = batches.len() as f64;
        let line = &gathered.slope;
        if n < 4.0 {
            // Too few batches to scatter: the whole wander of the speed is what is not known.
            let good = gathered.curve.iter().filter(|p| p.good > 0);
            let (low, high) = good.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
                let mean = p.sum / f64::from(p.good);
                (low.min(mean), high.max(mean))
            });
            return Self { mean: ((high - low) / 2.0 / line.n.sqrt()).max(0.0), slope: None };
        }
        let middle = batches.iter().map(|(t, _)| t).sum::<f64>() / n;
        let along = |t: f64| line.mean() + line.slope() * (t - line.t / line.n);
        let squares: f64 = batches.iter().map(|(t, d)| (d - along(*t)).powi(2)).sum();
        let variance = squares / (n - 2.0);
        let spread: f64 = batches.iter().map(|(t, _)| (t - middle).powi(2)).sum();
        Self { mean: (variance / n).sqrt(), slope: Some((variance / spread).sqrt()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_customary_tone_is_taken_and_the_rival_named() {
        assert_eq!(customary(3140.0), (Some(3150.0), None));
        assert_eq!(customary(3090.0), (Some(3150.0), Some(3000.0)));
        assert_eq!(customary(990.0), (Some(1000.0), None));
        assert_eq!(customary(1500.0), (None, None));
    }
}
