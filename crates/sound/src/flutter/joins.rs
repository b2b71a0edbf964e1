//! What broke the tone for a moment: a join in the film, after which the wave goes on somewhere else, or a loss of level
//! or a click, after which it goes on as if nothing had been.
//!
//! # Method
//! Steps of phase add up through a break, whatever was heard in it, so the turns that the tone has made are known but
//! for whole ones. What they should be comes from the speed on both sides: by a polynomial, or by the weights that
//! foretell gaps of this length best on the sound stretches near by, where nothing is missing (so a steady line is
//! bridged, too). How well each does is tried on the same stretches, and the best is taken. A splice leaves
//! any turn with the same chance, a drop-out only those within that scatter; the answer is the likelier one if it has
//! nine chances in ten, and otherwise that it may be either.

use std::collections::VecDeque;

/// Cells that are remembered: 20 s.
const REMEMBERED: usize = 1000;
/// Cells to each side of a break whose speed is used.
const SIDE: usize = 10;
/// With fewer than these nothing is said.
const SHORTEST_SIDE: usize = 5;
/// A break is judged once so many cells have come after it.
const AFTER: u64 = 150;
/// Gaps that must have been tried before their scatter is believed.
const FEWEST_TRIALS: usize = 20;
/// Turns that the noise of the phase itself leaves open, at the least.
const LEAST_SCATTER: f64 = 0.004;
/// Level lost for more cells than this (0.1 s) is hardly a splice alone, however it is covered: so much likelier a
/// drop-out (common practice, no source).
const LONGEST_SPLICE_CELLS: u64 = 5;
const LONG_LOSS_ODDS: f64 = 20.0;
/// The likelier answer needs this chance.
const SURE: f64 = 0.9;
/// Weights are learned from at least so many times as many gaps as there are weights.
const LESSONS: usize = 8;
/// Overlapping lessons teach less than their number says: their scatter is taken to be so much larger.
const OVERLAP: f64 = 1.3;
/// Degrees of the polynomial.
const DEGREES: [usize; 4] = [0, 1, 3, 5];

/// What broke the tone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Join {
    /// The wave goes on somewhere else.
    Broken,
    /// The wave goes on as if nothing had been.
    Whole,
    /// It cannot be told.
    Unknown,
}

/// The cells of the last seconds, and the breaks that wait to be judged.
pub(crate) struct Joins {
    /// Mean deviation, and whether the cell is in order.
    cells: VecDeque<(f64, bool)>,
    /// Number of the first of them.
    first: u64,
    /// Turns of the tone in one cell.
    turns: f64,
}

impl Joins {
    /// Begins, with the turns that the tone makes in one cell.
    pub fn new(turns: f64) -> Self {
        Self { cells: VecDeque::with_capacity(REMEMBERED + 1), first: 0, turns }
    }

    /// Takes the next cell.
    pub fn cell(&mut self, mean: f64, good: bool) {
        self.cells.push_back((mean, good));
        if self.cells.len() > REMEMBERED {
            self.cells.pop_front();
            self.first += 1;
        }
    }

    /// Whether enough has come after a break that ends before a cell.
    pub fn is_ripe(&self, to: u64) -> bool {
        self.first + self.cells.len() as u64 >= to + AFTER
    }

    /// Judges a break from a cell up to another, of which so many had lost their level.
    pub fn judge(&self, from: u64, to: u64, quiet: u64) -> Join {
        let (Some(from), Some(to)) = (from.checked_sub(self.first), to.checked_sub(self.first)) else {
            return Join::Unknown;
        };
        let (from, to) = (from as usize, to as usize);
        let good = |at: &usize| self.cells.get(*at).is_some_and(|cell| cell.1);
        let before = (from.saturating_sub(SIDE)..from).rev().take_while(good).count();
        let after = (to..to + SIDE).take_while(good).count();
        if before.min(after) < SHORTEST_SIDE || to <= from {
            return Join::Unknown;
        }
        let gap = to - from;
        let by_degree = DEGREES.iter().filter_map(|degree| Weights::new(before, gap, after, *degree));
        let tried = by_degree.chain(self.learned(before, gap, after)).filter_map(|weights| {
            let scatter = self.scatter(&weights)?;
            Some((scatter, self.off(&weights, from - before)))
        });
        let Some((scatter, off)) = tried.min_by(|a, b| a.0.total_cmp(&b.0)) else { return Join::Unknown };
        let odds = if quiet > LONGEST_SPLICE_CELLS { LONG_LOSS_ODDS } else { 1.0 };
        let whole = odds * wrapped_normal(off, scatter.max(LEAST_SCATTER));
        match whole / (whole + 1.0) {
            chance if chance >= SURE => Join::Whole,
            chance if chance <= 1.0 - SURE => Join::Broken,
            _ => Join::Unknown,
        }
    }

    /// Turns by which the gap of a stretch differs from what its two sides foretell.
    fn off(&self, weights: &Weights, start: usize) -> f64 {
        let mean = |at: usize| self.cells.get(start + at).map_or(0.0, |cell| cell.0);
        let sum = weights.of.iter().enumerate().map(|(at, weight)| weight * mean(at)).sum::<f64>();
        self.turns * (sum + weights.constant)
    }

    /// Where stretches of so many cells begin in which nothing is missing.
    fn whole(&self, length: usize) -> Vec<usize> {
        let mut run = 0;
        let ends = self.cells.iter().enumerate().filter(|(_, (_, good))| {
            run = if *good { run + 1 } else { 0 };
            run >= length
        });
        ends.map(|(at, _)| at + 1 - length).collect()
    }

    /// The usual size of that difference where nothing is missing.
    fn scatter(&self, weights: &Weights) -> Option<f64> {
        let starts = self.whole(weights.of.len());
        let squares: f64 = starts.iter().map(|start| self.off(weights, *start).powi(2)).sum();
        let spare = starts.len().checked_sub(weights.learned)?;
        let overlap = if weights.learned > 0 { OVERLAP } else { 1.0 };
        (starts.len() >= FEWEST_TRIALS).then(|| overlap * (squares / spare.max(1) as f64).sqrt())
    }

    /// The weights that foretell the gaps of sound stretches best, by least squares about their mean.
    fn learned(&self, before: usize, gap: usize, after: usize) -> Option<Weights> {
        let length = before + gap + after;
        let starts = self.whole(length);
        let size = before + after + 1;
        if starts.len() < LESSONS * size {
            return None;
        }
        let sides: Vec<usize> = (0..before).chain(before + gap..length).collect();
        let mut rows = vec![vec![0.0; size + 1]; size];
        for &start in &starts {
            let cell = |at: &usize| self.cells.get(start + at).map_or(0.0, |cell| cell.0);
            let known: Vec<f64> = sides.iter().map(cell).chain([1.0]).collect();
            let missing: f64 = (before..before + gap).map(|at| cell(&at)).sum();
            for (row, one) in rows.iter_mut().zip(&known) {
                row.iter_mut()
                    .zip(known.iter().chain([&missing]))
                    .for_each(|(sum, other)| *sum += one * other);
            }
        }
        // Speeds without noise would leave the weights open; a hair of stiffness closes them.
        let stiff = 1e-9 * rows.iter().enumerate().take(size - 1).map(|(at, row)| row[at]).sum::<f64>();
        rows.iter_mut().enumerate().take(size - 1).for_each(|(at, row)| row[at] += stiff);
        let solved = solve(rows, 1e-300)?;
        let mut of = vec![1.0; length];
        sides.iter().zip(&solved).for_each(|(side, weight)| of[*side] = -weight);
        Some(Weights { of, constant: -*solved.last()?, learned: size })
    }
}

/// Weights of the cells before, in and after a gap, whose sum is the gap itself less what its sides foretell.
struct Weights {
    of: Vec<f64>,
    constant: f64,
    /// How many of them were learned from the cells themselves.
    learned: usize,
}

impl Weights {
    /// Least squares through the cells of both sides; none if they do not fix the polynomial.
    fn new(before: usize, gap: usize, after: usize, degree: usize) -> Option<Self> {
        let length = before + gap + after;
        let in_gap = |at: usize| (before..before + gap).contains(&at);
        let place = |at: usize| 2.0 * at as f64 / (length - 1) as f64 - 1.0;
        let powers = |at: usize| {
            let times = |power: &f64| Some(power * place(at));
            std::iter::successors(Some(1.0), times).take(degree + 1).collect::<Vec<_>>()
        };
        let size = degree + 1;
        // The normal equations, with the sums over the gap on their right-hand side.
        let mut rows = vec![vec![0.0; size + 1]; size];
        for at in 0..length {
            let powers = powers(at);
            for (row, power) in rows.iter_mut().zip(&powers) {
                if in_gap(at) {
                    row[size] += power;
                } else {
                    row.iter_mut().zip(&powers).for_each(|(cell, other)| *cell += power * other);
                }
            }
        }
        let solved = solve(rows, 1e-9)?;
        let foretold = |at: usize| powers(at).iter().zip(&solved).map(|(power, s)| power * s).sum::<f64>();
        let of = (0..length).map(|at| if in_gap(at) { 1.0 } else { -foretold(at) }).collect();
        Some(Self { of, constant: 0.0, learned: 0 })
    }
}

/// Gauss's elimination with the largest pivot; none for a matrix that cannot be inverted.
fn solve(mut rows: Vec<Vec<f64>>, smallest: f64) -> Option<Vec<f64>> {
    let size = rows.len();
    for at in 0..size {
        let pivot = (at..size).max_by(|&a, &b| rows[a][at].abs().total_cmp(&rows[b][at].abs()))?;
        rows.swap(at, pivot);
        let row = rows[at].clone();
        if row[at].abs() < smallest {
            return None;
        }
        for (_, other) in rows.iter_mut().enumerate().filter(|(n, _)| *n != at) {
            let share = other[at] / row[at];
            other.iter_mut().zip(&row).for_each(|(cell, own)| *cell -= share * own);
        }
    }
    Some(rows.iter().enumerate().map(|(at, row)| row[size] / row[at]).collect())
}

/// Density of a normal scatter that is known but for whole turns, for each turn.
fn wrapped_normal(off: f64, scatter: f64) -> f64 {
    // A scatter of half a turn and more leaves every place as likely.
    if scatter > 0.5 {
        return 1.0;
    }
    let near = off - off.round();
    let density = |turns: i32| (-0.5 * ((near + f64::from(turns)) / scatter).powi(2)).exp();
    (-2..=2).map(density).sum::<f64>() / (scatter * std::f64::consts::TAU.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::make::Noise;

    /// Five seconds of wow and random wander with a gap of five cells, after which some turns are missing.
    fn judged(jump: f64, wander: f64, quiet: u64) -> Join {
        let (mut joins, mut noise) = (Joins::new(63.0), Noise::new(3));
        for at in 0..250_u32 {
            let mean = 0.001 * (0.24 * f64::from(at)).sin() + wander * noise.normal();
            // What is heard in the gap adds up to whole turns and the jump.
            let heard = if at == 127 { mean + (jump + 3.0) / 63.0 } else { mean };
            joins.cell(heard, !(125..130).contains(&at));
        }
        joins.judge(125, 130, quiet)
    }

    #[test]
    fn a_wave_that_goes_on_elsewhere_is_a_join_and_one_that_goes_on_is_none() {
        for jump in [0.1, 0.3, 0.5, 0.8] {
            assert_eq!(judged(jump, 1e-5, 1), Join::Broken, "{jump}");
        }
        assert_eq!(judged(0.0, 1e-5, 1), Join::Whole);
        assert_eq!(judged(1.0, 1e-5, 1), Join::Whole);
    }

    #[test]
    fn where_the_speed_wanders_too_much_nothing_is_said() {
        // A scatter of half a per cent from cell to cell: the turns in the gap cannot be foretold.
        for jump in [0.0, 0.2, 0.5] {
            assert_eq!(judged(jump, 0.005, 1), Join::Unknown, "{jump}");
        }
        // A loss of a fifth of a second is a drop-out all the same.
        assert_eq!(judged(0.2, 0.005, 9), Join::Whole);
    }

    #[test]
    fn too_little_on_either_side_says_nothing() {
        let mut joins = Joins::new(63.0);
        (0..30).for_each(|at| joins.cell(0.0, !(3..8).contains(&at)));
        assert_eq!(joins.judge(3, 8, 1), Join::Unknown);
    }
}
