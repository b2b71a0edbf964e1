//! Special functions, to about 1e-13 relative where the answer can be held that closely.
//!
//! `libm` gives the error function and the logarithm of the gamma function; the incomplete gamma functions, their
//! logarithms far out in the tails, and the quantiles are ours.

use std::f64::consts::{PI, SQRT_2};

const LN_SQRT_2_PI: f64 = 0.918_938_533_204_672_8;
/// Steps after which a series or continued fraction is taken as it stands; far more than double precision needs.
const MOST_STEPS: usize = 200_000;

/// Natural logarithm of the gamma function, for a positive argument.
pub fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}

/// Density of the standard normal law.
pub fn normal_pdf(z: f64) -> f64 {
    (-0.5 * z * z - LN_SQRT_2_PI).exp()
}

/// Logarithm of the density of the standard normal law.
pub fn ln_normal_pdf(z: f64) -> f64 {
    -0.5 * z * z - LN_SQRT_2_PI
}

/// Chance that a standard normal number lies below `z`.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// Chance that a standard normal number lies above `z`.
pub fn normal_sf(z: f64) -> f64 {
    0.5 * libm::erfc(z / SQRT_2)
}

/// Logarithm of the chance that a standard normal number lies above `z`; finite however far out.
pub fn ln_normal_sf(z: f64) -> f64 {
    if z < -5.0 {
        (-normal_cdf(z)).ln_1p()
    } else if z < 8.0 {
        normal_sf(z).ln()
    } else {
        ln_normal_pdf(z) + mills_far_out(z).ln()
    }
}

/// Chance above `z` over density at `z`, for `z` ≥ 8, by the continued fraction of Laplace.
fn mills_far_out(z: f64) -> f64 {
    let mut tail = z;
    for k in (1..60).rev() {
        tail = z + f64::from(k) / tail;
    }
    1.0 / tail
}

/// The number below which a standard normal number lies with chance `p`.
pub fn normal_quantile(p: f64) -> f64 {
    if p <= 0.5 { -normal_quantile_above(p) } else { normal_quantile_above(1.0 - p) }
}

/// The number above which a standard normal number lies with chance `q` ≤ ½: a rough start (Hastings; Abramowitz and
/// Stegun, 26.2.23), then Halley steps on the exact function.
fn normal_quantile_above(q: f64) -> f64 {
    if q <= 0.0 {
        return f64::INFINITY;
    }
    let t = (-2.0 * q.ln()).sqrt();
    let rough = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let mut z = t - rough / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)));
    for _ in 0..4 {
        // Newton on the logarithm: well behaved far out, where the chance itself underflows.
        let excess = ln_normal_sf(z) - q.ln();
        let slope = (ln_normal_pdf(z) - ln_normal_sf(z)).exp();
        // Second derivative of −ln sf is slope·(slope − z).
        let step = excess / slope;
        z += step / (1.0 + 0.5 * step * (slope - z));
    }
    z
}

/// What Stirling's formula lacks: ln Γ(a+1) − (a + ½) ln a + a − ½ ln 2π.
fn stirling_error(a: f64) -> f64 {
    if a < 16.0 {
        return ln_gamma(a + 1.0) - (a + 0.5) * a.ln() + a - LN_SQRT_2_PI;
    }
    let a2 = a * a;
    (1.0 / 12.0 - (1.0 / 360.0 - (1.0 / 1260.0 - (1.0 / 1680.0 - 1.0 / (1188.0 * a2)) / a2) / a2) / a2) / a
}

/// x ln(x/m) + m − x without cancellation where the two are close (Loader 2000, "Fast and accurate computation of
/// binomial probabilities").
fn deviance(x: f64, m: f64) -> f64 {
    let d = x - m;
    if d.abs() >= 0.1 * (x + m) {
        return x * (x / m).ln() - d;
    }
    let v = d / (x + m);
    let mut sum = d * v;
    let mut power = 2.0 * x * v;
    for j in 1..200 {
        power *= v * v;
        let next = sum + power / f64::from(2 * j + 1);
        if next == sum {
            break;
        }
        sum = next;
    }
    sum
}

/// ln( xᵃ e⁻ˣ / Γ(a+1) ).
fn ln_front(a: f64, x: f64) -> f64 {
    -stirling_error(a) - deviance(a, x) - 0.5 * (2.0 * PI * a).ln()
}

/// Logarithms of the regularised incomplete gamma functions: lower P(a, x) and upper Q(a, x).
pub fn ln_gamma_p_q(a: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (f64::NEG_INFINITY, 0.0);
    }
    if x.is_infinite() {
        return (0.0, f64::NEG_INFINITY);
    }
    if x < a + 1.0 {
        let ln_p = (ln_front(a, x) + lower_series(a, x).ln()).min(0.0);
        (ln_p, ln_complement(ln_p))
    } else {
        let ln_q = (ln_front(a, x) + a.ln() + upper_fraction(a, x).ln()).min(0.0);
        (ln_complement(ln_q), ln_q)
    }
}

/// Regularised lower incomplete gamma function P(a, x).
pub fn gamma_p(a: f64, x: f64) -> f64 {
    ln_gamma_p_q(a, x).0.exp()
}

/// Regularised upper incomplete gamma function Q(a, x).
pub fn gamma_q(a: f64, x: f64) -> f64 {
    ln_gamma_p_q(a, x).1.exp()
}

/// ln(1 − eˣ) for x ≤ 0.
pub fn ln_complement(x: f64) -> f64 {
    if x > -std::f64::consts::LN_2 { (-x.exp_m1()).ln() } else { (-x.exp()).ln_1p() }
}

fn lower_series(a: f64, x: f64) -> f64 {
    let (mut term, mut sum) = (1.0, 1.0);
    for n in 1..MOST_STEPS {
        term *= x / (a + n as f64);
        sum += term;
        if term < sum * 1e-17 {
            break;
        }
    }
    sum
}

/// Lentz's way of the continued fraction 1/(x+1−a− 1(1−a)/(x+3−a− …)).
#[allow(clippy::many_single_char_names)] // The letters of the published method.
fn upper_fraction(a: f64, x: f64) -> f64 {
    let tiny = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / tiny;
    let mut d = 1.0 / b;
    let mut h = d;
    for i in 1..MOST_STEPS {
        let i = i as f64;
        let an = -i * (i - a);
        b += 2.0;
        d = an * d + b;
        d = if d.abs() < tiny { tiny } else { d };
        c = b + an / c;
        c = if c.abs() < tiny { tiny } else { c };
        d = 1.0 / d;
        let change = d * c;
        h *= change;
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    h
}

/// The x at which P(a, x) = p.
pub fn gamma_p_inverse(a: f64, p: f64) -> f64 {
    if p <= 0.0 {
        return 0.0;
    }
    if p >= 1.0 {
        return f64::INFINITY;
    }
    // In ln x the function ln P − ln Q rises through ln p − ln(1−p) once.
    let wanted = p.ln() - (-p).ln_1p();
    let z = normal_quantile(p);
    let wilson = a * (1.0 - 1.0 / (9.0 * a) + z / (3.0 * a.sqrt())).powi(3);
    let small = ((p.ln() + ln_gamma(a + 1.0)) / a).exp();
    let start = if wilson > 0.5 * a { wilson } else { small.max(1e-300) };
    let odds = |y: f64| {
        let (ln_p, ln_q) = ln_gamma_p_q(a, y.exp());
        ln_p - ln_q - wanted
    };
    crate::root::rising(odds, start.ln(), 0.5).map_or(f64::NAN, f64::exp)
}

/// Quantile of the chi-squared law.
pub fn chi_squared_quantile(p: f64, degrees: f64) -> f64 {
    2.0 * gamma_p_inverse(0.5 * degrees, p)
}

/// Chance that a chi-squared number lies above `x`.
pub fn chi_squared_sf(x: f64, degrees: f64) -> f64 {
    if x <= 0.0 { 1.0 } else { gamma_q(0.5 * degrees, 0.5 * x) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, wanted: f64, relative: f64) {
        assert!((found - wanted).abs() <= relative * wanted.abs(), "{found:e} is not {wanted:e}");
    }

    #[test]
    fn closed_forms_of_the_incomplete_gamma_function_hold() {
        for x in [1e-8_f64, 0.03, 0.7, 1.0, 2.5, 9.0, 40.0, 300.0] {
            near(gamma_q(1.0, x), (-x).exp(), 1e-13);
            near(gamma_p(1.0, x), -(-x).exp_m1(), 1e-13);
            near(gamma_p(0.5, x), libm::erf(x.sqrt()), 1e-13);
            near(gamma_q(0.5, x), libm::erfc(x.sqrt()), 2e-13);
            near(gamma_q(3.0, x), (-x).exp() * (1.0 + x + 0.5 * x * x), 1e-13);
        }
    }

    /// Q(n, m) is the chance of fewer than n events of a Poisson law of mean m: summed term by term.
    #[test]
    fn the_upper_function_is_a_poisson_sum() {
        for (n, mean) in [(5_u32, 2.0_f64), (40, 55.0), (300, 280.0), (1000, 1100.0)] {
            let mut ln_factorial = 0.0;
            let mut sum = 0.0;
            for k in 0..n {
                if k > 0 {
                    ln_factorial += f64::from(k).ln();
                }
                sum += (f64::from(k) * mean.ln() - mean - ln_factorial).exp();
            }
            near(gamma_q(f64::from(n), mean), sum, 1e-11);
        }
    }

    /// Standard normal quantiles and chi-squared quantiles as every statistical table prints them.
    #[test]
    fn quantiles_agree_with_the_tables() {
        near(normal_quantile(0.975), 1.959_963_984_540_054, 1e-14);
        near(normal_quantile(0.95), 1.644_853_626_951_472_2, 1e-14);
        near(normal_quantile(1e-10), -6.361_340_902_404_056, 1e-13);
        near(chi_squared_quantile(0.95, 1.0), 3.841_458_820_694_124, 1e-13);
        near(chi_squared_quantile(0.95, 10.0), 18.307_038_053_275_146, 1e-13);
        near(chi_squared_quantile(0.05, 2.0), 0.102_586_588_775_101, 1e-12);
    }

    #[test]
    fn quantiles_undo_their_functions() {
        for p in [1e-12, 1e-4, 0.2, 0.5, 0.77, 0.999, 1.0 - 1e-9] {
            near(normal_cdf(normal_quantile(p)), p, 1e-13);
            for a in [0.05, 0.4, 1.0, 3.7, 80.0, 5000.0] {
                let x = gamma_p_inverse(a, p);
                near(gamma_p(a, x), p, 1e-11);
            }
        }
    }

    #[test]
    fn the_normal_tail_is_smooth_where_the_method_changes() {
        for z in [-5.0, 8.0] {
            near(ln_normal_sf(z - 1e-9), ln_normal_sf(z + 1e-9), 1e-6);
        }
        // Asymptotic series at z = 40: φ/z·(1 − 1/z² + 3/z⁴ − 15/z⁶).
        let z: f64 = 40.0;
        let series = 1.0 - z.powi(-2) + 3.0 * z.powi(-4) - 15.0 * z.powi(-6) + 105.0 * z.powi(-8);
        near(ln_normal_sf(z), ln_normal_pdf(z) - z.ln() + series.ln(), 1e-14);
    }
}
