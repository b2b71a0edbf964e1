//! Lengths of time as people write them: `1h30`, `90 min`, `1:30`, `1,5 Std.`, `95'`.

use super::{
    mapping::{Decimal, LengthUnit},
    numbers::{NoFigure, read_figure},
    words::plain,
};
use units::Hours;

/// Reads a length of time; a bare number counts `bare`.
pub(super) fn read_length(cell: &str, decimal: Decimal, bare: LengthUnit) -> Result<Hours, NoFigure> {
    let cell = cell.trim();
    let (negative, text) = match cell.strip_prefix(['-', '−', '–']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, cell),
    };
    let hours = if text.contains(':') { with_colons(text)? } else { with_units(text, decimal, bare)? };
    Ok(Hours::new(if negative { -hours } else { hours }))
}

fn none(why: &str) -> NoFigure {
    NoFigure { why: why.to_owned(), meant: None }
}

/// Reads hours, minutes and perhaps seconds parted by colons.
fn with_colons(text: &str) -> Result<f64, NoFigure> {
    let text = text.trim_end_matches(|c: char| c.is_alphabetic() || c == '.' || c.is_whitespace());
    let parts: Vec<f64> = text
        .split(':')
        .map(|part| part.trim().parse::<u32>().map(f64::from).map_err(|_| none("this is no length of time")))
        .collect::<Result<_, _>>()?;
    match parts[..] {
        [hours, minutes] if minutes < 60.0 => Ok(hours + minutes / 60.0),
        [hours, minutes, seconds] if minutes < 60.0 && seconds < 60.0 => {
            Ok(hours + minutes / 60.0 + seconds / 3600.0)
        }
        _ => Err(none("minutes and seconds stay below 60")),
    }
}

/// Reads numbers with units, largest first; a number behind hours counts minutes.
fn with_units(text: &str, decimal: Decimal, bare: LengthUnit) -> Result<f64, NoFigure> {
    let mut total = 0.0;
    let mut rest = text.to_owned();
    let mut smallest = f64::INFINITY;
    for _ in 0..3 {
        let figure = read_figure(&rest, decimal)?;
        let end = figure.unit.find(|c: char| c.is_ascii_digit()).unwrap_or(figure.unit.len());
        let (unit, after) = figure.unit.split_at(end);
        let size = match unit_size(unit) {
            Some(size) => size,
            None if !unit.trim().is_empty() => return Err(none("this unit is no hours, minutes or seconds")),
            None if smallest == 1.0 => 1.0 / 60.0,
            None if smallest.is_infinite() => bare_size(bare),
            None => return Err(none("a unit is missing")),
        };
        if size >= smallest || figure.value < 0.0 {
            return Err(none("this is no length of time"));
        }
        total += figure.value * size;
        smallest = size;
        after.clone_into(&mut rest);
        if rest.is_empty() {
            return Ok(total);
        }
    }
    Err(none("this is no length of time"))
}

fn bare_size(bare: LengthUnit) -> f64 {
    match bare {
        LengthUnit::Hours => 1.0,
        LengthUnit::Minutes => 1.0 / 60.0,
    }
}

/// Returns how many hours a unit is.
fn unit_size(unit: &str) -> Option<f64> {
    if matches!(unit.trim(), "'" | "′" | "’") {
        return Some(1.0 / 60.0);
    }
    match plain(unit).as_str() {
        "h" | "hr" | "hrs" | "hour" | "hours" | "std" | "stunde" | "stunden" | "heure" | "heures"
        | "hora" | "horas" => Some(1.0),
        "m" | "min" | "mins" | "mn" | "minute" | "minutes" | "minuten" | "minuto" | "minutos" => {
            Some(1.0 / 60.0)
        }
        "s" | "sec" | "secs" | "second" | "seconds" | "sek" | "sekunden" => Some(1.0 / 3600.0),
        _ => None,
    }
}

#[cfg(test)]
mod tests;
