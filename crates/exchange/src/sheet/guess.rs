//! What the columns probably hold, told by their headings and their cells.

use super::{
    Table,
    dates::{read_clock, read_day},
    lengths::read_length,
    mapping::{Decimal, Field, LengthUnit, Mapping},
    numbers::read_figure,
    words::{field_named, plain, sort_named},
};
use serde::Serialize;
use std::{borrow::Cow, collections::BTreeMap};

/// How sure a guess is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Confidence {
    /// Nothing speaks for any field.
    None,
    /// Something speaks for it; somebody should look.
    Unsure,
    /// Heading or cells speak for it.
    Likely,
    /// Heading and cells speak for it.
    Sure,
}

/// The guess for one column.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct ColumnGuess {
    /// Its heading.
    pub heading: String,
    /// What it probably holds.
    pub field: Option<Field>,
    /// How sure that is.
    pub confidence: Confidence,
    /// Why, in words.
    pub because: String,
}

/// The guess for a whole sheet.
#[derive(Clone, PartialEq, Debug)]
pub struct Guess {
    /// The mapping that it comes to.
    pub mapping: Mapping,
    /// Each column, in the order of the sheet.
    pub columns: Vec<ColumnGuess>,
}

/// How many cells of a column are looked at.
const ENOUGH_CELLS: usize = 500;
/// The share of its cells that must fit for a column to hold something.
const MOST_CELLS: f64 = 0.6;
/// The year by which two-digit years are read while guessing; which century it is does not matter here.
const ANY_YEAR: i16 = 2026;

/// Guesses what the columns of a table hold.
pub fn guess(table: &Table) -> Guess {
    let mut columns: Vec<ColumnGuess> =
        table.headings.iter().enumerate().map(|(index, heading)| column(table, index, heading)).collect();
    keep_best(&mut columns);
    fill_by_contents(table, &mut columns);
    let mapped: BTreeMap<Field, String> =
        columns.iter().filter_map(|column| Some((column.field?, column.heading.clone()))).collect();
    Guess { mapping: Mapping { columns: mapped, ..Mapping::default() }, columns }
}

impl Mapping {
    /// Returns the mapping as it stands, or with the columns that a guess gives if it names none.
    pub fn or_guessed(&self, table: &Table) -> Cow<'_, Self> {
        if !self.columns.is_empty() {
            return Cow::Borrowed(self);
        }
        let mut mapping = self.clone();
        mapping.columns = guess(table).mapping.columns;
        // A column of measured values is told, not guessed.
        mapping.columns.retain(|_, heading| !self.readings.contains_key(heading));
        Cow::Owned(mapping)
    }
}

/// What the cells of a column look like, as shares of those that are not empty.
struct Looks {
    dates: f64,
    clocks: f64,
    lengths: f64,
    figures: f64,
    rising: bool,
    /// Some figure is larger than any number of hours in one row, if its mark parts thousands.
    large: bool,
    /// How many figures there are.
    n_figures: usize,
    any: bool,
}

impl Looks {
    fn of(table: &Table, index: usize) -> Self {
        let cells: Vec<&str> = table.cells(index).take(ENOUGH_CELLS).collect();
        let share = |test: &dyn Fn(&str) -> bool| {
            cells.iter().filter(|cell| test(cell)).count() as f64 / cells.len().max(1) as f64
        };
        let figures: Vec<f64> = cells
            .iter()
            .filter_map(|cell| read_figure(cell, Decimal::Point).ok())
            .map(|figure| figure.value)
            .collect();
        let rises = figures.windows(2).filter(|pair| matches!(pair, [a, b] if a <= b)).count();
        Self {
            dates: share(&|cell| read_day(cell, ANY_YEAR).is_ok()),
            clocks: share(&|cell| read_clock(cell).is_some()),
            lengths: share(&|cell| read_length(cell, Decimal::Point, LengthUnit::Hours).is_ok()),
            figures: share(&|cell| read_figure(cell, Decimal::Point).is_ok()),
            rising: figures.len() > 2 && rises as f64 >= (figures.len() - 1) as f64 * MOST_CELLS,
            large: [Decimal::Point, Decimal::Comma].into_iter().any(|decimal| {
                cells.iter().any(|cell| read_figure(cell, decimal).is_ok_and(|figure| figure.value > 24.0))
            }),
            n_figures: figures.len(),
            any: !cells.is_empty(),
        }
    }

    /// Tells whether the cells can be what a field holds.
    fn fit(&self, field: Field) -> bool {
        match field {
            Field::Date => self.dates >= MOST_CELLS,
            Field::Start | Field::End => self.clocks >= MOST_CELLS,
            Field::Length | Field::Hours | Field::Lit => self.lengths >= MOST_CELLS,
            Field::Meter | Field::Audience => self.figures >= MOST_CELLS,
            _ => self.any,
        }
    }
}

fn column(table: &Table, index: usize, heading: &str) -> ColumnGuess {
    let looks = Looks::of(table, index);
    let because = |text: &str| text.to_owned();
    let guess =
        |field, confidence, because| ColumnGuess { heading: heading.to_owned(), field, confidence, because };
    if !looks.any {
        return guess(None, Confidence::None, because("the column is empty"));
    }
    let Some((named, whole)) = field_named(heading) else {
        return guess(None, Confidence::None, because("the heading says nothing that is known"));
    };
    let field = by_words(by_size(named, &looks), table, index);
    if !looks.fit(field) {
        let why = format!("the heading speaks for {field}, but most cells do not");
        return guess(None, Confidence::None, why);
    }
    if field != named {
        let why = format!("the heading speaks for {named}, the cells for {field}");
        return guess(Some(field), Confidence::Likely, why);
    }
    if whole {
        guess(Some(field), Confidence::Sure, because("heading and cells agree"))
    } else {
        guess(Some(field), Confidence::Likely, because("a word of the heading and the cells agree"))
    }
}

/// Tells hours run from a meter’s figures, which go by the same headings: meters rise and pass a day.
fn by_size(named: Field, looks: &Looks) -> Field {
    match named {
        Field::Hours if looks.rising && looks.large => Field::Meter,
        Field::Meter if looks.n_figures > 2 && !looks.large && !looks.rising => Field::Hours,
        named => named,
    }
}

/// Tells what a row is from what was done, which go by the same headings: the first is one of a few known words.
fn by_words(named: Field, table: &Table, index: usize) -> Field {
    if named != Field::What {
        return named;
    }
    let cells: Vec<&str> = table.cells(index).take(ENOUGH_CELLS).collect();
    let n_known = cells.iter().filter(|cell| sort_named(cell).is_some()).count();
    if (n_known as f64) < cells.len() as f64 / 2.0 { Field::Work } else { named }
}

/// Leaves each field to the column of which it is surest; the first of equals keeps it.
fn keep_best(columns: &mut [ColumnGuess]) {
    for field in Field::ALL {
        let best = columns
            .iter()
            .enumerate()
            .filter(|(_, column)| column.field == Some(*field))
            .max_by_key(|(index, column)| (column.confidence, std::cmp::Reverse(*index)))
            .map(|(index, _)| index);
        for (index, column) in columns.iter_mut().enumerate() {
            if column.field == Some(*field) && Some(index) != best {
                column.field = None;
                column.confidence = Confidence::None;
                column.because = format!("another column is {field} already");
            }
        }
    }
}

/// Gives columns whose headings say nothing to fields that are still free, by what their cells look like.
fn fill_by_contents(table: &Table, columns: &mut [ColumnGuess]) {
    let mut free: Vec<Field> = [Field::Date, Field::Start, Field::End]
        .into_iter()
        .filter(|field| columns.iter().all(|column| column.field != Some(*field)))
        .collect();
    for (index, column) in columns.iter_mut().enumerate() {
        let known_words = field_named(&plain(&column.heading)).is_some();
        if column.field.is_some() || known_words {
            continue;
        }
        let looks = Looks::of(table, index);
        // Bare figures pass for times of day, so a column of times must have marks in most cells.
        let marked = table.cells(index).take(ENOUGH_CELLS).filter(|cell| cell.contains(':')).count();
        let all = table.cells(index).take(ENOUGH_CELLS).count().max(1);
        let fits = |field: &Field| match field {
            Field::Date => looks.dates >= MOST_CELLS,
            _ => looks.clocks >= MOST_CELLS && marked as f64 >= all as f64 * MOST_CELLS,
        };
        if let Some(place) = free.iter().position(fits) {
            column.field = Some(free.remove(place));
            column.confidence = Confidence::Unsure;
            "only the cells speak for it".clone_into(&mut column.because);
        }
    }
}
