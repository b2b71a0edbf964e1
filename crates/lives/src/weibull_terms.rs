//! What a Weibull likelihood needs of the data, and nothing else.
//!
//! With x = ln of age, shape β and u = ln of scale, the logarithm of the likelihood of exact failures, censored and
//! late-entered lives is
//!
//! d ln β − dβu + (β−1) Σx over failures − e^(−βu) S(β),   S(β) = Σ e^(βx) at the end − Σ e^(βx) at entry.
//!
//! (The density's −u is in −dβu + (β−1)Σx; ages enter as they are.) A failure in a window adds S at its good end and
//! ln(1 − e^(−Δ)), Δ the hazard gathered across the window.

use crate::record::{Ending, LifeRecord};

/// A window in which failures happened, in ln of age; the good end may be minus infinity.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Window {
    pub good: f64,
    pub failed: f64,
    pub count: f64,
}

/// Sums over w·e^(βx), w·e^(βx)·(x−shift), w·e^(βx)·(x−shift)², all divided by e^(β·shift).
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Powers {
    pub s0: f64,
    pub s1: f64,
    pub s2: f64,
}

/// How the ends and entries of lives are kept.
#[derive(Clone, PartialEq, Debug)]
enum Ends {
    /// Each: ln of age less the shift, and weight (negative for an entry).
    Each(Vec<(f64, f64)>),
    /// Gathered into narrow cells with moments about the middle of each.
    Gathered(crate::gathered::Cells),
}

/// The data of a Weibull likelihood.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Terms {
    /// Exact failures.
    pub exact: f64,
    /// Sum of ln of age over them, less the shift each.
    pub sum_x: f64,
    /// What is taken from every ln of age, so that powers stay near 1.
    pub shift: f64,
    /// Failures not seen happening, in ln of age less the shift.
    pub windows: Vec<Window>,
    /// Least and greatest ln of age at an end, less the shift.
    pub low: f64,
    /// See `low`.
    pub high: f64,
    /// True where a life was watched from later than new.
    pub late: bool,
    ends: Ends,
}

impl Terms {
    /// Gathers the records; those that say nothing (censored at entry) fall out.
    pub fn of(records: &[LifeRecord]) -> Self {
        let mut terms = Self::nothing();
        let mut ends = Vec::with_capacity(records.len());
        for record in records {
            terms.take(record, &mut ends);
        }
        terms.high = ends.iter().filter(|end| end.1 > 0.0).map(|end| end.0).fold(f64::NEG_INFINITY, f64::max);
        terms.low = ends.iter().filter(|end| end.1 > 0.0).map(|end| end.0).fold(f64::INFINITY, f64::min);
        for window in &terms.windows {
            terms.high = terms.high.max(window.failed);
            terms.low = terms.low.min(window.failed);
        }
        terms.ends = Ends::Each(ends);
        let shift = if terms.high.is_finite() { terms.high } else { 0.0 };
        terms.shifted(shift)
    }

    /// Terms of failures that do not end the watch, over stretches of watch: those of a power-law process.
    pub fn of_stretches(failures: &[f64], stretches: &[(f64, f64)]) -> Self {
        let mut terms = Self::nothing();
        terms.exact = failures.len() as f64;
        terms.sum_x = failures.iter().map(|age| age.ln()).sum();
        let mut ends = Vec::with_capacity(2 * stretches.len());
        for &(from, until) in stretches {
            ends.push((until.ln(), 1.0));
            terms.high = terms.high.max(until.ln());
            if from > 0.0 {
                ends.push((from.ln(), -1.0));
                terms.late = true;
            }
        }
        terms.low = failures.iter().map(|age| age.ln()).fold(f64::INFINITY, f64::min);
        terms.ends = Ends::Each(ends);
        let shift = terms.high;
        terms.shifted(shift)
    }

    fn nothing() -> Self {
        Self {
            exact: 0.0,
            sum_x: 0.0,
            shift: 0.0,
            windows: Vec::new(),
            low: f64::INFINITY,
            high: f64::NEG_INFINITY,
            late: false,
            ends: Ends::Each(Vec::new()),
        }
    }

    /// Terms of lives that were gathered into cells: exact failures, the sum of their ln of age, and all ends.
    pub(crate) fn gathered(
        exact: f64,
        sum_x: f64,
        late: bool,
        bounds: (f64, f64),
        cells: crate::gathered::Cells,
    ) -> Self {
        let shift = cells.shift();
        Self {
            exact,
            sum_x: sum_x - exact * shift,
            shift,
            windows: Vec::new(),
            low: bounds.0 - shift,
            high: bounds.1 - shift,
            late,
            ends: Ends::Gathered(cells),
        }
    }

    fn take(&mut self, record: &LifeRecord, ends: &mut Vec<(f64, f64)>) {
        let count = record.count as f64;
        let mut end = |age: f64, weight: f64| {
            if age > 0.0 {
                ends.push((age.ln(), weight));
            }
        };
        let until = match record.ending {
            Ending::Failed(age) => {
                self.exact += count;
                self.sum_x += count * age.ln();
                age
            }
            Ending::Censored(age) => age,
            Ending::Between(good, failed) => {
                self.windows.push(Window { good: good.ln(), failed: failed.ln(), count });
                good
            }
            Ending::FailedBefore(failed) => {
                self.windows.push(Window { good: record.entered.ln(), failed: failed.ln(), count });
                record.entered
            }
        };
        if until > record.entered {
            self.late |= record.entered > 0.0;
            end(until, count);
            end(record.entered, -count);
        }
    }

    fn shifted(mut self, shift: f64) -> Self {
        if let Ends::Each(ends) = &mut self.ends {
            for end in ends {
                end.0 -= shift;
            }
        }
        for window in &mut self.windows {
            window.good -= shift;
            window.failed -= shift;
        }
        self.sum_x -= self.exact * shift;
        (self.shift, self.low, self.high) = (shift, self.low - shift, self.high - shift);
        self
    }

    /// Failures, seen and unseen.
    pub fn failures(&self) -> f64 {
        self.exact + self.windows.iter().map(|window| window.count).sum::<f64>()
    }

    /// The power sums at a shape, of x less the shift.
    pub fn powers(&self, shape: f64) -> Powers {
        match &self.ends {
            Ends::Each(ends) => {
                let mut sums = Powers { s0: 0.0, s1: 0.0, s2: 0.0 };
                for &(x, weight) in ends {
                    let power = weight * (shape * x).exp();
                    sums.s0 += power;
                    sums.s1 += power * x;
                    sums.s2 += power * x * x;
                }
                sums
            }
            Ends::Gathered(cells) => cells.powers(shape),
        }
    }

    /// The first power sum alone.
    pub fn power(&self, shape: f64) -> f64 {
        match &self.ends {
            Ends::Each(ends) => ends.iter().map(|&(x, weight)| weight * (shape * x).exp()).sum(),
            Ends::Gathered(cells) => cells.powers(shape).s0,
        }
    }

    /// Logarithm of the likelihood at a shape and ln of scale less the shift, where the power sum is known.
    pub fn ln_likelihood_at(&self, shape: f64, u: f64, power: f64) -> f64 {
        let seen = if self.exact > 0.0 {
            self.exact * shape.ln() - self.exact * shape * u + (shape - 1.0) * self.sum_x
                - self.exact * self.shift
        } else {
            0.0
        };
        seen - power * (-shape * u).exp() + self.windows_at(shape, u)
    }

    /// Logarithm of the likelihood at a shape and ln of scale less the shift.
    pub fn ln_likelihood(&self, shape: f64, u: f64) -> f64 {
        self.ln_likelihood_at(shape, u, self.power(shape))
    }

    /// The part of failures in windows, at a shape and ln of scale less the shift.
    pub fn windows_at(&self, shape: f64, u: f64) -> f64 {
        self.windows.iter().map(|window| window.count * window.ln_chance(shape, u)).sum()
    }
}

impl Window {
    /// Logarithm of the chance to fail in the window, once its good end is reached.
    fn ln_chance(&self, shape: f64, u: f64) -> f64 {
        let gathered = (shape * (self.failed - u)).exp() - (shape * (self.good - u)).exp();
        (-(-gathered).exp_m1()).ln()
    }
}
