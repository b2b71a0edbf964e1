//! Sharing between machines of one type: what fails early in one is expected to fail early in the others, each
//! machine having a factor of its own.

use super::column::Column;
use super::{Fineness, Known, MACHINE_LOG_SD, OverScale, Posterior, Prior, laid_out, where_it_matters};
use crate::weibull_terms::Terms;

/// Places and weights for the mean of a function over a normal law: nine-point Gauss-Hermite, for e^(−x²)
/// (Abramowitz and Stegun, table 25.10).
pub(crate) const NINE: [(f64, f64); 9] = [
    (-3.190_993_201_781_527_6, 3.960_697_726_326_438e-5),
    (-2.266_580_584_531_843, 4.943_624_275_536_947e-3),
    (-1.468_553_289_216_668, 8.847_452_739_437_657e-2),
    (-0.723_551_018_752_837_6, 0.432_651_559_002_555_75),
    (0.0, 0.720_235_215_606_051),
    (0.723_551_018_752_837_6, 0.432_651_559_002_555_75),
    (1.468_553_289_216_668, 8.847_452_739_437_657e-2),
    (2.266_580_584_531_843, 4.943_624_275_536_947e-3),
    (3.190_993_201_781_527_6, 3.960_697_726_326_438e-5),
];

/// The same rule with five points.
pub(crate) const FIVE: [(f64, f64); 5] = [
    (-2.020_182_870_456_085_6, 1.995_324_205_904_591_3e-2),
    (-0.958_572_464_613_818_5, 0.393_619_323_152_241_2),
    (0.0, 0.945_308_720_482_941_9),
    (0.958_572_464_613_818_5, 0.393_619_323_152_241_2),
    (2.020_182_870_456_085_6, 1.995_324_205_904_591_3e-2),
];

/// The lives of like parts in several machines.
///
/// The shape is common. ln of scale is that of the family plus a factor of the machine, normal with standard deviation
/// `machine_log_sd`.
#[derive(Clone, PartialEq, Debug)]
pub struct Family {
    /// What was believed of the family beforehand.
    pub prior: Prior,
    /// Standard deviation of ln of a machine's own factor.
    pub machine_log_sd: f64,
    /// What is known of each machine's lives.
    pub machines: Vec<Known>,
}

impl Family {
    /// Machines with the usual difference between them.
    pub const fn new(prior: Prior, machines: Vec<Known>) -> Self {
        Self { prior, machine_log_sd: MACHINE_LOG_SD, machines }
    }

    /// What is believed of the part in one of the machines (`None`: in one of the type that is not among them), once
    /// the lives of all are known.
    pub fn posterior(&self, of: Option<usize>) -> Posterior {
        self.with(of, Fineness::USUAL)
    }

    /// The same on a coarser grid, for whoever asks about a hundred parts at once: chances differ from those of
    /// [`Family::posterior`] by less than a hundredth of themselves.
    pub fn quick_posterior(&self, of: Option<usize>) -> Posterior {
        self.with(of, Fineness::QUICK)
    }

    pub(crate) fn with(&self, of: Option<usize>, fineness: Fineness) -> Posterior {
        let terms: Vec<Terms> = self.machines.iter().map(|known| Terms::of(known.lives.records())).collect();
        let spread = self.prior.scale_log_sd.hypot(self.machine_log_sd);
        let nothing = Terms::of(&[]);
        let column = |shape: f64| {
            let middle = self.prior.scale.ln();
            let column =
                |at: usize| Column::new(shape, middle, spread, &terms[at], &self.machines[at].banded);
            let own = of.filter(|&at| at < terms.len());
            FamilyColumn {
                own: own.map_or_else(|| Column::new(shape, middle, spread, &nothing, &[]), column),
                others: (0..terms.len())
                    .filter(|&at| Some(at) != own && self.machines[at].n() > 0)
                    .map(column)
                    .collect(),
                middle,
                family_sd: self.prior.scale_log_sd,
                machine_sd: self.machine_log_sd,
                fineness,
            }
        };
        Posterior {
            laws: laid_out(self.prior, fineness, column),
            prior: self.prior.doubted(self.prior.shape_log_sd, spread),
            failures: self.machines.iter().map(Known::failures).sum(),
            n: self.machines.iter().map(Known::n).sum(),
        }
    }
}

/// The belief about one machine's scale for one shape, the other machines weighing in through the family.
struct FamilyColumn<'a> {
    own: Column<'a>,
    others: Vec<Column<'a>>,
    middle: f64,
    family_sd: f64,
    machine_sd: f64,
    fineness: Fineness,
}

impl FamilyColumn<'_> {
    /// What the other machines say of the family's ln scale, with its slope.
    fn of_others(&self, u: f64) -> (f64, f64) {
        let said =
            self.others.iter().map(|machine| averaged(machine, u, self.machine_sd, self.fineness.rule));
        said.fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1))
    }

    /// Places of the family's scale with ln of density times step.
    fn family_nodes(&self) -> Vec<(f64, f64)> {
        let reach = 8.0 * self.family_sd;
        let (low, high) = (self.middle - reach, self.middle + reach);
        match self.fineness.knots {
            Some(knots) => {
                let said = Knots::new(low, high, knots, |u| self.of_others(u));
                self.laid_over(low, high, |u| said.value(u))
            }
            None => self.laid_over(low, high, |u| self.of_others(u).0),
        }
    }

    fn laid_over(&self, low: f64, high: f64, others: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
        let family = |u: f64| others(u) - 0.5 * ((u - self.middle) / self.family_sd).powi(2);
        let (low, high) = where_it_matters(family, low, high, self.family_sd);
        let step = (high - low) / self.fineness.family as f64;
        let ln_step = step.ln();
        let node = |u: f64| (u, family(u) + ln_step);
        (0..=self.fineness.family).map(|at| node(low + step * at as f64)).collect()
    }

    /// ln of the density of the own scale at v.
    fn at(&self, family: &[(f64, f64)], v: f64) -> f64 {
        let ln = |&(u, ln): &(f64, f64)| ln - 0.5 * ((v - u) / self.machine_sd).powi(2);
        let top = family.iter().map(ln).fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = family.iter().map(|node| (ln(node) - top).exp()).sum();
        self.own.ln_likelihood(v) + top + sum.ln()
    }

    fn stretch(&self, family: &[(f64, f64)]) -> (f64, f64) {
        let reach = 8.0 * self.family_sd.hypot(self.machine_sd);
        let (low, high) = (self.middle - reach, self.middle + reach);
        where_it_matters(|v| self.at(family, v), low, high, self.machine_sd)
    }
}

impl OverScale for FamilyColumn<'_> {
    /// As if the machines had nothing in common but their shape: near enough to find which shapes matter.
    fn rough_ln_integral(&self) -> f64 {
        self.own.rough_ln_integral() + self.others.iter().map(Column::rough_ln_integral).sum::<f64>()
    }

    fn nodes(&self, at_least: usize) -> Vec<(f64, f64)> {
        let family = self.family_nodes();
        let (low, high) = self.stretch(&family);
        let needed = ((high - low) * self.own.shape / 0.7).ceil() as usize;
        let steps = at_least.max(needed.min(4 * at_least));
        let step = (high - low) / steps as f64;
        let ln_step = step.ln();
        let node = |v: f64| (v, self.at(&family, v) + ln_step);
        (0..=steps).map(|at| node(low + step * at as f64)).collect()
    }
}

/// ln of a machine's likelihood averaged over its factor, the family's ln scale held, and its slope: Gauss-Hermite
/// places laid about the summit of likelihood times factor.
fn averaged(machine: &Column<'_>, u: f64, sd: f64, rule: &[(f64, f64)]) -> (f64, f64) {
    let joint = |v: f64| machine.ln_likelihood(v) - 0.5 * ((v - u) / sd).powi(2);
    let (top, curve) = machine.summit_and_curve(u, sd);
    let width = (2.0 / curve).sqrt();
    // The summit's own height keeps the sum's terms near 1.
    let height = joint(top);
    let (mut sum, mut away) = (0.0, 0.0);
    for &(place, weight) in rule {
        let v = top + width * place;
        let term = weight * (joint(v) + place * place - height).exp();
        sum += term;
        away += term * (v - u);
    }
    (height + (width * sum).ln(), away / (sum * sd * sd))
}

/// A smooth function by its values and slopes at equal steps, laid through in between by cubics.
struct Knots {
    low: f64,
    step: f64,
    at: Vec<(f64, f64)>,
}

impl Knots {
    fn new(low: f64, high: f64, steps: usize, of: impl Fn(f64) -> (f64, f64)) -> Self {
        let step = (high - low) / steps as f64;
        Self { low, step, at: (0..=steps).map(|at| of(low + step * at as f64)).collect() }
    }

    /// The value; beyond the ends the end's own line goes on.
    fn value(&self, u: f64) -> f64 {
        let place = (u - self.low) / self.step;
        let last = self.at.len() - 1;
        if place <= 0.0 || place >= last as f64 {
            let end = if place <= 0.0 { 0 } else { last };
            let (value, slope) = self.at[end];
            return value + slope * (place - end as f64) * self.step;
        }
        let left = place.floor() as usize;
        let t = place - left as f64;
        let ((a, slope_a), (b, slope_b)) = (self.at[left], self.at[left + 1]);
        let rest = 1.0 - t;
        rest * rest * ((1.0 + 2.0 * t) * a + t * self.step * slope_a)
            + t * t * ((1.0 + 2.0 * rest) * b - rest * self.step * slope_b)
    }
}
