//! Belief in a Weibull life, quickly: the same belief as `lives::bayes::Family`, on a grid made once.
//!
//! # Method
//! Ages are shares of the prior scale, so that one grid serves a mode of a kind in every booth. The belief is laid out
//! over ln shape and ln scale in equal steps. For a fixed shape β the likelihood of complete, censored and late-entered
//! lives needs three sums only: failures d, Σ ln age over them, and S = Σ (end^β − entry^β):
//! ln L(v) = d ln β + (β − 1) Σ ln age − dβv − S e^(−βv), v being ln scale. A machine's own factor is averaged out by a
//! fixed matrix. Chances of failure by an age x have e^(βx) and e^(βv) only as e^(β(x − v)), so that one row of values
//! for each shape serves all ages and scales. Nothing is worked out twice, and hardly any exponential is left.
//! The sums run over rows of fixed length, compiled by `pulp` for the processor at hand; the order of adding is the same
//! on each, and so are the numbers.
//! Tests hold the chances against those of `lives`.

use super::quick::quick_exp;
use crate::scenario::Mode;
use lives::bayes::{MACHINE_LOG_SD, SCALE_LOG_SD, SHAPE_LOG_SD};

/// Steps in ln shape.
pub(crate) const SHAPES: usize = 9;
/// Steps in ln of a machine's scale: from −REACH to REACH.
const SCALES: usize = 49;
const REACH: f64 = 1.92;
const STEP: f64 = 0.08;
/// Steps in ln of the family's scale, three times as wide: the machine's own factor blurs what is finer.
const FAMILY: usize = 17;
/// Room for them in whole steps of what a processor takes at once; what is beyond them stays nothing.
const FAMILY_ROOM: usize = 20;
/// Numbers that are compared side by side.
const LANES: usize = 8;
/// Ages of a table, from e^−4.2 to e^1.4 of the prior scale in steps of two.
const AGES: usize = 36;
const FIRST_AGE: f64 = -4.2;
const AGE_STEP: f64 = 2.0 * STEP;
/// Place in a row of x − v = −4.2 − 1.92.
const ROW: usize = 2 * AGES + SCALES;

/// What is worked out once for a mode.
pub(crate) struct Grid {
    pub mode: Mode,
    pub shapes: [f64; SHAPES],
    ln_shapes: [f64; SHAPES],
    ln_prior: [f64; SHAPES],
    /// e^(−βv) at each step.
    powers: Vec<[f64; SCALES]>,
    /// Chance of failure by x where ln scale is v, by steps of x − v; even and odd steps apart.
    failed: Vec<[[f64; ROW / 2 + 1]; 2]>,
    family_prior: [f64; FAMILY_ROOM],
    /// Weight of a family's scale for a machine's, by machine and by family.
    own_of: Vec<[f64; SCALES]>,
    family_of: Vec<[f64; FAMILY_ROOM]>,
    pub prior: Table,
}

/// What the lives in one machine say of the scale of its family, shape by shape.
pub(crate) struct Kin {
    ln: [f64; SHAPES],
    family: [[f64; FAMILY_ROOM]; SHAPES],
}

/// The sums that a likelihood needs.
#[derive(Clone, Copy, Default)]
pub(crate) struct Sums {
    pub failures: f64,
    pub ln_ages: f64,
    pub gathered: [f64; SHAPES],
}

impl Sums {
    /// Adds a life, its ages as shares of the prior scale; `failed` may be a share, where several modes may be to blame.
    pub fn add(&mut self, grid: &Grid, entered: f64, age: f64, failed: f64) {
        let age = age.max(1e-6);
        self.wore(grid, entered, age, 1.0);
        self.failures += failed;
        self.ln_ages += failed * age.ln();
    }

    /// Adds the hazard of a stretch of life, so many times over.
    pub fn wore(&mut self, grid: &Grid, from: f64, to: f64, times: f64) {
        let (ln_to, ln_from) = (to.max(1e-9).ln(), from.max(1e-9).ln());
        for (sum, shape) in self.gathered.iter_mut().zip(&grid.shapes) {
            let before = if from > 0.0 { quick_exp(shape * ln_from) } else { 0.0 };
            *sum += times * (quick_exp(shape * ln_to) - before).max(0.0);
        }
    }

    fn are_none(&self) -> bool {
        self.failures <= 0.0 && self.gathered[SHAPES / 2] <= 0.0
    }

    /// The likelihood of each scale beside the greatest for a shape, and ln of that.
    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn likelihood(&self, grid: &Grid, at: usize) -> ([f64; SCALES], f64) {
        let shape = grid.shapes[at];
        let mut likely = [0.0; SCALES];
        let (slope, gathered) = (self.failures * shape, self.gathered[at]);
        for (i, (ln, power)) in likely.iter_mut().zip(&grid.powers[at]).enumerate() {
            *ln = -slope * place(i) - gathered * power;
        }
        let top = greatest(&likely);
        for likely in &mut likely {
            let below = *likely - top;
            let share = quick_exp(below);
            *likely = if below < NOTHING { 0.0 } else { share };
        }
        (likely, top + self.failures * grid.ln_shapes[at] + (shape - 1.0) * self.ln_ages)
    }
}

#[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
#[inline(always)]
fn greatest(row: &[f64; SCALES]) -> f64 {
    let higher = |a: f64, b: f64| if a > b { a } else { b };
    let (chunks, rest) = row.as_chunks::<LANES>();
    let mut tops = [f64::NEG_INFINITY; LANES];
    for chunk in chunks {
        for (top, x) in tops.iter_mut().zip(chunk) {
            *top = higher(*top, *x);
        }
    }
    tops.iter().chain(rest).copied().fold(f64::NEG_INFINITY, higher)
}

/// A share of weight that is left out.
const NEGLIGIBLE: f64 = 1e-6;
/// ln of a share of weight that is nothing.
const NOTHING: f64 = -16.0;

/// A machine's scale lies within so many steps of its family's: five standard deviations and more.
const NEAR: usize = 13;

fn place(at: usize) -> f64 {
    -REACH + STEP * at as f64
}

fn family_place(at: usize) -> f64 {
    3.0 * STEP * (at as f64 - 0.5 * (FAMILY as f64 - 1.0))
}

impl Grid {
    pub fn new(mode: Mode) -> Self {
        let z = |at: usize| 0.6 * (at as f64 - 0.5 * (SHAPES as f64 - 1.0));
        let mut shapes = [0.0; SHAPES];
        let mut ln_prior = [0.0; SHAPES];
        for at in 0..SHAPES {
            shapes[at] = mode.shape * (SHAPE_LOG_SD * z(at)).exp();
            ln_prior[at] = -0.5 * z(at) * z(at);
        }
        let normal = |x: f64, sd: f64| (-0.5 * (x / sd) * (x / sd)).exp();
        let mut family_prior = [0.0; FAMILY_ROOM];
        let mut family_of = vec![[0.0; FAMILY_ROOM]; SCALES];
        let mut own_of = vec![[0.0; SCALES]; FAMILY];
        for j in 0..FAMILY {
            family_prior[j] = normal(family_place(j), SCALE_LOG_SD);
            for i in 0..SCALES {
                // Families stand at every third step.
                let is_near = i.abs_diff(3 * j) <= NEAR;
                let weight = if is_near { normal(place(i) - family_place(j), MACHINE_LOG_SD) } else { 0.0 };
                family_of[i][j] = weight;
                own_of[j][i] = weight;
            }
        }
        let powers = shapes.map(|shape| std::array::from_fn(|i| (-shape * place(i)).exp())).to_vec();
        let failed = shapes.map(failed_row).to_vec();
        let mut grid = Self {
            mode,
            shapes,
            ln_shapes: shapes.map(f64::ln),
            ln_prior,
            powers,
            failed,
            family_prior,
            own_of,
            family_of,
            prior: Table { ln_gathered: [0.0; AGES] },
        };
        grid.prior = grid.table(&Sums::default(), &[]);
        grid
    }

    /// What the lives in one machine say of its family; nothing where there are none.
    pub fn kin(&self, sums: &Sums) -> Option<Kin> {
        if sums.are_none() {
            return None;
        }
        Some(pulp::Arch::new().dispatch(KinOf { grid: self, sums }))
    }

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn kin_here(&self, sums: &Sums) -> Kin {
        let mut kin = Kin { ln: [0.0; SHAPES], family: [[0.0; FAMILY_ROOM]; SHAPES] };
        for at in 0..SHAPES {
            let (likely, ln) = sums.likelihood(self, at);
            kin.ln[at] = ln;
            let mut family = [0.0; FAMILY_ROOM];
            for (likely, weights) in likely.iter().zip(&self.family_of) {
                if *likely > 0.0 {
                    for (sum, weight) in family.iter_mut().zip(weights) {
                        *sum += weight * likely;
                    }
                }
            }
            kin.family[at] = family;
        }
        kin
    }

    /// Hazard to expect by age of a part in a machine whose own lives are known, and what its kin say of the family.
    pub fn table(&self, own: &Sums, kin: &[&Kin]) -> Table {
        pulp::Arch::new().dispatch(TableOf { grid: self, own, kin })
    }

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn table_here(&self, own: &Sums, kin: &[&Kin]) -> Table {
        let mut weights = [[0.0; SCALES]; SHAPES];
        let mut ln_weight = self.ln_prior;
        for at in 0..SHAPES {
            let mut family = self.family_prior;
            for kin in kin {
                ln_weight[at] += kin.ln[at];
                for (weight, likely) in family.iter_mut().zip(&kin.family[at]) {
                    *weight *= likely;
                }
            }
            let mut scales = [0.0; SCALES];
            for (weight, blurs) in family.iter().zip(&self.own_of) {
                for (sum, blur) in scales.iter_mut().zip(blurs) {
                    *sum += weight * blur;
                }
            }
            if !own.are_none() {
                let (likely, ln) = own.likelihood(self, at);
                ln_weight[at] += ln;
                for (weight, likely) in scales.iter_mut().zip(&likely) {
                    *weight *= likely;
                }
            }
            weights[at] = scales;
        }
        self.expected(&weights, ln_weight)
    }

    /// The chance of failure by each age, the mean over all that is believed.
    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn expected(&self, weights: &[[f64; SCALES]; SHAPES], ln_weight: [f64; SHAPES]) -> Table {
        let heaviest = |at: usize| ln_weight[at] + weights[at].iter().sum::<f64>().max(1e-300).ln();
        let top = (0..SHAPES).map(heaviest).fold(f64::NEG_INFINITY, f64::max);
        let (mut failed, mut total) = ([0.0; AGES], 0.0);
        for at in 0..SHAPES {
            let shape_weight = (ln_weight[at] - top).exp();
            for (i, weight) in weights[at].iter().enumerate() {
                let weight = weight * shape_weight;
                if weight < NEGLIGIBLE {
                    continue;
                }
                total += weight;
                // x − v stands at 2k − i steps from the first.
                let from = SCALES - 1 - i;
                let row = &self.failed[at][from % 2][from / 2..from / 2 + AGES];
                for (sum, chance) in failed.iter_mut().zip(row) {
                    *sum += weight * chance;
                }
            }
        }
        let gathered = |failed: f64| -(-(failed / total).min(1.0 - 1e-12)).ln_1p();
        Table { ln_gathered: failed.map(|failed| gathered(failed).max(1e-300).ln()) }
    }
}

/// [`Grid::kin`], compiled for the processor at hand.
struct KinOf<'a> {
    grid: &'a Grid,
    sums: &'a Sums,
}

impl pulp::NullaryFnOnce for KinOf<'_> {
    type Output = Kin;

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn call(self) -> Kin {
        self.grid.kin_here(self.sums)
    }
}

/// [`Grid::table`], compiled for the processor at hand.
struct TableOf<'a> {
    grid: &'a Grid,
    own: &'a Sums,
    kin: &'a [&'a Kin],
}

impl pulp::NullaryFnOnce for TableOf<'_> {
    type Output = Table;

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn call(self) -> Table {
        self.grid.table_here(self.own, self.kin)
    }
}

/// Chances of failure by steps of x − v from the least, even and odd apart.
fn failed_row(shape: f64) -> [[f64; ROW / 2 + 1]; 2] {
    let least = FIRST_AGE - REACH;
    let chance = |step: usize| -(-(shape * (least + STEP * step as f64)).exp()).exp_m1();
    [std::array::from_fn(|at| chance(2 * at)), std::array::from_fn(|at| chance(2 * at + 1))]
}

/// Hazard gathered by age, over all that is believed: minus ln of the mean chance to live so long.
#[derive(Clone, Copy)]
pub(crate) struct Table {
    ln_gathered: [f64; AGES],
}

impl Table {
    /// A law that is known: its shape, and its scale as a share of the prior scale.
    pub fn of_law(shape: f64, scale: f64) -> Self {
        let ln_scale = scale.ln();
        let ln_age = |at: usize| FIRST_AGE + AGE_STEP * at as f64;
        Self { ln_gathered: std::array::from_fn(|at| shape * (ln_age(at) - ln_scale)) }
    }

    /// Hazard gathered by an age, a share of the prior scale.
    pub fn gathered(&self, age: f64) -> f64 {
        if age <= 0.0 { 0.0 } else { quick_exp(self.ln_gathered(age.ln())) }
    }

    /// ln of the hazard gathered by an age of this ln. Straight in logarithms between the steps and beyond.
    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    pub fn ln_gathered(&self, ln_age: f64) -> f64 {
        let steps = (ln_age - FIRST_AGE) / AGE_STEP;
        let at = (steps.max(0.0) as usize).min(AGES - 2);
        let (low, high) = (self.ln_gathered[at], self.ln_gathered[at + 1]);
        low + (steps - at as f64) * (high - low)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::scenario::Clock;
    use lives::{
        Ending, LifeRecord, Lives,
        bayes::{Family, Known, Prior},
    };

    /// Lives of a machine: age at entry, at the end, and whether it failed.
    type Rows = &'static [(f64, f64, bool)];

    fn known(rows: Rows) -> Known {
        let record = |&(entered, left, failed): &(f64, f64, bool)| LifeRecord {
            entered,
            ending: if failed { Ending::Failed(left) } else { Ending::Censored(left) },
            count: 1,
        };
        Known::from(Lives::new(rows.iter().map(record).collect::<Vec<_>>()).unwrap())
    }

    fn sums(grid: &Grid, rows: Rows) -> Sums {
        let mut sums = Sums::default();
        for &(entered, left, failed) in rows {
            let scale = grid.mode.scale;
            sums.add(grid, entered / scale, left / scale, f64::from(u8::from(failed)));
        }
        sums
    }

    #[test]
    fn the_quick_belief_is_that_of_the_lives() {
        const NONE: Rows = &[];
        const FEW: Rows = &[(12.0, 31.0, false), (0.0, 35.0, false), (0.0, 28.0, true)];
        const MANY: Rows = &[
            (0.0, 22.0, true),
            (0.0, 27.0, true),
            (0.0, 31.0, true),
            (0.0, 25.0, true),
            (0.0, 29.5, true),
            (0.0, 33.0, true),
            (0.0, 24.0, true),
            (0.0, 20.0, false),
            (0.0, 28.0, true),
            (0.0, 30.0, true),
        ];
        const LONG: Rows = &[(0.0, 90.0, true), (0.0, 104.0, true), (0.0, 88.0, false)];
        let (shape, scale) = (4.0, 55.0);
        let grid = Grid::new(Mode { clock: Clock::Hours, shape, scale });
        let cases: [&[Rows]; 6] =
            [&[NONE], &[FEW], &[FEW, MANY], &[MANY, FEW, NONE], &[NONE, LONG, LONG], &[LONG, FEW]];
        for case in cases {
            let family =
                Family::new(Prior::around(shape, scale), case.iter().map(|rows| known(rows)).collect());
            let belief = family.posterior(Some(0));
            let kin: Vec<Kin> = case[1..].iter().filter_map(|rows| grid.kin(&sums(&grid, rows))).collect();
            let kin: Vec<&Kin> = kin.iter().collect();
            let table = grid.table(&sums(&grid, case[0]), &kin);
            for age in [5.0_f64, 15.0, 30.0, 45.0, 70.0] {
                let theirs = belief.mean_failure_chance(0.0, age).value();
                let ours = -(-table.gathered(age / scale)).exp_m1();
                assert!(
                    (ours / theirs - 1.0).abs() < 0.03 || (ours - theirs).abs() < 2e-4,
                    "{case:?} by {age}: {ours} and {theirs}"
                );
            }
        }
    }
}
