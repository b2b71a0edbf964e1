//! Small order statistics.

/// The middle value (the upper one of two); the slice is reordered. Nothing for an empty slice.
pub(crate) fn median(values: &mut [f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The value below which this share of the values lies; the slice is reordered. Nothing for an empty slice.
pub(crate) fn quantile(values: &mut [f64], share: f64) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let rank = ((values.len() as f64 * share) as usize).min(values.len() - 1);
    Some(*values.select_nth_unstable_by(rank, f64::total_cmp).1)
}
