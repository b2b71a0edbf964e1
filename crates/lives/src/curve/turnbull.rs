//! Survival where failures are known only to lie in windows.
//!
//! # Reference
//! B. W. Turnbull 1976, "The empirical distribution function with arbitrarily grouped, censored and truncated data",
//! Journal of the Royal Statistical Society B 38: self-consistency, iterated.

use super::{Curve, Step, censored};
use crate::record::{Ending, LifeRecord, Lives};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Rounds of self-consistency after which the curve is taken as it stands.
const MOST_ROUNDS: usize = 20_000;
/// Change of any share below which it stands still.
const STILL: f64 = 1e-10;
/// The same for the resamples of the band, which need less.
const NEARLY_STILL: f64 = 1e-6;

/// A window in which a life ended: open below, closed above; an exact failure is a window of one age.
#[derive(Clone, Copy)]
struct Window {
    from: f64,
    to: f64,
    exact: bool,
    entered: f64,
    count: f64,
}

impl Window {
    fn of(record: &LifeRecord) -> Self {
        let (from, to) = match (record.window(), record.ending) {
            (Some(window), _) => window,
            (None, Ending::Censored(age)) => (age, f64::INFINITY),
            (None, _) => (record.last_age(), record.last_age()),
        };
        let exact = matches!(record.ending, Ending::Failed(_));
        Self { from, to, exact, entered: record.entered, count: record.count as f64 }
    }

    fn covers(&self, place: &Place) -> bool {
        if self.exact {
            place.exact && place.to == self.to
        } else {
            place.from >= self.from && place.to <= self.to && (!place.exact || place.to > self.from)
        }
    }

    /// True where a life that ended in the place could have been under watch at all.
    fn could_see(&self, place: &Place) -> bool {
        place.to > self.entered
    }
}

/// A stretch in which the curve may fall: nothing is known of how it falls within.
#[derive(Clone, Copy, PartialEq)]
struct Place {
    from: f64,
    to: f64,
    exact: bool,
}

/// The innermost windows: a lower end followed by an upper end with no end between.
fn places(windows: &[Window]) -> Vec<Place> {
    // At one age the order is: an exact age begins, an upper end (which includes its age), a lower end (which does not).
    let mut ends: Vec<(f64, u8, bool)> = Vec::new();
    for window in windows {
        ends.push((window.from, if window.exact { 0 } else { 2 }, window.exact));
        ends.push((window.to, 1, window.exact));
    }
    ends.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let pairs = ends.windows(2).filter(|pair| pair[0].1 != 1 && pair[1].1 == 1);
    let mut places: Vec<Place> =
        pairs.map(|pair| Place { from: pair[0].0, to: pair[1].0, exact: pair[0].0 == pair[1].0 }).collect();
    places.dedup();
    places
}

/// Shares of the places, self-consistent.
fn shares(windows: &[Window], places: &[Place], still: f64) -> Vec<f64> {
    let n = places.len();
    let seen: Vec<(Vec<usize>, Option<Vec<usize>>, f64)> = windows
        .iter()
        .map(|window| {
            let within = (0..n).filter(|&at| window.covers(&places[at])).collect();
            let possible =
                (window.entered > 0.0).then(|| (0..n).filter(|&at| window.could_see(&places[at])).collect());
            (within, possible, window.count)
        })
        .collect();
    let mut shares = vec![1.0 / n as f64; n];
    for _ in 0..MOST_ROUNDS {
        let mut next = vec![0.0; n];
        let mut total = 0.0;
        for (within, possible, count) in &seen {
            let sum: f64 = within.iter().map(|&at| shares[at]).sum();
            if sum <= 0.0 {
                continue;
            }
            for &at in within {
                next[at] += count * shares[at] / sum;
            }
            total += count;
            // A life that entered late stands for unseen ones that ended before it could be seen.
            if let Some(possible) = possible {
                let visible: f64 = possible.iter().map(|&at| shares[at]).sum();
                let unseen = count * (1.0 / visible - 1.0);
                let hidden = 1.0 - visible;
                if hidden > 1e-15 {
                    (0..n)
                        .filter(|at| !possible.contains(at))
                        .for_each(|at| next[at] += unseen * shares[at] / hidden);
                    total += unseen;
                }
            }
        }
        for share in &mut next {
            *share /= total;
        }
        let change = shares.iter().zip(&next).map(|(old, new)| (old - new).abs()).fold(0.0, f64::max);
        shares = next;
        if change < still {
            break;
        }
    }
    shares
}

/// Survival by Turnbull's self-consistent estimate, for windows, censoring and late entry, with a band by resampling
/// the lives so many times from a seed (percentiles, between 0 and 1). A step stands at the end of the stretch in which
/// the curve falls: where in it is not known.
pub fn turnbull(lives: &Lives, confidence: f64, resamples: usize, seed: u64) -> Curve {
    let windows: Vec<Window> = lives.records().iter().map(Window::of).collect();
    let places = places(&windows);
    let found = steps(&places, &shares(&windows, &places, STILL));
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let drawn: Vec<Vec<(f64, f64)>> = (0..resamples).map(|_| resampled(&windows, &mut rng)).collect();
    let tail = 0.5 * (1.0 - confidence);
    let steps = found.into_iter().map(|(age, value)| {
        let mut others: Vec<f64> = drawn.iter().map(|curve| survival(curve, age)).collect();
        others.sort_by(f64::total_cmp);
        let at = |share: f64| {
            let place = (share * others.len() as f64) as usize;
            others.get(place.min(others.len().saturating_sub(1))).copied()
        };
        let (low, high) = (at(tail).unwrap_or(0.0).min(value), at(1.0 - tail).unwrap_or(1.0).max(value));
        let seen = windows.iter().filter(|window| window.entered < age && window.to >= age);
        let failures =
            windows.iter().filter(|window| window.to <= age && window.to.is_finite() && window.to == age);
        Step {
            age,
            value,
            low,
            high,
            at_risk: seen.map(|window| window.count).sum(),
            failures: failures.map(|window| window.count).sum(),
        }
    });
    Curve {
        steps: steps.collect(),
        censored: censored(lives),
        caveats: vec![
            "where the curve falls is known only to lie between two looks; the steps stand at the later"
                .to_owned(),
        ],
    }
}

/// Ages and survival past them; what never ended is no step.
fn steps(places: &[Place], shares: &[f64]) -> Vec<(f64, f64)> {
    let mut left = 1.0;
    let mut out: Vec<(f64, f64)> = Vec::new();
    for (place, share) in places.iter().zip(shares) {
        if place.to.is_infinite() || *share < 1e-9 {
            continue;
        }
        left = f64::max(left - share, 0.0);
        out.push((place.to, left));
    }
    out
}

fn survival(curve: &[(f64, f64)], age: f64) -> f64 {
    let past = curve.partition_point(|step| step.0 <= age);
    past.checked_sub(1).map_or(1.0, |at| curve[at].1)
}

fn resampled(windows: &[Window], rng: &mut ChaCha8Rng) -> Vec<(f64, f64)> {
    let total: f64 = windows.iter().map(|window| window.count).sum();
    let mut counts = vec![0.0; windows.len()];
    let below: Vec<f64> = windows
        .iter()
        .scan(0.0, |sum, window| {
            *sum += window.count;
            Some(*sum)
        })
        .collect();
    for _ in 0..total as usize {
        let mark = rng.random::<f64>() * total;
        counts[below.partition_point(|sum| *sum <= mark).min(windows.len() - 1)] += 1.0;
    }
    let drawn: Vec<Window> = windows
        .iter()
        .zip(counts)
        .filter(|(_, count)| *count > 0.0)
        .map(|(window, count)| Window { count, ..*window })
        .collect();
    let places = places(&drawn);
    steps(&places, &shares(&drawn, &places, NEARLY_STILL))
}
