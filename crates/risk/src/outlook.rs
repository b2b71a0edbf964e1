//! How a showing stands: the chance of a clean run, of a pause, of losing it, and what weighs most.

use crate::{chance::Chance, hazard::Hazard};
use serde::Serialize;
use units::{Probability, Seconds};

/// A chance with the band that holds it nine times in ten.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Band {
    /// The chance to reckon with.
    pub likely: Probability,
    /// The lower end.
    pub low: Probability,
    /// The upper end.
    pub high: Probability,
}

/// The level of every band that is shown.
pub const BAND_LEVEL: f64 = 0.9;

impl From<Chance> for Band {
    fn from(chance: Chance) -> Self {
        let (low, high) = chance.band(BAND_LEVEL);
        Self { likely: chance.mean(), low, high }
    }
}

/// What one hazard adds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Contribution<'a, K> {
    /// What it is.
    pub key: &'a K,
    /// The chance that it strikes.
    pub chance: Band,
    /// The dark seconds to expect from it.
    pub dark: Seconds,
    /// By how much the chance of a clean run would rise without it.
    pub clean_without: f64,
}

/// How a showing stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outlook<'a, K> {
    /// It runs from beginning to end without a stoppage.
    pub clean: Band,
    /// It stops at least once and is shown to its end.
    pub pause: Band,
    /// It cannot be shown to its end.
    pub lost: Band,
    /// The dark seconds to expect.
    pub dark: Seconds,
    /// What each hazard adds, the most dark seconds first.
    pub contributions: Vec<Contribution<'a, K>>,
}

/// Returns how a showing with these hazards stands; with none it runs clean for certain.
pub fn outlook<K>(hazards: &[Hazard<K>]) -> Outlook<'_, K> {
    let all = |chance: fn(&Hazard<K>) -> Chance| {
        hazards.iter().map(|hazard| chance(hazard).complement()).fold(Chance::NEVER.complement(), Chance::and)
    };
    let clean = all(|hazard| hazard.chance);
    let not_lost = all(|hazard| hazard.chance.thinned(hazard.outcome.lost));
    let mut contributions: Vec<Contribution<'_, K>> =
        hazards.iter().map(|hazard| contribution(hazard, clean.mean())).collect();
    contributions.sort_by(|a, b| b.dark.total_cmp(&a.dark));
    Outlook {
        clean: clean.into(),
        pause: pause(hazards, clean, not_lost),
        lost: not_lost.complement().into(),
        dark: hazards.iter().map(Hazard::dark).fold(Seconds::ZERO, |sum, dark| sum + dark),
        contributions,
    }
}

fn contribution<K>(hazard: &Hazard<K>, clean: Probability) -> Contribution<'_, K> {
    let survives = hazard.chance.complement().mean().value();
    let without = if survives > 0.0 { clean.value() / survives } else { 0.0 };
    Contribution {
        key: &hazard.key,
        chance: hazard.chance.into(),
        dark: hazard.dark(),
        clean_without: (without - clean.value()).max(0.0),
    }
}

/// The chance of a pause: neither clean nor lost.
///
/// Its mean square needs the mean of the product of the chance not to lose the showing and the chance of a clean run:
/// hazard by hazard `E[(1 - p)(1 - p l)] = 1 - (1 + l) E[p] + l E[p²]`.
fn pause<K>(hazards: &[Hazard<K>], clean: Chance, not_lost: Chance) -> Band {
    let cross: f64 = hazards.iter().map(|hazard| cross_moment(hazard.chance, hazard.outcome.lost)).product();
    let mean = (not_lost.mean().value() - clean.mean().value()).max(0.0);
    let square = not_lost.second_moment() - 2.0 * cross + clean.second_moment();
    // Differences of nearly equal numbers may stray by rounding; a chance has no less and no more spread than this.
    let square = square.clamp(mean * mean, mean);
    Chance::from_moments(mean, square).unwrap_or(Chance::NEVER).into()
}

fn cross_moment(chance: Chance, lost: Probability) -> f64 {
    1.0 - (1.0 + lost.value()) * chance.mean().value() + lost.value() * chance.second_moment()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::hazard::Outcome;

    fn p(value: f64) -> Probability {
        Probability::new(value).unwrap()
    }

    fn hazard(key: &'static str, chance: f64, outcome: Outcome) -> Hazard<&'static str> {
        Hazard { key, chance: Chance::known(p(chance)), outcome }
    }

    #[test]
    fn nothing_that_can_fail_runs_clean() {
        let outlook = outlook::<&str>(&[]);
        assert_eq!(outlook.clean.likely, Probability::ALWAYS);
        assert_eq!((outlook.pause.likely, outlook.lost.likely), (Probability::NEVER, Probability::NEVER));
    }

    #[test]
    fn clean_pause_and_lost_make_the_whole() {
        let hazards = [
            hazard("lamp", 0.063, Outcome::pause(Seconds::new(180.0))),
            hazard("claw", 0.004, Outcome::lost(Seconds::new(3600.0))),
            hazard(
                "belt",
                0.01,
                Outcome { pause: Seconds::new(600.0), lost: p(0.5), lost_dark: Seconds::new(3600.0) },
            ),
        ];
        let outlook = outlook(&hazards);
        let sum = outlook.clean.likely.value() + outlook.pause.likely.value() + outlook.lost.likely.value();
        assert!((sum - 1.0).abs() < 1e-12);
        assert!((outlook.clean.likely.value() - 0.937 * 0.996 * 0.99).abs() < 1e-12);
        assert!((outlook.lost.likely.value() - (1.0 - 0.996 * 0.995)).abs() < 1e-12);
        assert_eq!(outlook.pause.low, outlook.pause.high, "known chances leave no band");
    }

    #[test]
    fn the_band_of_the_whole_agrees_with_many_draws() {
        // Beta(2, 38) and Beta(1, 9), drawn by order statistics of uniform numbers: the second smallest of 39, the
        // smallest of 9. The product of two beta variates is only nearly one itself, hence the hundredth allowed below.
        let beta = |a: f64, b: f64| {
            let mean = a / (a + b);
            Chance::from_moments(mean, mean * (a + 1.0) / (a + b + 1.0)).unwrap()
        };
        let hazards = [
            Hazard { key: "a", chance: beta(2.0, 38.0), outcome: Outcome::pause(Seconds::new(60.0)) },
            Hazard { key: "b", chance: beta(1.0, 9.0), outcome: Outcome::lost(Seconds::new(60.0)) },
        ];
        let mut state = 0x9E37_79B9_7F4A_7C15_u64;
        let mut uniform = move || {
            // SplitMix64, from memory; any even source will do.
            state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut z = state;
            z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
        };
        let mut draws: Vec<(f64, f64)> = (0..40_000)
            .map(|_| {
                let mut many: Vec<f64> = (0..39).map(|_| uniform()).collect();
                many.sort_by(f64::total_cmp);
                let b = (0..9).map(|_| uniform()).fold(1.0, f64::min);
                ((1.0 - many[1]) * (1.0 - b), many[1] * (1.0 - b))
            })
            .collect();
        let outlook = outlook(&hazards);
        let mut quantiles = |pick: fn(&(f64, f64)) -> f64, band: Band| {
            draws.sort_by(|x, y| pick(x).total_cmp(&pick(y)));
            for (at, shown) in [(2_000, band.low), (38_000, band.high)] {
                assert!((pick(&draws[at]) - shown.value()).abs() < 0.01, "{} {shown:?}", pick(&draws[at]));
            }
        };
        quantiles(|draw| draw.0, outlook.clean);
        quantiles(|draw| draw.1, outlook.pause);
    }

    #[test]
    fn what_costs_most_dark_comes_first_not_what_is_likeliest() {
        // Worked by hand: 0.063 * 180 s = 11 s, 0.025 * 3600 s = 90 s.
        let hazards = [
            hazard("lamp with a spare", 0.063, Outcome::pause(Seconds::new(180.0))),
            hazard("exciter without", 0.025, Outcome::lost(Seconds::new(3600.0))),
        ];
        let outlook = outlook(&hazards);
        assert_eq!(*outlook.contributions[0].key, "exciter without");
        assert!((outlook.contributions[0].dark.seconds() - 90.0).abs() < 1e-9);
        assert!((outlook.contributions[1].dark.seconds() - 11.34).abs() < 1e-9);
    }
}
