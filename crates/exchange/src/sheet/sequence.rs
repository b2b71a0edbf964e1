//! Dates that stand out of the sheet's sequence and would fit if one slip of the pen were undone.

use super::{
    dates::swapped,
    doubt::{Doubts, Severity},
    slip::{Slip, Span},
};
use jiff::civil::Date;

/// A sheet counts as kept in order of time if at least this share of its rows is.
/// Common practice, no source: a page or two of late entries does not make a heap of it.
const IN_ORDER: f64 = 0.8;

/// Fewer rows have no sequence to speak of.
const FEWEST_ROWS: usize = 5;

/// Doubts rows whose date stands out of sequence but fits with day and month swapped or with the year beside it.
pub(super) fn find_slips_of_the_pen(spans: &[(Slip, Span)], today: Date, doubts: &mut Doubts) {
    let mut rows: Vec<(usize, Date)> =
        spans.iter().filter(|(slip, _)| !slip.month_only).map(|(slip, _)| (slip.row, slip.day)).collect();
    if rows.len() < FEWEST_ROWS {
        return;
    }
    let mut kept = longest_rise(&rows);
    let mut reversed = rows.clone();
    reversed.reverse();
    let kept_backward = longest_rise(&reversed);
    // A sheet may run from the newest row to the oldest.
    if kept_backward.len() > kept.len() {
        rows = reversed;
        kept = kept_backward;
    }
    if (kept.len() as f64) < rows.len() as f64 * IN_ORDER {
        return;
    }
    let mut before = None;
    let mut in_order = kept.iter().copied().peekable();
    for (index, (row, day)) in rows.iter().enumerate() {
        if in_order.next_if_eq(&index).is_some() {
            before = Some(*day);
            continue;
        }
        let after = in_order.peek().and_then(|next| rows.get(*next)).map(|(_, day)| *day);
        let fits =
            |day: Date| before.is_none_or(|b| b <= day) && after.is_none_or(|a| day <= a) && day <= today;
        doubt(*row, *day, fits, doubts);
    }
}

fn doubt(row: usize, day: Date, fits: impl Fn(Date) -> bool, doubts: &mut Doubts) {
    let swapped = swapped(day).filter(|other| fits(*other));
    let beside = [1, -1].into_iter().find_map(|years| {
        let other = day.with().year(day.year() + years).build().ok()?;
        fits(other).then_some(other)
    });
    let (why, right) = match (swapped, beside) {
        (Some(other), _) => ("with day and month swapped it would not", other),
        (None, Some(other)) => ("with the year beside it it would not", other),
        (None, None) => return,
    };
    let why = format!("{day} stands out of sequence; {why}");
    doubts.row(Severity::Warning, row, why, format!("{right}, if that is meant"));
}

/// Returns the places of a longest sequence of rows whose dates do not fall (patience sorting).
fn longest_rise(rows: &[(usize, Date)]) -> Vec<usize> {
    // The last place of the best sequence of each length, and for each place the one before it.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(rows.len());
    let day = |place: &usize| rows.get(*place).map(|(_, day)| *day);
    for (place, (_, own)) in rows.iter().enumerate() {
        let length = ends.partition_point(|end| day(end).is_some_and(|day| day <= *own));
        before.push(length.checked_sub(1).and_then(|shorter| ends.get(shorter)).copied());
        match ends.get_mut(length) {
            Some(end) => *end = place,
            None => ends.push(place),
        }
    }
    let mut places: Vec<usize> =
        std::iter::successors(ends.last().copied(), |place| before.get(*place).copied().flatten()).collect();
    places.reverse();
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn the_longest_rise_leaves_out_what_does_not_fit() {
        let days = [(1, 1), (1, 8), (9, 1), (1, 15), (1, 15), (1, 2), (1, 22)];
        let rows: Vec<(usize, Date)> =
            days.iter().map(|(month, day)| (0, date(2026, *month, *day))).collect();
        assert_eq!(longest_rise(&rows), [0, 1, 3, 4, 6]);
    }
}
