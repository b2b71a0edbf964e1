//! Failures in one showing that draw on the same supply.

use units::Probability;

/// Returns the chance that a failure finds the supply gone: `pieces` of it were there, and the other failures that draw
/// on it strike in the same showing with these chances, apart from each other and in any order alike.
///
/// Exact: with `k` others in the showing, the failure is one of `k + 1` and as likely to be any of them, so that it comes
/// too late with a chance of `(k + 1 - pieces) / (k + 1)`.
pub fn found_gone(pieces: usize, others: impl IntoIterator<Item = Probability>) -> Probability {
    // The chance of each number of others.
    let mut number = vec![1.0];
    for chance in others {
        let strikes = chance.value();
        number.push(0.0);
        for k in (0..number.len()).rev() {
            let one_more = if k > 0 { strikes * number[k - 1] } else { 0.0 };
            number[k] = number[k] * (1.0 - strikes) + one_more;
        }
    }
    let late = |(k, chance): (usize, &f64)| chance * (k + 1).saturating_sub(pieces) as f64 / (k + 1) as f64;
    Probability::clamped(number.iter().enumerate().map(late).sum())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::Outcome;
    use units::Seconds;

    fn p(value: f64) -> Probability {
        Probability::new(value).unwrap()
    }

    /// Every set of failures, in every order, counted one by one.
    fn counted(pieces: usize, others: &[f64]) -> f64 {
        fn orders(left: &[usize], before: usize, pieces: usize) -> (f64, f64) {
            let (mut late, mut all) = (0.0, 0.0);
            for (at, &who) in left.iter().enumerate() {
                if who == 0 {
                    // What comes after it no longer matters; every order of it counts.
                    let rest = (1..left.len()).product::<usize>() as f64;
                    all += rest;
                    late += if before >= pieces { rest } else { 0.0 };
                } else {
                    let mut rest = left.to_vec();
                    rest.remove(at);
                    let (its_late, its_all) = orders(&rest, before + 1, pieces);
                    late += its_late;
                    all += its_all;
                }
            }
            (late, all)
        }
        let mut sum = 0.0;
        for set in 0..1_usize << others.len() {
            let mut chance = 1.0;
            let mut who = vec![0];
            for (at, other) in others.iter().enumerate() {
                if set >> at & 1 == 1 {
                    chance *= other;
                    who.push(at + 1);
                } else {
                    chance *= 1.0 - other;
                }
            }
            let (late, all) = orders(&who, 0, pieces);
            sum += chance * late / all;
        }
        sum
    }

    #[test]
    fn every_order_of_every_set_of_failures_says_the_same() {
        for others in [&[][..], &[0.06], &[0.3, 0.02], &[0.9, 0.5, 0.1], &[1.0, 1.0, 0.4, 0.2]] {
            for pieces in 0..=5 {
                let known = found_gone(pieces, others.iter().map(|&it| p(it))).value();
                assert!((known - counted(pieces, others)).abs() < 1e-12, "{pieces} for {others:?}: {known}");
            }
        }
    }

    #[test]
    fn one_spare_and_one_other_failure_is_half_of_its_chance() {
        assert!((found_gone(1, [p(0.06)]).value() - 0.03).abs() < 1e-15);
        assert_eq!(found_gone(1, []), Probability::NEVER);
        assert_eq!(found_gone(0, []), Probability::ALWAYS);
    }

    #[test]
    fn a_mixed_outcome_has_the_dark_seconds_of_both() {
        // By hand: 0.9 x 90 s + 0.1 x 3600 s = 441 s.
        let (pause, lost) = (Outcome::pause(Seconds::new(90.0)), Outcome::lost(Seconds::new(3600.0)));
        let mixed = pause.or(lost, p(0.1));
        assert!((mixed.dark().seconds() - 441.0).abs() < 1e-9);
        assert!((mixed.lost.value() - 0.1).abs() < 1e-15);
        assert_eq!((mixed.pause, mixed.lost_dark), (Seconds::new(90.0), Seconds::new(3600.0)));
        // By hand: 0.75 x 90 s + 0.25 x 300 s = 142.5 s.
        let slower = pause.or(Outcome::pause(Seconds::new(300.0)), p(0.25));
        assert!((slower.pause.seconds() - 142.5).abs() < 1e-9);
        assert_eq!(lost.or(lost, p(0.3)), lost);
    }
}
