//! Summits of smooth functions of two or three numbers: a simplex to come near, Newton with derivatives by differences
//! to arrive.

/// A summit.
#[derive(Clone, Debug)]
pub(super) struct Summit<const N: usize> {
    /// Where.
    pub at: [f64; N],
    /// How high.
    pub height: f64,
    /// Minus the second derivatives there.
    pub curvature: [[f64; N]; N],
}

/// Climbs from a start.
pub(super) fn climb<const N: usize>(f: &impl Fn(&[f64; N]) -> f64, start: [f64; N], size: f64) -> Summit<N> {
    let near = simplex(f, start, size);
    arrive(f, near)
}

/// Newton steps, each halved until it does not go down; few are needed.
pub(super) fn arrive<const N: usize>(f: &impl Fn(&[f64; N]) -> f64, start: [f64; N]) -> Summit<N> {
    let mut at = start;
    let mut height = f(&at);
    for _ in 0..30 {
        let (slope, curvature) = (slope(f, &at), curvature(f, &at));
        let Some(step) = solved(curvature, slope) else { break };
        let longest = step.iter().fold(0.0_f64, |longest, part| longest.max(part.abs()));
        let mut factor = if longest > 1.0 { longest.recip() } else { 1.0 };
        let mut moved = false;
        for _ in 0..12 {
            let mut next = at;
            for (next, step) in next.iter_mut().zip(&step) {
                *next += factor * step;
            }
            let there = f(&next);
            // Level within rounding is no fall: the last steps only put the place right.
            if there >= height - 1e-13 * (1.0 + height.abs()) {
                (at, height, moved) = (next, there, true);
                break;
            }
            factor *= 0.5;
        }
        if !moved || longest < 1e-10 {
            break;
        }
    }
    Summit { at, height, curvature: curvature(f, &at) }
}

/// First derivatives by five points: the error is of the fourth power of the step.
fn slope<const N: usize>(f: &impl Fn(&[f64; N]) -> f64, at: &[f64; N]) -> [f64; N] {
    const STEP: f64 = 1e-3;
    std::array::from_fn(|i| {
        let g = |k: f64| {
            let mut there = *at;
            there[i] += k * STEP;
            f(&there)
        };
        (8.0 * (g(1.0) - g(-1.0)) - (g(2.0) - g(-2.0))) / (12.0 * STEP)
    })
}

/// Minus the second derivatives.
#[allow(clippy::needless_range_loop)] // Rows and columns of one matrix.
fn curvature<const N: usize>(f: &impl Fn(&[f64; N]) -> f64, at: &[f64; N]) -> [[f64; N]; N] {
    const STEP: f64 = 2e-3;
    let g = |i: usize, a: f64, j: usize, b: f64| {
        let mut there = *at;
        there[i] += a * STEP;
        there[j] += b * STEP;
        f(&there)
    };
    let here = f(at);
    let mut second = [[0.0; N]; N];
    for i in 0..N {
        let (one, two) = (g(i, 1.0, i, 0.0) + g(i, -1.0, i, 0.0), g(i, 2.0, i, 0.0) + g(i, -2.0, i, 0.0));
        second[i][i] = -(16.0 * one - two - 30.0 * here) / (12.0 * STEP * STEP);
        for j in 0..i {
            let mixed = |k: f64| g(i, k, j, k) - g(i, k, j, -k) - g(i, -k, j, k) + g(i, -k, j, -k);
            let value = -(16.0 * mixed(1.0) - mixed(2.0)) / (48.0 * STEP * STEP);
            second[i][j] = value;
            second[j][i] = value;
        }
    }
    second
}

/// Solves a symmetric positive definite system; none where it is not.
pub(super) fn solved<const N: usize>(matrix: [[f64; N]; N], right: [f64; N]) -> Option<[f64; N]> {
    let rows = matrix.iter().map(|row| row.to_vec()).collect::<Vec<_>>();
    let solution = crate::linear::Cholesky::of(&rows)?.solve(&right);
    let mut out = [0.0; N];
    out.copy_from_slice(&solution);
    Some(out)
}

/// The inverse of a symmetric positive definite matrix; none where it is not.
pub(super) fn inverse<const N: usize>(matrix: [[f64; N]; N]) -> Option<[[f64; N]; N]> {
    let mut inverse = [[0.0; N]; N];
    for i in 0..N {
        let mut unit = [0.0; N];
        unit[i] = 1.0;
        inverse[i] = solved(matrix, unit)?;
    }
    Some(inverse)
}

/// The downhill simplex (Nelder and Mead 1965), uphill.
fn simplex<const N: usize>(f: &impl Fn(&[f64; N]) -> f64, start: [f64; N], size: f64) -> [f64; N] {
    let value = |at: &[f64; N]| {
        let value = f(at);
        if value.is_nan() { f64::NEG_INFINITY } else { value }
    };
    let mut corners: Vec<([f64; N], f64)> = vec![(start, value(&start))];
    for i in 0..N {
        let mut at = start;
        at[i] += size;
        corners.push((at, value(&at)));
    }
    for _ in 0..400 {
        corners.sort_by(|a, b| b.1.total_cmp(&a.1));
        if corners[0].1 - corners[N].1 < 1e-9 * (1.0 + corners[0].1.abs()) {
            break;
        }
        let middle: [f64; N] =
            std::array::from_fn(|i| corners[..N].iter().map(|corner| corner.0[i]).sum::<f64>() / N as f64);
        let worst = corners[N];
        let along = |k: f64| {
            let at: [f64; N] = std::array::from_fn(|i| middle[i] + k * (worst.0[i] - middle[i]));
            (at, value(&at))
        };
        let mirrored = along(-1.0);
        let next = if mirrored.1 > corners[0].1 {
            let further = along(-2.0);
            if further.1 > mirrored.1 { further } else { mirrored }
        } else if mirrored.1 > corners[N - 1].1 {
            mirrored
        } else {
            along(if mirrored.1 > worst.1 { -0.5 } else { 0.5 })
        };
        if next.1 > worst.1 {
            corners[N] = next;
        } else {
            let best = corners[0].0;
            for corner in &mut corners[1..] {
                let at: [f64; N] = std::array::from_fn(|i| 0.5 * (corner.0[i] + best[i]));
                *corner = (at, value(&at));
            }
        }
    }
    corners.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(start, |best| best.0)
}
