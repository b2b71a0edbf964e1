//! Fitting a great table without making a record of every row.

use super::LifeTable;
use crate::{
    fit::{self, Fit, FitError, Model},
    gathered::Cells,
    weibull_terms::Terms,
};

/// Rows from which a table is gathered into cells.
const MANY: usize = 20_000;

/// Fits a law to the lives of a table: as [`fit::fit`] does, but for the Weibull and exponential laws a great table is
/// summed up in one pass by so many threads.
pub fn fit_table(model: Model, table: &LifeTable, confidence: f64, threads: usize) -> Result<Fit, FitError> {
    let plain = table.others.is_empty() && table.left.len() >= MANY;
    if plain
        && matches!(model, Model::Weibull | Model::Exponential)
        && let Some(fit) = gathered_fit(model, table, confidence, threads)?
    {
        return Ok(fit);
    }
    let lives = table.lives().expect("the rows were checked when the table was read");
    fit::fit(model, &lives, confidence)
}

/// None where lives are too alike for the cells.
fn gathered_fit(
    model: Model,
    table: &LifeTable,
    confidence: f64,
    threads: usize,
) -> Result<Option<Fit>, FitError> {
    let failures = table.left.iter().filter(|left| left.is_sign_positive()).count() as u64;
    let lives = table.left.len() as u64;
    if failures == 0 {
        return Err(FitError::NoFailures { lives });
    }
    let terms = gathered(table, threads);
    let mut fit = match model {
        Model::Exponential => fit::exponential_of(&terms, confidence)?,
        _ => fit::weibull_of(&terms, confidence)?,
    };
    (fit.n, fit.failures) = (lives, failures);
    let sharpest = fit.likelihood_ratio.shape.map_or(1.0, |shape| shape.high);
    Ok(Cells::holds(sharpest).then_some(fit))
}

struct Part {
    cells: Cells,
    sum_x: f64,
    exact: f64,
}

fn gathered(table: &LifeTable, threads: usize) -> Terms {
    let positive = |ages: &[f64]| {
        let ages = ages.iter().map(|age| age.abs()).filter(|age| *age > 0.0);
        ages.fold((f64::INFINITY, 0.0_f64), |(low, high), age| (low.min(age), high.max(age)))
    };
    let ends = positive(&table.left);
    let entries = positive(&table.entered);
    let (low, high) = (ends.0.min(entries.0).ln(), ends.1.ln());
    let empty = Cells::over(low, high);
    let size = table.left.len().div_ceil(threads.max(1));
    let part = |at: usize| {
        let range = at * size..((at + 1) * size).min(table.left.len());
        let entered = table.entered.get(range.clone()).unwrap_or_default();
        summed(&table.left[range], entered, empty.clone())
    };
    let parts: Vec<Part> = std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads.max(1)).map(|at| scope.spawn(move || part(at))).collect();
        let first = part(0);
        std::iter::once(first)
            .chain(others.into_iter().map(|other| other.join().expect("summing does not panic")))
            .collect()
    });
    let mut total = Part { cells: empty, sum_x: 0.0, exact: 0.0 };
    for part in parts {
        total.cells.merge(&part.cells);
        total.sum_x += part.sum_x;
        total.exact += part.exact;
    }
    Terms::gathered(total.exact, total.sum_x, !table.entered.is_empty(), (ends.0.ln(), high), total.cells)
}

fn summed(left: &[f64], entered: &[f64], cells: Cells) -> Part {
    let mut part = Part { cells, sum_x: 0.0, exact: 0.0 };
    for &left in left {
        let age = left.abs();
        if age > 0.0 {
            let x = age.ln();
            part.cells.add(x, 1.0);
            if left.is_sign_positive() {
                part.sum_x += x;
                part.exact += 1.0;
            }
        }
    }
    for &entered in entered.iter().filter(|age| **age > 0.0) {
        part.cells.add(entered.ln(), -1.0);
    }
    part
}
