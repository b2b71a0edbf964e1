//! Cutting text into numbers and words.

use super::Problem;

/// A piece of the text and the column at which it starts, counted in characters from 1.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    pub(super) column: usize,
    pub(super) text: String,
    pub(super) kind: Kind,
}

/// What a piece is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Kind {
    /// A whole or decimal number.
    Number(f64),
    /// A fraction such as `15/16`.
    Fraction(f64),
    /// Anything else: a unit, or something that should not be there.
    Word,
}

/// Cuts the text into pieces. Fails on a number that cannot be read, with its column.
pub(super) fn pieces(text: &str) -> Result<Vec<Piece>, (usize, Problem)> {
    let chars: Vec<char> = text.chars().collect();
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(&first) = chars.get(at) {
        if first.is_whitespace() {
            at += 1;
            continue;
        }
        let end = end_of_piece(&chars, at);
        let text: String = chars.get(at..end).unwrap_or_default().iter().collect();
        let kind = if first.is_ascii_digit() || starts_with_point(&chars, at) {
            number(&text).map_err(|problem| (at + 1, problem))?
        } else {
            Kind::Word
        };
        found.push(Piece { column: at + 1, text, kind });
        at = end;
    }
    Ok(found)
}

/// True for `.5` and `,5`.
fn starts_with_point(chars: &[char], at: usize) -> bool {
    matches!(chars.get(at), Some('.' | ',')) && chars.get(at + 1).is_some_and(char::is_ascii_digit)
}

/// The end of the piece that starts here; always beyond the start.
fn end_of_piece(chars: &[char], start: usize) -> usize {
    let first = chars.get(start).copied().unwrap_or(' ');
    let rest = chars.iter().skip(start + 1);
    let length = if first.is_ascii_digit() || starts_with_point(chars, start) {
        rest.take_while(|&&c| c.is_ascii_digit() || matches!(c, '.' | ',' | '/')).count()
    } else if is_quote(first) {
        rest.take_while(|&&c| is_quote(c)).count()
    } else {
        let word = rest.take_while(|&&c| !c.is_whitespace() && !c.is_ascii_digit() && !is_quote(c)).count();
        word + square(chars, start + 1 + word)
    };
    start + 1 + length
}

/// 1 when a lone `2` belongs to the unit before it, as in `cd/m2`.
fn square(chars: &[char], at: usize) -> usize {
    let after_m = at.checked_sub(2).and_then(|i| chars.get(i..at)) == Some(&['/', 'm']);
    let lone_two = chars.get(at) == Some(&'2') && !chars.get(at + 1).is_some_and(char::is_ascii_digit);
    usize::from(after_m && lone_two)
}

/// The marks that stand for feet and inches.
fn is_quote(c: char) -> bool {
    matches!(c, '\'' | '"' | '′' | '″' | '’' | '”')
}

fn number(text: &str) -> Result<Kind, Problem> {
    if let Some((top, bottom)) = text.split_once('/') {
        return fraction(text, top, bottom);
    }
    decimal(text).map(Kind::Number)
}

fn fraction(text: &str, top: &str, bottom: &str) -> Result<Kind, Problem> {
    let malformed = || Problem::NumberMalformed { found: text.to_owned() };
    let whole = |part: &str| part.parse::<u32>().map_err(|_| malformed());
    let (top, bottom) = (whole(top)?, whole(bottom)?);
    if bottom == 0 { Err(malformed()) } else { Ok(Kind::Fraction(f64::from(top) / f64::from(bottom))) }
}

/// Reads a number with a decimal point or comma. A comma before exactly three digits is refused, as it may part
/// thousands; `1,234.5` and `1.234,5` are clear and read.
fn decimal(text: &str) -> Result<f64, Problem> {
    let plain = match (text.rfind('.'), text.rfind(',')) {
        (Some(point), Some(comma)) if point > comma => ungrouped(text, ',', '.')?,
        (Some(_), Some(_)) => ungrouped(text, '.', ',')?,
        (None, Some(_)) => without_comma(text)?,
        _ => text.to_owned(),
    };
    let value: f64 = plain.parse().map_err(|_| Problem::NumberMalformed { found: text.to_owned() })?;
    if value.is_finite() { Ok(value) } else { Err(Problem::TooLarge) }
}

/// Takes the thousands marks out of a number that has both marks, after checking that they part thousands.
fn ungrouped(text: &str, thousands: char, point: char) -> Result<String, Problem> {
    let malformed = || Problem::NumberMalformed { found: text.to_owned() };
    let (whole, decimals) = text.rsplit_once(point).ok_or_else(malformed)?;
    if !groups_of_three(whole, thousands) {
        return Err(malformed());
    }
    Ok(format!("{}.{decimals}", whole.replace(thousands, "")))
}

fn groups_of_three(whole: &str, mark: char) -> bool {
    let mut groups = whole.split(mark);
    let first_fits = groups.next().is_some_and(|first| (1..=3).contains(&first.len()));
    first_fits && groups.all(|group| group.len() == 3)
}

/// Reads commas where there is no point: one is a decimal comma, several part thousands, one before three digits is
/// unclear.
fn without_comma(text: &str) -> Result<String, Problem> {
    let grouped = groups_of_three(text, ',') && !text.starts_with('0');
    match text.matches(',').count() {
        1 if grouped => Err(Problem::CommaUnclear { found: text.to_owned() }),
        1 => Ok(text.replace(',', ".")),
        _ if grouped => Ok(text.replace(',', "")),
        _ => Err(Problem::NumberMalformed { found: text.to_owned() }),
    }
}
