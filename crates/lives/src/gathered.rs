//! A million lives in a few thousand cells, without loss that could be seen.
//!
//! The Weibull likelihood looks at lives only through sums of e^(βx), x = ln of age. Within a cell of half-width `r`
//! about its middle `c`, e^(βx) = e^(βc) · Σ (β(x−c))ᵏ/k!, so the moments Σ(x−c)ᵏ of each cell give the sum for every
//! β. Moments up to the eighth are kept: what is left out is under (βr)⁹/9! of the sum; where β·r grows past what
//! keeps that under rounding, [`Cells::holds`] says so and the lives are taken one by one.

use crate::weibull_terms::Powers;

/// Moments kept for each cell, from the zeroth.
const MOMENTS: usize = 9;
/// Half the width of a cell in ln of age: 1 %.
const HALF_WIDTH: f64 = 0.01;
/// Shape times half-width up to which the sums are trusted: 0.12⁹/9! = 1.4e-14.
const REACH: f64 = 0.12;

/// Cells of equal width over ln of age.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Cells {
    lowest: f64,
    shift: f64,
    moments: Vec<[f64; MOMENTS]>,
}

impl Cells {
    /// Empty cells that cover a stretch of ln of age.
    pub fn over(low: f64, high: f64) -> Self {
        let n = ((high - low) / (2.0 * HALF_WIDTH)).floor() as usize + 1;
        Self { lowest: low, shift: high, moments: vec![[0.0; MOMENTS]; n] }
    }

    /// What is taken from every ln of age in the power sums.
    pub const fn shift(&self) -> f64 {
        self.shift
    }

    /// Adds an end (weight 1) or an entry (weight −1); `x` must lie within the stretch.
    #[inline]
    pub fn add(&mut self, x: f64, weight: f64) {
        let place = (x - self.lowest) * (0.5 / HALF_WIDTH);
        let at = (place as usize).min(self.moments.len() - 1);
        let off = x - self.middle(at);
        let mut power = weight;
        for moment in &mut self.moments[at] {
            *moment += power;
            power *= off;
        }
    }

    /// Adds all that another set of cells over the same stretch holds.
    pub fn merge(&mut self, other: &Self) {
        for (mine, theirs) in self.moments.iter_mut().zip(&other.moments) {
            for (mine, theirs) in mine.iter_mut().zip(theirs) {
                *mine += theirs;
            }
        }
    }

    fn middle(&self, at: usize) -> f64 {
        self.lowest + HALF_WIDTH * (2 * at + 1) as f64
    }

    /// True where the sums at this shape are exact to double precision for all purposes.
    pub fn holds(shape: f64) -> bool {
        shape * HALF_WIDTH <= REACH
    }

    /// The power sums at a shape.
    pub fn powers(&self, shape: f64) -> Powers {
        let mut sums = Powers { s0: 0.0, s1: 0.0, s2: 0.0 };
        for (at, moments) in
            self.moments.iter().enumerate().filter(|(_, moments)| moments[0] != 0.0 || moments[2] != 0.0)
        {
            let x = self.middle(at) - self.shift;
            // g(β) = Σ e^(β off); its first two derivatives by β are the sums with off and off².
            let (mut g0, mut g1, mut g2) = (0.0, 0.0, 0.0);
            let mut factor = 1.0;
            for k in 0..MOMENTS {
                g0 += factor * moments[k];
                if k + 1 < MOMENTS {
                    g1 += factor * moments[k + 1];
                }
                if k + 2 < MOMENTS {
                    g2 += factor * moments[k + 2];
                }
                factor *= shape / (k + 1) as f64;
            }
            let power = (shape * x).exp();
            sums.s0 += power * g0;
            sums.s1 += power * (g1 + x * g0);
            sums.s2 += power * (g2 + x * (2.0 * g1 + x * g0));
        }
        sums
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gathered_sums_agree_with_sums_over_each() {
        let xs: Vec<f64> =
            (0..5000).map(|i| 2.0 + 4.0 * ((f64::from(i) * 0.618_033_988_7).fract()).powf(0.3)).collect();
        let mut cells = Cells::over(2.0, 6.0);
        for &x in &xs {
            cells.add(x, 1.0);
        }
        for shape in [0.3, 1.0, 2.7, 6.0, 12.0] {
            assert!(Cells::holds(shape));
            let found = cells.powers(shape);
            let sum = |k: i32| xs.iter().map(|x| (shape * (x - 6.0)).exp() * (x - 6.0).powi(k)).sum::<f64>();
            for (found, wanted) in [(found.s0, sum(0)), (found.s1, sum(1)), (found.s2, sum(2))] {
                assert!((found / wanted - 1.0).abs() < 2e-12, "{shape}: {found} {wanted}");
            }
        }
        assert!(!Cells::holds(13.0));
    }
}
