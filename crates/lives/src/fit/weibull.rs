//! The Weibull law and, with its shape held at 1, the exponential.

use super::{Fit, FitError, Intervals, Model, interval, made, z_of};
use crate::life::Life;
use crate::root;
use crate::weibull_terms::Terms;

/// ln of shape, in units of 1 over the spread of ln of age, between which a best shape is looked for.
const WIDEST: (f64, f64) = (-7.0, 11.0);
/// Looks over that stretch where there may be several summits.
const LOOKS: usize = 90;

/// The best ln scale (less the shift) for a shape; none where any scale does better the further it goes.
pub(super) fn best_scale(terms: &Terms, shape: f64, power: f64) -> Option<f64> {
    if terms.windows.is_empty() {
        return (power > 0.0).then(|| (power / terms.exact).ln() / shape);
    }
    // In v = −shape · ln scale each part of the likelihood is concave.
    let spans: Vec<(f64, f64)> = terms
        .windows
        .iter()
        .map(|window| ((shape * window.failed).exp() - (shape * window.good).exp(), window.count))
        .collect();
    let failures = terms.failures();
    let slope = |v: f64| {
        let rate = v.exp();
        let of_windows: f64 = spans.iter().map(|&(span, count)| count * over_exp_m1(rate * span)).sum();
        power * rate - terms.exact - of_windows
    };
    let weight = power + spans.iter().map(|&(span, count)| 0.5 * span * count).sum::<f64>();
    // Without anything that survived there is no summit: every failure may have come at once.
    if power <= 0.0 {
        return None;
    }
    root::rising(slope, (failures / weight).ln(), 0.5).map(|v| -v / shape)
}

/// y/(e^y − 1).
fn over_exp_m1(y: f64) -> f64 {
    if y < 1e-300 { 1.0 } else { y / y.exp_m1() }
}

/// Slope of the log-likelihood by shape, the scale held.
pub(super) fn slope(terms: &Terms, shape: f64, u: f64) -> f64 {
    let powers = terms.powers(shape);
    let rate = (-shape * u).exp();
    let mut slope = -rate * (powers.s1 - u * powers.s0);
    if terms.exact > 0.0 {
        slope += terms.exact / shape - terms.exact * u + terms.sum_x;
    }
    slope
        + terms.windows.iter().map(|window| window.count * Bend::of(window, shape, u).by_shape()).sum::<f64>()
}

/// Hazard across a window and its derivatives.
struct Bend {
    /// 1/(e^Δ − 1).
    q: f64,
    shape: f64,
    a0: f64,
    a1: f64,
    a2: f64,
}

impl Bend {
    fn of(window: &crate::weibull_terms::Window, shape: f64, u: f64) -> Self {
        let at = |x: f64, k: i32| {
            let power = (shape * (x - u)).exp();
            if power == 0.0 { 0.0 } else { power * (x - u).powi(k) }
        };
        let across = |k: i32| at(window.failed, k) - at(window.good, k);
        let (a0, a1, a2) = (across(0), across(1), across(2));
        Self { q: a0.exp_m1().recip(), shape, a0, a1, a2 }
    }

    fn by_shape(&self) -> f64 {
        if self.a1 == 0.0 { 0.0 } else { self.q * self.a1 }
    }

    /// Second derivatives by ln shape and ln scale at the summit: first derivatives there cancel over all the data, so
    /// those of ln shape are taken as shape times those of shape and put right by the caller.
    fn second(&self) -> [f64; 3] {
        let b = self.shape;
        let (by_b, by_u) = (self.a1, -b * self.a0);
        let bend = -self.q * (1.0 + self.q);
        let b_b = self.q * self.a2 + bend * by_b * by_b;
        let b_u = self.q * (-self.a0 - b * self.a1) + bend * by_b * by_u;
        let u_u = self.q * b * b * self.a0 + bend * by_u * by_u;
        [b_b, b_u, u_u].map(|second| if second.is_nan() { 0.0 } else { second })
    }
}

/// Covariance of ln shape and ln scale at the summit.
pub(super) fn covariance(terms: &Terms, shape: f64, u: f64) -> [[f64; 2]; 2] {
    let powers = terms.powers(shape);
    let rate = (-shape * u).exp();
    let (a0, a1) = (rate * powers.s0, rate * (powers.s1 - u * powers.s0));
    let a2 = rate * (powers.s2 - 2.0 * u * powers.s1 + u * u * powers.s0);
    let mut second =
        [-terms.exact / (shape * shape) - a2, -terms.exact + a0 + shape * a1, -shape * shape * a0];
    for window in &terms.windows {
        for (sum, part) in second.iter_mut().zip(Bend::of(window, shape, u).second()) {
            *sum += window.count * part;
        }
    }
    let [b_b, b_u, u_u] = [-second[0] * shape * shape, -second[1] * shape, -second[2]];
    let det = b_b * u_u - b_u * b_u;
    [[u_u / det, -b_u / det], [-b_u / det, b_b / det]]
}

/// Log-likelihood of a shape with its best scale.
pub(super) fn profile(terms: &Terms, shape: f64) -> Option<(f64, f64)> {
    let power = terms.power(shape);
    let u = best_scale(terms, shape, power)?;
    Some((u, terms.ln_likelihood_at(shape, u, power)))
}

/// Slope of the profile by shape; by the summit over scale it is that with the scale held.
fn falling(terms: &Terms, ln_shape: f64) -> f64 {
    let shape = ln_shape.exp();
    best_scale(terms, shape, terms.power(shape)).map_or(f64::NAN, |u| -slope(terms, shape, u))
}

/// The shape and ln scale (less the shift) at the summit.
pub(super) fn summit(terms: &Terms) -> Result<(f64, f64), FitError> {
    let spread = terms.high - terms.low;
    if terms.windows.is_empty()
        && terms.sum_x / terms.exact >= terms.high - 1e-14 * terms.shift.abs().max(1.0)
    {
        return Err(FitError::NoSpread { age: (terms.high + terms.shift).exp() });
    }
    let unit = if spread > 1e-9 { -spread.ln() } else { 0.0 };
    let ln_shape = if terms.late || !terms.windows.is_empty() {
        best_of_many(terms, unit)?
    } else {
        root::rising(|y| falling(terms, y), unit.max(-3.0), 0.5).ok_or(runs_away("infinity"))?
    };
    let shape = ln_shape.exp();
    best_scale(terms, shape, terms.power(shape)).map(|u| (shape, u)).ok_or(runs_away("infinity"))
}

fn runs_away(towards: &'static str) -> FitError {
    FitError::NoSummit { model: "Weibull", parameter: "shape", towards }
}

/// Every summit over a wide stretch of shapes, the highest taken; none where the highest lies at an end.
fn best_of_many(terms: &Terms, unit: f64) -> Result<f64, FitError> {
    let place = |at: usize| unit + WIDEST.0 + (WIDEST.1 - WIDEST.0) * at as f64 / LOOKS as f64;
    let looks: Vec<(f64, f64)> = (0..=LOOKS).map(|at| (place(at), falling(terms, place(at)))).collect();
    let summits = looks.windows(2).filter(|pair| pair[0].1 < 0.0 && pair[1].1 >= 0.0).map(|pair| {
        let y = root::between(|y| falling(terms, y), pair[0], pair[1]);
        (y, profile(terms, y.exp()).map_or(f64::NEG_INFINITY, |(_, ln)| ln))
    });
    let best = summits.max_by(|a, b| a.1.total_cmp(&b.1));
    let end = |at: usize| profile(terms, place(at).exp()).map_or(f64::NEG_INFINITY, |(_, ln)| ln);
    let usable = |at: usize| looks[at].1.is_finite();
    let last = (0..=LOOKS).rev().find(|&at| usable(at)).unwrap_or(LOOKS);
    match best {
        Some((y, ln)) if ln >= end(0) - 1e-9 && ln >= end(last) - 1e-9 => Ok(y),
        _ if end(0) > end(last) => Err(runs_away("0")),
        _ => Err(runs_away("infinity")),
    }
}

/// Fits the Weibull law to its terms; counts and caveats are the caller's.
pub(crate) fn fit(terms: &Terms, confidence: f64) -> Result<Fit, FitError> {
    let (shape, u) = summit(terms)?;
    let best = terms.ln_likelihood(shape, u);
    let covariance = covariance(terms, shape, u);
    let sds = [covariance[0][0].max(0.0).sqrt(), covariance[1][1].max(0.0).sqrt()];
    let z = z_of(confidence);
    let of_shape =
        |ln_shape: f64| best - profile(terms, ln_shape.exp()).map_or(f64::NEG_INFINITY, |(_, ln)| ln);
    let of_scale = |u: f64| best - best_at_scale(terms, u, shape).1;
    let by_fall = |fall: f64| Intervals {
        shape: Some(interval::by_fall(of_shape, shape.ln(), sds[0], fall)),
        scale: Some(shifted_back(interval::by_fall(of_scale, u, sds[1], fall), terms.shift)),
        location: None,
    };
    let scale = (u + terms.shift).exp();
    let mut wide = [[0.0; 3]; 3];
    for (i, j) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
        wide[i][j] = covariance[i][j];
    }
    Ok(Fit {
        life: made(Model::Weibull, shape, scale, 0.0),
        model: Model::Weibull,
        ln_likelihood: best,
        n: 0,
        failures: 0,
        confidence,
        wald: Intervals {
            shape: Some(interval::wald(shape, sds[0], z)),
            scale: Some(interval::wald(scale, sds[1], z)),
            location: None,
        },
        likelihood_ratio: by_fall(0.5 * z * z),
        corrected: by_fall(0.5 * z * z * stretch(terms.failures())),
        caveats: Vec::new(),
        covariance: wide,
    })
}

/// By what the fall is stretched for small samples.
///
/// Twice the fall is spread like chi-squared with mean 1 only for many failures (Bartlett 1937); for Weibull shape and
/// scale its mean is near 1 + 1.5/failures, found by simulation of complete and censored samples
/// (`tests/coverage.rs` shows the coverage that comes of it).
pub(super) fn stretch(failures: f64) -> f64 {
    1.0 + 1.5 / failures
}

fn shifted_back(interval: interval::Interval, shift: f64) -> interval::Interval {
    let factor = shift.exp();
    interval::Interval { low: interval.low * factor, high: interval.high * factor }
}

/// The best shape for a scale, looked for from a shape that is near, and the log-likelihood there.
pub(super) fn best_at_scale(terms: &Terms, u: f64, near: f64) -> (f64, f64) {
    let ln_shape = root::rising(|y| -slope(terms, y.exp(), u), near.ln(), 0.1);
    let shape = ln_shape.map_or(near, f64::exp);
    (shape, terms.ln_likelihood(shape, u))
}

/// The Weibull law at the summit, without intervals.
pub(super) fn law_alone(terms: &Terms) -> Result<Life, FitError> {
    let (shape, u) = summit(terms)?;
    Ok(made(Model::Weibull, shape, (u + terms.shift).exp(), 0.0))
}

/// The exponential law at the summit, without intervals.
pub(super) fn exponential_alone(terms: &Terms) -> Result<Life, FitError> {
    let (u, _) = profile(terms, 1.0).ok_or(NO_MEAN)?;
    Ok(made(Model::Exponential, 1.0, (u + terms.shift).exp(), 0.0))
}

/// An exponential likelihood that grows without end.
const NO_MEAN: FitError = FitError::NoSummit { model: "exponential", parameter: "mean", towards: "0" };

/// Fits the exponential law: the Weibull law with its shape held at 1.
pub(crate) fn fit_exponential(terms: &Terms, confidence: f64) -> Result<Fit, FitError> {
    let (u, best) = profile(terms, 1.0).ok_or(NO_MEAN)?;
    // Curvature by ln scale with the shape held: by differences, the function is smooth and cheap.
    let probe = 1e-3;
    let curve = (2.0 * best - terms.ln_likelihood(1.0, u + probe) - terms.ln_likelihood(1.0, u - probe))
        / (probe * probe);
    let sd = curve.sqrt().recip();
    let z = z_of(confidence);
    let below = |u: f64| best - terms.ln_likelihood(1.0, u);
    let scale = (u + terms.shift).exp();
    let one = |interval| Intervals { shape: None, scale: Some(interval), location: None };
    let by_fall = |fall| one(shifted_back(interval::by_fall(below, u, sd, fall), terms.shift));
    let mut covariance = [[0.0; 3]; 3];
    covariance[1][1] = sd * sd;
    Ok(Fit {
        life: made(Model::Exponential, 1.0, scale, 0.0),
        model: Model::Exponential,
        ln_likelihood: best,
        n: 0,
        failures: 0,
        confidence,
        wald: one(interval::wald(scale, sd, z)),
        likelihood_ratio: by_fall(0.5 * z * z),
        // The exact mean of twice the fall for n exponential lives is 1 + 1/(6n) + …
        corrected: by_fall(0.5 * z * z * (1.0 + 1.0 / (6.0 * terms.failures()))),
        caveats: Vec::new(),
        covariance,
    })
}
