//! Quantiles of anything over a belief.

use super::Believed;

/// Values with their weights, each spread evenly between half the ways to its neighbours of the same shape; half the
/// way of logarithms where all values are positive, as scales, ages and chances are.
pub(super) struct Spread {
    pieces: Vec<Piece>,
    logarithmic: bool,
}

#[derive(Clone, Copy)]
struct Piece {
    low: f64,
    high: f64,
    weight: f64,
}

impl Spread {
    /// Of values of each law; neighbours are those of the same shape.
    pub fn new(laws: &[Believed], values: Vec<f64>) -> Self {
        let weights: Vec<f64> = laws.iter().map(|law| law.weight).collect();
        Self::of(&weights, values, |a, b| laws[a].shape == laws[b].shape)
    }

    /// Of the shapes alone.
    pub fn of_shapes(laws: &[Believed]) -> Self {
        let (mut shapes, mut weights) = (Vec::<f64>::new(), Vec::<f64>::new());
        for law in laws {
            match (shapes.last(), weights.last_mut()) {
                (Some(&shape), Some(weight)) if shape == law.shape => *weight += law.weight,
                _ => {
                    shapes.push(law.shape);
                    weights.push(law.weight);
                }
            }
        }
        Self::of(&weights, shapes, |_, _| true)
    }

    fn of(weights: &[f64], mut values: Vec<f64>, same: impl Fn(usize, usize) -> bool) -> Self {
        let logarithmic = values.iter().all(|value| *value > 0.0);
        if logarithmic {
            for value in &mut values {
                *value = value.ln();
            }
        }
        let towards = |at: usize, other: Option<usize>, opposite: Option<usize>| {
            let usable = |other: &usize| *other < values.len() && same(at, *other);
            match (other.filter(usable), opposite.filter(usable)) {
                (Some(other), _) => 0.5 * (values[at] + values[other]),
                (None, Some(opposite)) => values[at] + 0.5 * (values[at] - values[opposite]),
                (None, None) => values[at],
            }
        };
        let pieces = (0..values.len()).map(|at| {
            let (before, after) = (at.checked_sub(1), Some(at + 1));
            let (one, other) = (towards(at, before, after), towards(at, after, before));
            Piece { low: one.min(other), high: one.max(other), weight: weights[at] }
        });
        Self { pieces: pieces.collect(), logarithmic }
    }

    /// Share of weight below a value.
    fn below(&self, value: f64) -> f64 {
        let part = |piece: &Piece| {
            if value >= piece.high {
                piece.weight
            } else if value <= piece.low {
                0.0
            } else {
                piece.weight * (value - piece.low) / (piece.high - piece.low)
            }
        };
        self.pieces.iter().map(part).sum()
    }

    /// Values below which given shares of weight lie.
    pub fn quantiles<const N: usize>(&self, shares: [f64; N]) -> [f64; N] {
        let mut ends: Vec<(f64, f64)> = self.pieces.iter().map(|piece| (piece.high, piece.weight)).collect();
        ends.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let quantile = |share| self.quantile(&ends, share);
        if self.logarithmic { shares.map(|share| quantile(share).exp()) } else { shares.map(quantile) }
    }

    /// By weight of whole pieces the quantile is found roughly and from above; then the share below is made exact.
    fn quantile(&self, ends: &[(f64, f64)], share: f64) -> f64 {
        let mut whole = 0.0;
        let place = ends.iter().position(|(_, weight)| {
            whole += weight;
            whole >= share
        });
        let Some(place) = place.or(ends.len().checked_sub(1)) else { return f64::NAN };
        let high = ends[place].0;
        let mut reach = 1 + place / 8;
        loop {
            let low = place.checked_sub(reach).map_or_else(|| self.least(), |at| ends[at].0);
            let at_low = self.below(low) - share;
            if at_low <= 0.0 || reach > place {
                return crate::root::between(
                    |value| self.below(value) - share,
                    (low, at_low),
                    (high, self.below(high) - share),
                );
            }
            reach *= 2;
        }
    }

    fn least(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.low).fold(f64::INFINITY, f64::min)
    }
}
