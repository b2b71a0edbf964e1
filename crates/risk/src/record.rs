//! How chances that were given fared, and what that says of the next one.

use serde::Serialize;
use units::Probability;

/// Before anything came the level of the chances is believed as firmly as if so many stoppages had been foretold and had
/// come: right within a twelfth, nine times in ten. Our choice, no source: what stopped the showings has taught the beliefs
/// about lives and rates already, so that a record which is believed sooner counts it twice and follows luck
/// (docs/prove.md).
const FIRMNESS: f64 = 400.0;

/// Chances that were given before showings, and what came.
///
/// # Method
/// The hazard behind all chances is off by one factor, believed by a gamma law that begins at one. Each showing is told
/// by the factor that the showings before it left, so that nothing is judged by what it has taught.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize)]
pub struct TrackRecord {
    /// Showings.
    pub n: u64,
    /// How many of them stopped.
    pub came: u64,
    /// How many should have, by the chances as they were reckoned.
    pub expected: f64,
}

impl TrackRecord {
    /// By how much the hazard is to be multiplied.
    pub fn factor(&self) -> f64 {
        (FIRMNESS + self.came as f64) / (FIRMNESS + self.expected)
    }

    /// The chance to give, by how those before it fared.
    pub fn corrected(&self, chance: Probability) -> Probability {
        Probability::clamped(1.0 - (1.0 - chance.value()).powf(self.factor()))
    }

    /// Learns how a chance fared; `reckoned` as it was before any correction.
    pub fn fared(&mut self, reckoned: Probability, came: bool) {
        self.n += 1;
        self.came += u64::from(came);
        self.expected += reckoned.value();
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn p(value: f64) -> Probability {
        Probability::new(value).unwrap()
    }

    #[test]
    fn without_a_record_nothing_is_corrected() {
        for chance in [0.0, 0.001, 0.3, 1.0] {
            assert!((TrackRecord::default().corrected(p(chance)).value() - chance).abs() < 1e-12);
        }
    }

    #[test]
    fn a_few_stoppages_move_little_and_hundreds_move_much() {
        let after = |showings: u64| {
            let mut record = TrackRecord::default();
            (0..showings).for_each(|at| record.fared(p(0.02), at % 25 == 0));
            record
        };
        // Twice as many came as were told: by hand (400 + 4) / (400 + 2), (400 + 400) / (400 + 200).
        assert!((after(100).factor() - 404.0 / 402.0).abs() < 1e-9);
        assert!((after(10_000).factor() - 800.0 / 600.0).abs() < 1e-6);
        // A hazard so many times as great: 1 - 0.98^(4/3).
        let corrected = after(10_000).corrected(p(0.02)).value();
        assert!((corrected - (1.0 - 0.98_f64.powf(4.0 / 3.0))).abs() < 1e-6);
    }
}
