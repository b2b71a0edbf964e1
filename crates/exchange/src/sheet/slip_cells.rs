//! Cells → one [`Slip`] per row. Every cell that cannot be read becomes a doubt at its place.

use super::{
    Row, Table,
    dates::{Clock, Day, in_order, read_clock, read_day},
    doubt::{Cell, Doubts, Severity},
    lengths::read_length,
    mapping::{DateOrder, Decimal, Field, LengthUnit, Mapping, ReadingColumn, Sort},
    names::Names,
    numbers::{NoFigure, read_figure},
    slip::Slip,
    words::{SUMS, is_one_of, one_line, plain, sort_named},
};
use jiff::{civil::Date, tz::TimeZone};
use logbook::{MachineId, PersonId, PlaceId};
use std::collections::BTreeMap;
use units::Hours;

/// The customs of a sheet, once decided.
#[derive(Clone, Debug)]
pub(super) struct Customs {
    /// Which way round dates are; absent: undecided.
    pub order: Option<DateOrder>,
    /// The decimal mark.
    pub decimal: Decimal,
    /// What bare lengths count.
    pub length_unit: LengthUnit,
    /// The zone of all times.
    pub zone: TimeZone,
    /// Today, where the sheet is from.
    pub today: Date,
}

/// Everything by which rows are read.
pub(super) struct Desk<'a> {
    /// The mapping.
    pub mapping: &'a Mapping,
    /// The customs.
    pub customs: &'a Customs,
    /// Machines by name.
    pub machines: &'a Names<MachineId>,
    /// People by name.
    pub people: &'a Names<PersonId>,
    /// Places by name.
    pub places: &'a Names<PlaceId>,
    /// The machine of rows that name none.
    pub only_machine: Option<MachineId>,
    /// The columns, by field: index and heading.
    pub columns: BTreeMap<Field, (usize, &'a str)>,
    /// The columns of measured values: index, heading, meaning.
    pub readings: Vec<(usize, &'a str, &'a ReadingColumn)>,
}

impl<'a> Desk<'a> {
    /// Reads all rows. Rows with an unreadable cell are left out of the result; their doubts tell why.
    pub fn read(&self, rows: &[&'a Row], doubts: &mut Doubts) -> Vec<Slip> {
        let mut slips = Vec::with_capacity(rows.len());
        let mut day_above = None;
        for row in rows {
            let reader = RowReader { desk: self, row, day_above, bad: false, doubts };
            let (day, slip) = reader.read();
            day_above = day.or(day_above);
            slips.extend(slip);
        }
        slips
    }
}

/// Finds the columns that a mapping names in a table.
pub(super) fn columns<'a>(
    table: &'a Table,
    mapping: &'a Mapping,
    doubts: &mut Doubts,
) -> BTreeMap<Field, (usize, &'a str)> {
    let mut columns = BTreeMap::new();
    for (field, heading) in &mapping.columns {
        match table.column(heading) {
            Some(index) => {
                columns.insert(*field, (index, heading.as_str()));
            }
            None => no_such_column(table, heading, doubts),
        }
    }
    columns
}

/// Finds the columns of measured values.
pub(super) fn readings<'a>(
    table: &'a Table,
    mapping: &'a Mapping,
    doubts: &mut Doubts,
) -> Vec<(usize, &'a str, &'a ReadingColumn)> {
    let mut readings = Vec::new();
    for (heading, meaning) in &mapping.readings {
        match table.column(heading) {
            Some(index) => readings.push((index, heading.as_str(), meaning)),
            None => no_such_column(table, heading, doubts),
        }
    }
    readings
}

fn no_such_column(table: &Table, heading: &str, doubts: &mut Doubts) {
    let why = format!("the mapping names a column “{heading}” that the sheet does not have");
    doubts.sheet(Severity::Error, why, format!("one of {}", table.headings.join(", ")));
}

/// Reads one row.
struct RowReader<'r, 'a> {
    desk: &'r Desk<'a>,
    row: &'r Row,
    /// The day of the row above, for empty cells that mean the same.
    day_above: Option<(Date, bool)>,
    /// A cell could not be read.
    bad: bool,
    doubts: &'r mut Doubts,
}

impl<'r> RowReader<'r, '_> {
    fn read(mut self) -> (Option<(Date, bool)>, Option<Slip>) {
        if self.is_sum() {
            let right = "nothing to do; sums are not imported";
            self.doubts.row(Severity::Note, self.row.number, "taken for a row of sums", right);
            return (None, None);
        }
        let day = self.day();
        let slip = Slip {
            row: self.row.number,
            sort: self.sort(),
            day: day.map(|(day, _, _)| day).unwrap_or_default(),
            month_only: day.is_some_and(|(_, month_only, _)| month_only),
            start: self.clock(Field::Start).or(day.and_then(|(_, _, clock)| clock)),
            end: self.clock(Field::End),
            length: self.length(Field::Length, self.desk.customs.length_unit),
            hours: self.length(Field::Hours, LengthUnit::Hours),
            lit: self.length(Field::Lit, LengthUnit::Hours),
            meter: self.meter(),
            machines: self.machines(),
            title: one_line(&self.words(Field::Title)),
            place: self.place(),
            person: self.person(),
            work: self.words(Field::Work),
            part: self.words(Field::Part),
            why: self.words(Field::Why),
            audience: self.audience(),
            note: self.words(Field::Note),
            readings: self.values(),
        };
        if !self.row.beyond.is_empty() {
            let why = format!("to the right of the last heading stands “{}”", self.row.beyond.join(" | "));
            self.doubts.row(Severity::Warning, self.row.number, why, "a heading above it, or an empty cell");
        }
        let day_found = day.map(|(day, month_only, _)| (day, month_only));
        (day_found, (!self.bad).then(|| slip.with_customs(self.desk.mapping)))
    }

    fn cell(&self, field: Field) -> Option<Cell<'r>> {
        let (index, heading) = *self.desk.columns.get(&field)?;
        self.cell_at(index, heading)
    }

    fn cell_at(&self, index: usize, heading: &'r str) -> Option<Cell<'r>> {
        let text = self.row.cells.get(index)?;
        (!text.is_empty()).then_some(Cell { row: self.row.number, heading, text })
    }

    fn words(&self, field: Field) -> String {
        self.cell(field).map(|cell| cell.text.to_owned()).unwrap_or_default()
    }

    /// Notes a cell that cannot be read.
    fn wrong(&mut self, cell: Cell<'_>, why: impl Into<String>, right: impl Into<String>) {
        self.bad = true;
        self.doubts.cell(Severity::Error, cell, why, right);
    }

    /// Tells a row of sums: no date, and a cell that says so.
    fn is_sum(&self) -> bool {
        self.cell(Field::Date).is_none_or(|cell| is_one_of(cell.text, SUMS))
            && self.row.cells.iter().any(|cell| is_one_of(cell.trim_end_matches(':'), SUMS))
    }

    fn day(&mut self) -> Option<(Date, bool, Option<Clock>)> {
        let Some(cell) = self.cell(Field::Date) else {
            if let (true, Some((day, month_only))) = (self.desk.mapping.repeat_date, self.day_above) {
                return Some((day, month_only, None));
            }
            self.bad = true;
            let right = "a date; if an empty one means that of the row above, set repeat_date = true";
            self.doubts.row(Severity::Error, self.row.number, "the row has no date", right);
            return None;
        };
        match read_day(cell.text, self.desk.customs.today.year()) {
            Ok((Day::Sure(day), clock)) => Some((day, false, clock)),
            Ok((Day::Month(day), clock)) => Some((day, true, clock)),
            Ok((Day::Figures(figures), clock)) => self.figures(cell, figures).map(|day| (day, false, clock)),
            Err(why) => {
                self.wrong(cell, why, "a date such as 2026-11-03");
                None
            }
        }
    }

    /// Reads a date in figures in the order of the sheet.
    fn figures(&mut self, cell: Cell<'_>, figures: [(i16, usize); 3]) -> Option<Date> {
        let Some(order) = self.desk.customs.order else {
            // The sheet as a whole is doubted for it once.
            self.bad = true;
            return None;
        };
        let this_year = self.desk.customs.today.year();
        match in_order(figures, order, this_year) {
            Ok(day) => Some(day),
            Err(why) => {
                let other = match order {
                    DateOrder::MonthDayYear => DateOrder::DayMonthYear,
                    DateOrder::DayMonthYear | DateOrder::YearMonthDay => DateOrder::MonthDayYear,
                };
                let day = in_order(figures, other, this_year).ok();
                match day {
                    Some(day) => {
                        let why = format!("the dates here are {order}, but this one can only be {day}");
                        self.doubts.cell(Severity::Warning, cell, why, format!("{day}, if that is meant"));
                    }
                    None => self.wrong(cell, why, "a day of the calendar"),
                }
                day
            }
        }
    }

    fn clock(&mut self, field: Field) -> Option<Clock> {
        let cell = self.cell(field)?;
        let clock = read_clock(cell.text);
        if clock.is_none() {
            self.wrong(cell, "this is no time of day", "a time such as 19:30");
        }
        clock
    }

    fn length(&mut self, field: Field, bare: LengthUnit) -> Option<Hours> {
        let cell = self.cell(field)?;
        match read_length(cell.text, self.desk.customs.decimal, bare) {
            Ok(hours) if hours < Hours::ZERO => {
                self.wrong(cell, "this is less than nothing", "a length of time from 0");
                None
            }
            Ok(hours) => Some(hours),
            Err(no_figure) => {
                self.no_figure(cell, no_figure, "hours such as 1.5, 1:30, 1h30 or 90 min");
                None
            }
        }
    }

    fn no_figure(&mut self, cell: Cell<'_>, no_figure: NoFigure, right: &str) {
        let right = match no_figure.meant {
            Some(meant) => format!("{meant}, if that is meant"),
            None => right.to_owned(),
        };
        self.wrong(cell, no_figure.why, right);
    }

    fn meter(&mut self) -> Option<Hours> {
        let cell = self.cell(Field::Meter)?;
        match read_figure(cell.text, self.desk.customs.decimal) {
            Ok(figure)
                if !matches!(
                    plain(&figure.unit).as_str(),
                    "" | "h" | "hr" | "hrs" | "hours" | "std" | "stunden" | "heures" | "horas"
                ) =>
            {
                self.wrong(
                    cell,
                    format!("“{}” is no unit of an hour meter", figure.unit),
                    "the meter’s figure in hours",
                );
                None
            }
            Ok(figure) if !logbook::rules::is_meter_figure(Hours::new(figure.value)) => {
                self.wrong(cell, "no hour meter shows this", "the meter’s figure in hours, from 0");
                None
            }
            Ok(figure) => Some(Hours::new(figure.value)),
            Err(no_figure) => {
                self.no_figure(cell, no_figure, "the meter’s figure in hours");
                None
            }
        }
    }

    fn audience(&mut self) -> Option<u32> {
        let cell = self.cell(Field::Audience)?;
        let count = read_figure(cell.text, self.desk.customs.decimal).ok().map(|figure| figure.value);
        match count {
            Some(count) if (0.0..=1_000_000.0).contains(&count) && count.fract() == 0.0 => Some(count as u32),
            _ => {
                self.wrong(cell, "this is no count of people", "a whole number from 0");
                None
            }
        }
    }

    fn values(&mut self) -> Vec<(String, f64)> {
        let mut values = Vec::new();
        for (index, heading, _) in &self.desk.readings {
            let Some(cell) = self.cell_at(*index, heading) else { continue };
            match read_figure(cell.text, self.desk.customs.decimal) {
                Ok(figure) => values.push(((*heading).to_owned(), figure.value)),
                Err(no_figure) => self.no_figure(cell, no_figure, "a number"),
            }
        }
        values
    }

    fn sort(&mut self) -> Option<Sort> {
        let cell = self.cell(Field::What)?;
        let told = self.desk.mapping.sorts.iter().find(|(word, _)| plain(word) == plain(cell.text));
        let sort = told.map(|(_, sort)| *sort).or_else(|| sort_named(cell.text));
        if sort.is_none() {
            let right = format!("a line in [sorts], such as \"{}\" = \"showing\"", cell.text.escape_debug());
            self.wrong(cell, "this word says nothing of what the row is", right);
        }
        sort
    }

    fn machines(&mut self) -> Vec<MachineId> {
        let Some(cell) = self.cell(Field::Machine) else {
            return self.desk.only_machine.iter().cloned().collect();
        };
        if let Some(machines) = self.desk.machines.find_all(cell.text) {
            return machines;
        }
        let line = format!("\"{}\" = ", cell.text.escape_debug());
        let right = match self.desk.machines.suggestion(cell.text) {
            Some(near) => format!("“{near}”? Then add {line}\"{near}\" to [machines], or mend the cell"),
            None => format!("add {line}… to [machines], or {line}{{ type = … }} to [add_machines]"),
        };
        self.wrong(cell, "the booth has no such machine", right);
        Vec::new()
    }

    fn place(&mut self) -> Option<PlaceId> {
        let cell = self.cell(Field::Place)?;
        let place = self.desk.places.find(cell.text).cloned();
        if place.is_none() {
            let right = match self.desk.places.suggestion(cell.text) {
                Some(near) => format!("“{near}”? Then name it in [places]; or set add_places = true"),
                None => "name it in [places], or set add_places = true".to_owned(),
            };
            self.wrong(cell, "the booth has no such place", right);
        }
        place
    }

    fn person(&mut self) -> Option<PersonId> {
        let cell = self.cell(Field::Person)?;
        let person = self.desk.people.find(cell.text).cloned();
        if person.is_none() {
            let right = match self.desk.people.suggestion(cell.text) {
                Some(near) => format!("“{near}”? Then name them in [people]; or set add_people = true"),
                None => "name them in [people], or set add_people = true".to_owned(),
            };
            self.wrong(cell, "the booth has nobody of this name", right);
        }
        person
    }
}
