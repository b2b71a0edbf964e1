//! What a sheet's customs are: which way round its dates are, which mark stands before decimals, what lengths count.
//! Told by the mapping, or else by all cells of the columns together.

use super::{
    Table,
    dates::{Day, in_order, read_day},
    mapping::{DateOrder, Decimal, Field, LengthUnit, Mapping},
    numbers::{MarkEvidence, mark_evidence, read_figure},
    words::plain,
};
use jiff::civil::Date;

/// What the cells say about something, and why.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Evidence<T> {
    /// The finding; absent: the cells do not decide it.
    pub finding: Option<T>,
    /// Why, as a sentence.
    pub because: String,
}

impl<T> Evidence<T> {
    fn says(finding: T, because: impl Into<String>) -> Self {
        Self { finding: Some(finding), because: because.into() }
    }

    fn silent(because: impl Into<String>) -> Self {
        Self { finding: None, because: because.into() }
    }
}

/// Returns the cells of a mapped column.
fn column<'t>(table: &'t Table, mapping: &Mapping, field: Field) -> impl Iterator<Item = &'t str> {
    let index = mapping.columns.get(&field).and_then(|heading| table.column(heading));
    index.into_iter().flat_map(|index| table.cells(index))
}

/// Finds which way round the dates of a sheet are, from all of them together.
///
/// A figure above 12 is a day. Where none is, points between the figures mean that the day comes first (the custom
/// wherever points are used), and else the order that brings the rows into sequence and into the past wins, if it
/// wins clearly.
pub fn date_order(table: &Table, mapping: &Mapping, today: Date) -> Evidence<DateOrder> {
    let Some(column) = mapping.columns.get(&Field::Date).and_then(|heading| table.column(heading)) else {
        return Evidence::silent("there is no column of dates");
    };
    date_order_of(table.cells(column), today)
}

/// Finds which way round some dates are.
pub(super) fn date_order_of<'t>(cells: impl Iterator<Item = &'t str>, today: Date) -> Evidence<DateOrder> {
    let mut figures = Vec::new();
    let mut points = 0;
    for cell in cells {
        if let Ok((Day::Figures(found), _)) = read_day(cell, today.year()) {
            points += usize::from(cell.matches('.').count() >= 2);
            figures.push(found);
        }
    }
    if figures.is_empty() {
        return Evidence::silent("no date is written in figures whose order could be doubtful");
    }
    let count = |test: fn(&[(i16, usize); 3]) -> bool| figures.iter().filter(|found| test(found)).count();
    let day_first = count(|f| f[0].0 > 12 && f[1].0 <= 12 && f[0].0 <= 31);
    let month_first = count(|f| f[1].0 > 12 && f[0].0 <= 12);
    let year_first = count(|f| f[0].0 > 31 && f[2].1 == 2 && f[2].0 <= 31);
    match (day_first, month_first, year_first) {
        (_, 0, 1..) if count(|f| f[2].0 > 31) == 0 => {
            Evidence::says(DateOrder::YearMonthDay, format!("{year_first} dates begin with a year"))
        }
        (1.., 0, 0) => {
            Evidence::says(DateOrder::DayMonthYear, format!("{day_first} dates begin with a day above 12"))
        }
        (0, 1.., 0) => Evidence::says(
            DateOrder::MonthDayYear,
            format!("{month_first} dates have a second figure above 12"),
        ),
        (0, 0, 0) if points * 2 > figures.len() => {
            Evidence::says(DateOrder::DayMonthYear, "points stand between the figures")
        }
        (0, 0, 0) => by_sequence(&figures, today),
        (days, months, _) if days >= 4 * months => Evidence::says(
            DateOrder::DayMonthYear,
            format!("{days} dates begin with the day, {months} with the month"),
        ),
        (days, months, _) if months >= 4 * days => Evidence::says(
            DateOrder::MonthDayYear,
            format!("{months} dates begin with the month, {days} with the day"),
        ),
        (days, months, _) => {
            Evidence::silent(format!("{days} dates begin with the day, {months} with the month"))
        }
    }
}

/// Compares two orders by how many rows they leave out of sequence or in the future.
fn by_sequence(figures: &[[(i16, usize); 3]], today: Date) -> Evidence<DateOrder> {
    let faults = |order| {
        let days: Vec<Date> = figures.iter().filter_map(|f| in_order(*f, order, today.year()).ok()).collect();
        let backward = days.windows(2).filter(|pair| matches!(pair, [a, b] if b < a)).count();
        // A sheet may run from the newest row to the oldest.
        let forward = days.windows(2).filter(|pair| matches!(pair, [a, b] if b > a)).count();
        backward.min(forward) + days.iter().filter(|day| **day > today).count()
    };
    let (day_first, month_first) = (faults(DateOrder::DayMonthYear), faults(DateOrder::MonthDayYear));
    let clearly = |better: usize, worse: usize| worse >= better * 4 + 2;
    let because = |name: &str, better, worse| {
        format!(
            "with the {name} first {better} dates are out of sequence or in the future, the other way round {worse}"
        )
    };
    if clearly(day_first, month_first) {
        Evidence::says(DateOrder::DayMonthYear, because("day", day_first, month_first))
    } else if clearly(month_first, day_first) {
        Evidence::says(DateOrder::MonthDayYear, because("month", month_first, day_first))
    } else {
        Evidence::silent("every date makes sense with the day first and with the month first")
    }
}

/// Finds the decimal mark from all numbers together.
///
/// A number with one mark before exactly three digits may mean either; where only such stand, a sheet whose cells are
/// parted by semicolons has decimal commas (that is why it is parted by them).
pub fn decimal_mark(table: &Table, mapping: &Mapping) -> Evidence<Decimal> {
    let fields = [Field::Hours, Field::Meter, Field::Lit, Field::Length];
    let readings = mapping.readings.keys().filter_map(|heading| table.column(heading));
    let columns: Vec<usize> =
        fields.iter().filter_map(|field| table.column(mapping.columns.get(field)?)).chain(readings).collect();
    let (mut points, mut commas, mut unclear) = (0, 0, 0);
    for cell in columns.into_iter().flat_map(|column| table.cells(column)) {
        match mark_evidence(cell) {
            MarkEvidence::Is(Decimal::Point) => points += 1,
            MarkEvidence::Is(Decimal::Comma) => commas += 1,
            MarkEvidence::Unclear => unclear += 1,
            MarkEvidence::Nothing => {}
        }
    }
    match (points, commas, unclear) {
        (_, 0, 0) => Evidence::says(Decimal::Point, format!("{points} numbers have a decimal point")),
        (points, commas, _) if points > commas * 4 => {
            Evidence::says(Decimal::Point, format!("{points} numbers have a decimal point, {commas} a comma"))
        }
        (points, commas, _) if commas > points * 4 => {
            Evidence::says(Decimal::Comma, format!("{commas} numbers have a decimal comma, {points} a point"))
        }
        (0, 0, _) if table.delimiter == ';' => {
            Evidence::says(Decimal::Comma, "the cells are parted by semicolons".to_owned())
        }
        (0, 0, _) => {
            Evidence::silent(format!("{unclear} numbers like “1.234” may mean thousands or decimals"))
        }
        (_, _, 0) => Evidence::says(
            if points >= commas { Decimal::Point } else { Decimal::Comma },
            "points and commas both stand before decimals".to_owned(),
        ),
        _ => Evidence::silent(
            "points and commas both stand before decimals, and some numbers fit either".to_owned(),
        ),
    }
}

/// Finds what bare numbers in the column of lengths count: programmes are longer than 12 minutes and shorter than
/// 12 hours (common practice, no source).
pub fn length_unit(table: &Table, mapping: &Mapping) -> Evidence<LengthUnit> {
    let heading = mapping.columns.get(&Field::Length).map(|heading| plain(heading)).unwrap_or_default();
    if heading.split(' ').any(|word| word.starts_with("min")) {
        return Evidence::says(LengthUnit::Minutes, "the heading says minutes");
    }
    let bare: Vec<f64> = column(table, mapping, Field::Length)
        .filter_map(|cell| read_figure(cell, Decimal::Point).ok())
        .filter(|figure| figure.unit.is_empty())
        .map(|figure| figure.value)
        .collect();
    let long = bare.iter().filter(|value| **value > 12.0).count();
    match (bare.len(), long) {
        (0, _) => Evidence::says(LengthUnit::Minutes, "every length has its unit"),
        (all, long) if long * 2 > all => Evidence::says(LengthUnit::Minutes, "most lengths are above 12"),
        _ => Evidence::says(LengthUnit::Hours, "most lengths are at most 12"),
    }
}
