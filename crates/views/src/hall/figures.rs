//! Estimates in words: one figure where it is known, else the likely one with its limits.

use units::{Decibels, Degrees, Metres, Percent, show};
use venue::{Estimate, Judgement, Quantity};

/// The likely figure and, where there are any, its limits.
fn with_limits<Q: Quantity>(estimate: Estimate<Q>, likely: String, limit: impl Fn(Q) -> String) -> String {
    let (low, high) = (limit(estimate.low()), limit(estimate.high()));
    if estimate.is_exact() || low == high { likely } else { format!("{likely}, {low} to {high}") }
}

/// A number with so many decimals.
pub(super) fn number<Q: Quantity>(estimate: Estimate<Q>, decimals: usize) -> String {
    let shown = |value: f64| format!("{:.decimals$}", value + 0.0);
    let (low, high) = (shown(estimate.low().bare()), shown(estimate.high().bare()));
    let likely = shown(estimate.likely().bare());
    if low == high { likely } else { format!("{likely} ({low} to {high})") }
}

/// A number with so many decimals and its unit.
pub(super) fn whole<Q: Quantity>(estimate: Estimate<Q>, decimals: usize, unit: &str) -> String {
    format!("{} {unit}", number(estimate, decimals))
}

/// A length in the room, in both systems.
pub(super) fn distance(estimate: Estimate<Metres>) -> String {
    let limit = |length: Metres| format!("{:.2}", length.metres());
    let words = with_limits(estimate, show::room_length(estimate.likely()), limit);
    if estimate.is_exact() || !words.contains(" to ") { words } else { format!("{words} m") }
}

/// A height or a clearance, in both systems.
pub(super) fn height(estimate: Estimate<Metres>) -> String {
    distance(estimate)
}

/// An angle to a tenth.
pub(super) fn angle(estimate: Estimate<Degrees>) -> String {
    format!("{}°", number(estimate, 1))
}

/// Hundredths to a tenth.
pub(super) fn percent(estimate: Estimate<Percent>) -> String {
    format!("{} %", number(estimate, 1))
}

/// Hundredths of what is rated, whole.
pub(super) fn one_decimal(estimate: Estimate<Percent>) -> String {
    format!("{} % of what is rated", number(estimate, 0))
}

/// Decibels, whole.
pub(super) fn decibels(estimate: Estimate<Decibels>) -> String {
    format!("{} dB", number(estimate, 0))
}

/// How an estimate stands to a limit.
pub(super) fn judged(judgement: Judgement, within: &'static str, above: &'static str) -> String {
    match judgement {
        Judgement::Within | Judgement::Below => within.to_owned(),
        Judgement::Above => above.to_owned(),
        Judgement::CannotTell => format!("perhaps {above}"),
    }
}
