//! How dates, hours and spans are said.

use jiff::{ToSpan, civil::Date};
use logbook::{Precision, When};
use units::Hours;

/// Returns hours as people say them: tenths below 100, whole hours from there on.
pub fn hours(hours: Hours) -> String {
    let value = hours.hours();
    let number = if value.abs() < 99.95 { tenths(value) } else { format!("{value:.0}") };
    format!("{number} h")
}

/// Returns what an hour meter shows: always to the tenth, as it stands there.
pub fn meter(reading: Hours) -> String {
    format!("{} h", tenths(reading.hours()))
}

/// Returns a number with one decimal, without a trailing nought.
pub fn tenths(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Returns minutes as hours and minutes: `1 h 34 min`.
pub fn minutes(minutes: f64) -> String {
    let whole = minutes.max(0.0).round() as u64;
    match (whole / 60, whole % 60) {
        (0, rest) => format!("{rest} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, rest) => format!("{hours} h {rest:02} min"),
    }
}

/// Returns a date as it is said in the year around `today`: `Fri 27 Nov`, with the year if it is far off.
pub fn date(date: Date, today: Date) -> String {
    let near = units::civil::days_between(today, date).abs() < 180;
    date.strftime(if near { "%a %-d %b" } else { "%a %-d %b %Y" }).to_string()
}

/// Returns a date with its distance: `Fri 27 Nov, in 3 days`.
pub fn date_and_distance(then: Date, today: Date) -> String {
    match units::civil::days_between(today, then) {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        -1 => "yesterday".to_owned(),
        far if far > 0 => format!("{}, in {}", date(then, today), days(far)),
        past => format!("{}, {} ago", date(then, today), days(past)),
    }
}

/// Returns a number of days as a span that is easy to grasp: days below three weeks, then weeks, then months.
pub fn days(days: i64) -> String {
    let size = days.abs();
    let plural = |count: i64, word: &str| format!("{count} {word}{}", if count == 1 { "" } else { "s" });
    match size {
        0..21 => plural(size, "day"),
        21..120 => plural((size + 3) / 7, "week"),
        120..730 => plural((size + 15) / 30, "month"),
        _ => plural((size + 182) / 365, "year"),
    }
}

/// Returns a moment as exactly as it is known.
pub fn moment(when: When, today: Date) -> String {
    let local = when.local();
    match when.precision {
        Precision::Second | Precision::Minute => {
            format!("{} {}", date(local.date(), today), local.strftime("%H:%M"))
        }
        Precision::Day => date(local.date(), today),
        Precision::Month => local.strftime("%b %Y").to_string(),
    }
}

/// Returns a moment's date with its distance, as exactly as it is known.
pub fn moment_and_distance(when: When, today: Date) -> String {
    match when.precision {
        Precision::Month => when.local().strftime("%b %Y").to_string(),
        Precision::Day => date_and_distance(when.date().min(today), today),
        _ => date_and_distance(evening_of(when).min(today), today),
    }
}

/// The evening to which a past moment belongs: after midnight and before the night ends it is still the one before.
/// Views know the evening that it is and not the booth's own hour, so the usual one counts here.
fn evening_of(when: When) -> Date {
    units::civil::Evening::of(when.local(), units::civil::NIGHT_ENDS).date()
}

/// Returns when a showing begins, by the evening to which it belongs: `tomorrow, 19:30`, `tonight, 00:30`.
pub fn start(starts: &jiff::ZonedDateTime, evening: Date, today: Date) -> String {
    let after_midnight = starts.date() > evening;
    let day = if evening == today && after_midnight {
        "tonight".to_owned()
    } else {
        date_and_distance(evening, today)
    };
    format!("{day}, {}", starts.strftime("%H:%M"))
}

/// Returns the Monday of a date's week (ISO 8601: weeks begin on Monday).
pub fn monday_of(date: Date) -> Date {
    let back = i64::from(date.weekday().to_monday_zero_offset());
    date.checked_sub(back.days()).unwrap_or(date)
}

/// Returns a list as one says it: `a, b and c`.
pub fn listed(things: &[String]) -> String {
    match things {
        [] => String::new(),
        [one] => one.clone(),
        [firsts @ .., last] => format!("{} and {last}", firsts.join(", ")),
    }
}

/// Returns a count with its noun: `1 step`, `3 steps`.
pub fn counted(count: usize, noun: &str) -> String {
    format!("{count} {noun}{}", if count == 1 { "" } else { "s" })
}
