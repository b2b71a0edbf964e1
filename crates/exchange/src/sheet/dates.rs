//! Days and times of day as people write them.

use super::{
    mapping::DateOrder,
    words::{is_one_of, is_weekday, month_named, plain},
};
use jiff::{
    ToSpan,
    civil::{Date, Time, date, time},
    fmt::temporal::Pieces,
};

/// A day as it stands in a cell.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Day {
    /// Only one day can be meant.
    Sure(Date),
    /// Three figures whose order must be known: value and number of digits of each.
    Figures([(i16, usize); 3]),
    /// Only the month is written: any day of it stands here.
    Month(Date),
}

/// A piece of a cell.
#[derive(Clone, PartialEq, Debug)]
enum Piece {
    Number(i64, usize),
    Word(String),
}

/// Reads a cell that begins with a day. Returns the day and the time of day behind it, if there is one.
///
/// The error says what is wrong with it.
pub(super) fn read_day(cell: &str, this_year: i16) -> Result<(Day, Option<Clock>), String> {
    if let Some((day, fraction)) = serial(cell) {
        let clock = (fraction > 0.0).then(|| Clock::of_day(fraction));
        return Ok((Day::Sure(day), clock));
    }
    if let Some(moment) = iso(cell) {
        return Ok(moment);
    }
    let pieces = pieces(cell);
    let (day, used) = day_at_start(&pieces, this_year).ok_or("this is no date")??;
    let rest = pieces.get(used..).unwrap_or_default();
    if rest.is_empty() {
        return Ok((day, None));
    }
    let clock = clock_of(rest).ok_or("behind the date stands something that is no time of day")?;
    Ok((day, Some(clock)))
}

/// Reads the number by which spreadsheet programs count days: 1 is 1900-01-01 and, as they have it, 1900 was a leap
/// year, so that later days count from 1899-12-30. Behind the mark stands the part of the day.
fn serial(cell: &str) -> Option<(Date, f64)> {
    let text = cell.trim().replace(',', ".");
    let whole = text.split('.').next()?;
    // 20000 is 1954, 80000 is 2119: no other figure of five digits stands in a column of dates.
    let days: i32 = if whole.len() == 5 {
        whole.parse().ok().filter(|n| (20_000..80_000).contains(n))?
    } else {
        return None;
    };
    let fraction = text.parse::<f64>().ok()?.fract();
    Some((date(1899, 12, 30).checked_add(days.days()).ok()?, fraction))
}

/// Reads ISO 8601 with a numeric offset or none; the clock on the wall is taken as written.
fn iso(cell: &str) -> Option<(Day, Option<Clock>)> {
    let cell = cell.trim();
    let pieces = Pieces::parse(cell).ok().filter(|_| !cell.ends_with(['Z', 'z']))?;
    let clock = pieces.time().map(|time| Clock { time, days: 0, seconds: time.second() != 0 });
    Some((Day::Sure(pieces.date()), clock))
}

/// Cuts a cell into numbers and words; marks and spaces only part them.
fn pieces(cell: &str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut rest = cell.trim();
    while let Some(first) = rest.chars().next() {
        let kind = |c: char| (c.is_ascii_digit(), c.is_alphabetic());
        let length = rest.find(|c| kind(c) != kind(first)).unwrap_or(rest.len());
        let text = rest.get(..length).unwrap_or_default();
        if first.is_ascii_digit() {
            // A number too long for any date becomes one that fits none.
            pieces.push(Piece::Number(text.parse().unwrap_or(i64::MAX), length));
        } else if first.is_alphabetic() {
            pieces.push(Piece::Word(text.to_owned()));
        }
        rest = rest.get(length..).unwrap_or_default();
    }
    pieces
}

/// Words between the parts of a date that say nothing.
fn says_nothing(word: &str) -> bool {
    matches!(
        plain(word).as_str(),
        "st" | "nd" | "rd" | "th" | "er" | "de" | "del" | "of" | "the" | "den" | "le" | "el"
    )
}

/// Tells whether “mar” at the start is Tuesday and not March: a month or a whole date in figures follows.
fn begins_with_tuesday(pieces: &[Piece]) -> bool {
    let is_month =
        |piece: Option<&Piece>| matches!(piece, Some(Piece::Word(word)) if month_named(word).is_some());
    let first = matches!(pieces.first(), Some(Piece::Word(word)) if is_weekday(word));
    let figures =
        matches!(pieces.get(1..4), Some([Piece::Number(..), Piece::Number(_, 1..=2), Piece::Number(_, 4)]));
    first && (is_month(pieces.get(2)) || figures)
}

/// Reads the day with which the pieces begin and returns how many of them it took.
fn day_at_start(pieces: &[Piece], this_year: i16) -> Option<Result<(Day, usize), String>> {
    use Part::{Figure, Month};
    let words_before = pieces
        .iter()
        .take_while(|piece| matches!(piece, Piece::Word(word) if month_named(word).is_none() && (is_weekday(word) || says_nothing(word))))
        .count();
    let skipped = if words_before == 0 && begins_with_tuesday(pieces) { 1 } else { words_before };
    let mut parts: Vec<(&Piece, usize)> = Vec::new();
    for (index, piece) in pieces.iter().enumerate().skip(skipped) {
        if parts.len() == 3 {
            break;
        }
        match piece {
            Piece::Word(word) if says_nothing(word) => {}
            Piece::Word(word) if month_named(word).is_none() => break,
            piece => parts.push((piece, index + 1)),
        }
    }
    let used = |count: usize| parts.get(count - 1).map_or(pieces.len(), |(_, end)| *end);
    let figures: Vec<Part> = parts.iter().map(|(piece, _)| Part::of(piece)).collect();
    let day = match figures[..] {
        [Figure(y, 4), Figure(m, 1..=2), Figure(d, 1..=2), ..] => (sure(y, m, d), 3),
        [Figure(a, 1..=2), Figure(b, 1..=2), Figure(y, 4), ..] => {
            (Ok(figures_of([(a, 2), (b, 2), (y, 4)])), 3)
        }
        [Figure(a, 1..=2), Figure(b, 1..=2), Figure(c, 2), ..] => {
            (Ok(figures_of([(a, 2), (b, 2), (c, 2)])), 3)
        }
        [Figure(d, 1..=2), Month(m), Figure(y, digits @ (2 | 4)), ..]
        | [Month(m), Figure(d, 1..=2), Figure(y, digits @ (2 | 4)), ..] => {
            (sure(full_year(y, digits, this_year), i64::from(m), d), 3)
        }
        [Figure(y, 4), Month(m), Figure(d, 1..=2), ..] => (sure(y, i64::from(m), d), 3),
        [Month(m), Figure(y, 4), ..] => (month(y, i64::from(m)), 2),
        [Figure(m, 1..=2), Figure(y, 4), ..] | [Figure(y, 4), Figure(m, 1..=2)] => (month(y, m), 2),
        [Figure(all, 8), ..] => (sure(all / 10_000, all / 100 % 100, all % 100), 1),
        [Figure(_, 1..=2), Month(_) | Figure(_, 1..=2)] | [Month(_), Figure(_, 1..=2)] => {
            return Some(Err("this date has no year".to_owned()));
        }
        _ => return None,
    };
    Some(day.0.map(|found| (found, used(day.1))))
}

/// A part of a date.
#[derive(Clone, Copy)]
enum Part {
    Figure(i64, usize),
    Month(i8),
}

impl Part {
    fn of(piece: &Piece) -> Self {
        match piece {
            Piece::Number(value, digits) => Self::Figure(*value, *digits),
            Piece::Word(word) => Self::Month(month_named(word).unwrap_or_default()),
        }
    }
}

/// Returns the year that two digits mean: none lies more than one year after this one.
fn full_year(year: i64, digits: usize, this_year: i16) -> i64 {
    let this_year = i64::from(this_year);
    match digits {
        2 if this_year / 100 * 100 + year <= this_year + 1 => this_year / 100 * 100 + year,
        2 => this_year / 100 * 100 - 100 + year,
        _ => year,
    }
}

fn calendar(year: i64, month: i64, day: i64) -> Result<Date, String> {
    let none = || format!("there is no day {day} of month {month} in {year}");
    let year_fits = i16::try_from(year).map_err(|_| none())?;
    let (month, day) = (i8::try_from(month).map_err(|_| none())?, i8::try_from(day).map_err(|_| none())?);
    Date::new(year_fits, month, day).map_err(|_| none())
}

fn sure(year: i64, month: i64, day: i64) -> Result<Day, String> {
    calendar(year, month, day).map(Day::Sure)
}

fn month(year: i64, month: i64) -> Result<Day, String> {
    calendar(year, month, 15).map(Day::Month)
}

fn figures_of(figures: [(i64, usize); 3]) -> Day {
    // All three have at most four digits.
    Day::Figures(figures.map(|(value, digits)| (i16::try_from(value).unwrap_or(i16::MAX), digits)))
}

/// Reads three figures in an order.
pub(super) fn in_order(figures: [(i16, usize); 3], order: DateOrder, this_year: i16) -> Result<Date, String> {
    let [(a, digits_a), (b, _), (c, digits_c)] = figures.map(|(value, digits)| (i64::from(value), digits));
    match order {
        DateOrder::DayMonthYear => calendar(full_year(c, digits_c, this_year), b, a),
        DateOrder::MonthDayYear => calendar(full_year(c, digits_c, this_year), a, b),
        DateOrder::YearMonthDay if digits_c == 4 => Err("the year stands last here".to_owned()),
        DateOrder::YearMonthDay => calendar(full_year(a, digits_a, this_year), b, c),
    }
}

/// Returns the date with day and month swapped, if there is such a day and it is another one.
pub(super) fn swapped(day: Date) -> Option<Date> {
    Date::new(day.year(), day.day(), day.month()).ok().filter(|other| *other != day)
}

/// A time of day as written; `24:00` and times after it belong to the next day.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Clock {
    /// The time.
    pub time: Time,
    /// Whole days later.
    pub days: i32,
    /// It was written to the second.
    pub seconds: bool,
}

impl Clock {
    /// Returns a time of day as a clock shows it.
    pub fn at(time: Time) -> Self {
        Self { time, days: 0, seconds: false }
    }

    fn new(hour: i64, minute: i64, second: i64) -> Option<Self> {
        let small =
            |value: i64, most: i64| i8::try_from(value).ok().filter(|v| (0..=most).contains(&i64::from(*v)));
        let (hour, minute, second_fits) = (small(hour, 24)?, small(minute, 59)?, small(second, 59)?);
        Some(Self {
            time: time(hour % 24, minute, second_fits, 0),
            days: i32::from(hour / 24),
            seconds: second != 0,
        })
    }

    /// Returns the time that a part of a day is, to the minute.
    fn of_day(fraction: f64) -> Self {
        let minutes = (fraction.clamp(0.0, 1.0) * 1440.0).round() as i64;
        Self::new(minutes / 60, minutes % 60, 0).expect("a day has 1440 minutes")
    }
}

/// Reads a cell with a time of day: `19:30`, `7.30pm`, `19h30`, `19.30 Uhr`, `1930`, `7 p.m.`, `0.8125`.
pub(super) fn read_clock(cell: &str) -> Option<Clock> {
    let cell = cell.trim();
    if is_one_of(cell, &["noon", "midday", "mittag", "midi", "mediodia"]) {
        return Clock::new(12, 0, 0);
    }
    if is_one_of(cell, &["midnight", "mitternacht", "minuit", "medianoche"]) {
        return Clock::new(24, 0, 0);
    }
    part_of_day(cell).or_else(|| clock_of(&pieces(cell)))
}

/// Reads the part of a day by which spreadsheet programs keep times: `0.8125`.
fn part_of_day(cell: &str) -> Option<Clock> {
    let digits = cell.strip_prefix("0.").or_else(|| cell.strip_prefix("0,"))?;
    if digits.len() < 3 || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    format!("0.{digits}").parse().ok().map(Clock::of_day)
}

fn clock_of(pieces: &[Piece]) -> Option<Clock> {
    let mut numbers = Vec::new();
    let mut half = String::new();
    for piece in pieces {
        match piece {
            Piece::Number(value, digits) if half.is_empty() => numbers.push((*value, *digits)),
            Piece::Number(..) => return None,
            Piece::Word(word) => match plain(word).as_str() {
                "h" | "t" | "uhr" | "at" | "um" | "hrs" | "std" | "min" | "o" | "clock" => {}
                letters @ ("a" | "p" | "m" | "am" | "pm") => half.push_str(letters),
                _ => return None,
            },
        }
    }
    let (hour, minute, second) = match numbers[..] {
        [(all, 4)] => (all / 100, all % 100, 0),
        [(hour, 1..=2)] => (hour, 0, 0),
        [(hour, 1..=2), (minute, 2)] => (hour, minute, 0),
        // A fraction of a second is passed over.
        [(hour, 1..=2), (minute, 2), (second, 2)] | [(hour, 1..=2), (minute, 2), (second, 2), (_, 1..=9)] => {
            (hour, minute, second)
        }
        _ => return None,
    };
    match half.as_str() {
        "" => Clock::new(hour, minute, second),
        "am" if (1..=12).contains(&hour) => Clock::new(hour % 12, minute, second),
        "pm" if (1..=12).contains(&hour) => Clock::new(hour % 12 + 12, minute, second),
        _ => None,
    }
}

#[cfg(test)]
mod tests;
