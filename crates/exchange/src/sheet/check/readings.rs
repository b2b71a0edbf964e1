//! Measured values: outside their band, or in another unit than their column.

use crate::sheet::{
    doubt::{Cell, Doubts, Severity::Warning},
    mapping::{Mapping, ReadingColumn},
    slip::{Slip, Span},
    words::plain,
};
use units::{CANDELAS_PER_SQUARE_METRE_PER_FOOT_LAMBERT as CANDELAS_PER_FOOT_LAMBERT, Luminance};

/// How far from a conversion factor the ratio of a value to its neighbours may be to look like it: lamps age and
/// lenses differ by as much (common practice, no source).
const LIKENESS: f64 = 0.25;

/// Checks every column of measured values.
pub(super) fn check(spans: &[(Slip, Span)], mapping: &Mapping, doubts: &mut Doubts) {
    for (heading, column) in &mapping.readings {
        let values: Vec<(&Slip, f64)> = spans
            .iter()
            .flat_map(|(slip, _)| slip.readings.iter().map(move |(own, value)| (slip, own, *value)))
            .filter(|(_, own, _)| *own == heading)
            .map(|(slip, _, value)| (slip, value))
            .collect();
        for (slip, value) in &values {
            let typical = typical(&values, slip);
            if let Some((why, right)) = doubtful(column, *value, typical) {
                let text = value.to_string();
                doubts.cell(Warning, Cell { row: slip.row, heading, text: &text }, why, right);
            }
        }
    }
}

/// Returns the middle one of the other values of the same machine.
fn typical(values: &[(&Slip, f64)], slip: &Slip) -> Option<f64> {
    let mut others: Vec<f64> = values
        .iter()
        .filter(|(other, _)| other.row != slip.row && other.machines == slip.machines)
        .map(|(_, value)| *value)
        .collect();
    others.sort_by(f64::total_cmp);
    others.get(others.len() / 2).copied().filter(|_| others.len() >= 2)
}

fn doubtful(column: &ReadingColumn, value: f64, typical: Option<f64>) -> Option<(String, String)> {
    let ratio = typical.filter(|typical| *typical > 0.0).map(|typical| value / typical);
    let near = |factor: f64| ratio.is_some_and(|ratio| (ratio / factor).ln().abs() < LIKENESS);
    let unit = plain(&column.unit);
    let candelas = matches!(unit.as_str(), "cd m2" | "cd m²" | "nit" | "nits");
    let foot_lamberts = matches!(unit.as_str(), "fl" | "ft l" | "foot lamberts");
    if candelas && near(1.0 / CANDELAS_PER_FOOT_LAMBERT) {
        let meant = Luminance::from_foot_lamberts(value);
        return Some((
            "it looks like foot-lamberts".to_owned(),
            format!("{meant:.1}, if foot-lamberts are meant"),
        ));
    }
    if foot_lamberts && near(CANDELAS_PER_FOOT_LAMBERT) {
        let meant = Luminance::new(value).as_foot_lamberts();
        return Some((
            "it looks like cd/m²".to_owned(),
            format!("{meant:.1} {}, if cd/m² are meant", column.unit),
        ));
    }
    let (low, high) = column.plausible?;
    let outside = !(low..=high).contains(&value);
    outside.then(|| {
        (
            format!("{value} {} lies outside the plausible band", column.unit),
            format!("{low} to {high} {}", column.unit),
        )
    })
}
