//! Finding where a function of one number crosses nothing, or is greatest.

/// Steps after which a search gives up; each halves at least.
const MOST_STEPS: usize = 200;

/// Finds where a rising function crosses zero, from a start and a first step; none where no crossing can be bracketed.
pub(crate) fn rising(f: impl Fn(f64) -> f64, start: f64, step: f64) -> Option<f64> {
    let at_start = f(start);
    if at_start == 0.0 {
        return Some(start);
    }
    let direction = if at_start < 0.0 { 1.0 } else { -1.0 };
    let (mut near, mut f_near) = (start, at_start);
    let mut reach = step;
    for _ in 0..80 {
        let far = near + direction * reach;
        let f_far = f(far);
        if f_far.is_nan() {
            return None;
        }
        if f_far * direction >= 0.0 {
            return Some(between(f, (near, f_near), (far, f_far)));
        }
        (near, f_near) = (far, f_far);
        reach *= 2.0;
    }
    None
}

/// Finds the crossing between two places at which the function has opposite signs (Brent's way: secant or inverse
/// quadratic where they behave, halves where not).
#[allow(clippy::many_single_char_names)] // The letters of the published method.
pub(crate) fn between(f: impl Fn(f64) -> f64, a: (f64, f64), b: (f64, f64)) -> f64 {
    let (mut a, mut fa, mut b, mut fb) = (a.0, a.1, b.0, b.1);
    if fa.abs() < fb.abs() {
        (a, b, fa, fb) = (b, a, fb, fa);
    }
    let (mut c, mut fc, mut d) = (a, fa, b - a);
    let mut halved = true;
    for _ in 0..MOST_STEPS {
        if fb == 0.0 || (b - a).abs() <= 1e-15 * b.abs().max(1e-300) {
            break;
        }
        let guess = if fa != fc && fb != fc {
            a * fb * fc / ((fa - fb) * (fa - fc))
                + b * fa * fc / ((fb - fa) * (fb - fc))
                + c * fa * fb / ((fc - fa) * (fc - fb))
        } else {
            b - fb * (b - a) / (fb - fa)
        };
        let low = 0.75 * b + 0.25 * a;
        let inside = (guess - low) * (guess - b) < 0.0;
        let last = if halved { (b - c).abs() } else { (c - d).abs() };
        let s = if inside && (guess - b).abs() < 0.5 * last {
            halved = false;
            guess
        } else {
            halved = true;
            0.5 * (a + b)
        };
        let fs = f(s);
        (d, c, fc) = (c, b, fb);
        if fa * fs < 0.0 {
            (b, fb) = (s, fs);
        } else {
            (a, fa) = (s, fs);
        }
        if fa.abs() < fb.abs() {
            (a, b, fa, fb) = (b, a, fb, fa);
        }
    }
    b
}

/// Finds where a function with one summit is greatest, by golden sections of the stretch.
pub(crate) fn summit(f: impl Fn(f64) -> f64, low: f64, high: f64, steps: usize) -> (f64, f64) {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut low, mut high) = (low, high);
    let mut left = high - GOLDEN * (high - low);
    let mut right = low + GOLDEN * (high - low);
    let (mut f_left, mut f_right) = (f(left), f(right));
    for _ in 0..steps {
        if f_left < f_right {
            (low, left, f_left) = (left, right, f_right);
            right = low + GOLDEN * (high - low);
            f_right = f(right);
        } else {
            (high, right, f_right) = (right, left, f_left);
            left = high - GOLDEN * (high - low);
            f_left = f(left);
        }
    }
    if f_left > f_right { (left, f_left) } else { (right, f_right) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crossings_are_found_to_the_last_digits() {
        let found = rising(|x| x.exp() - 3.0, -20.0, 0.1);
        assert!((found.unwrap_or(f64::NAN) - 3.0_f64.ln()).abs() < 1e-14);
        let found = rising(|x| x * x * x, 5.0, 0.1);
        assert!(found.is_some_and(|x| x.abs() < 1e-4));
        assert_eq!(rising(|_| -1.0, 0.0, 1.0), None);
    }

    #[test]
    fn a_summit_is_found() {
        let (at, height) = summit(|x| 2.0 - (x - 0.3) * (x - 0.3), -4.0, 9.0, 60);
        assert!((at - 0.3).abs() < 1e-7 && (height - 2.0).abs() < 1e-14);
    }
}
