//! A figure with its interval.

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// The confidence of every interval.
pub const CONFIDENCE: f64 = 0.95;

/// A figure with its interval.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Figure {
    /// The figure.
    pub value: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A sum as a share of another, over units that are independent of each other (booths, showings), with the usual interval of a ratio (Cochran 1977, Sampling Techniques,
/// chapter 6: the spread of what is left when the ratio is taken off, Student's law for the width).
pub fn ratio(of: &[f64], to: &[f64], times: f64) -> Figure {
    let (sum, base): (f64, f64) = (of.iter().sum(), to.iter().sum());
    let n = of.len() as f64;
    if base <= 0.0 {
        return Figure { value: 0.0, low: 0.0, high: 0.0 };
    }
    let value = sum / base;
    let left: f64 = of.iter().zip(to).map(|(of, to)| (of - value * to).powi(2)).sum();
    let error = (n / (n - 1.0) * left).sqrt() / base;
    let width =
        StudentsT::new(0.0, 1.0, n - 1.0).map_or(1.96, |law| law.inverse_cdf(f64::midpoint(1.0, CONFIDENCE)));
    Figure {
        value: times * value,
        low: times * (value - width * error).max(0.0),
        high: times * (value + width * error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_of_a_mean_is_that_of_student() {
        // 1 to 5: mean 3, standard error √0.5; t of 4 degrees of freedom at 97.5 %: 2.776 (any table of Student's law).
        let figure = ratio(&[1.0, 2.0, 3.0, 4.0, 5.0], &[1.0; 5], 1.0);
        assert!((figure.value - 3.0).abs() < 1e-12);
        assert!((figure.high - 3.0 - 2.776 * 0.5_f64.sqrt()).abs() < 1e-3, "{figure:?}");
    }

    #[test]
    fn a_ratio_that_is_the_same_in_every_booth_has_no_doubt() {
        let figure = ratio(&[2.0, 4.0, 6.0], &[1.0, 2.0, 3.0], 1000.0);
        assert!((figure.value - 2000.0).abs() < 1e-9 && (figure.high - figure.low).abs() < 1e-9);
    }
}
