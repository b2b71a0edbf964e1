//! Figures as people type them into cells.

use super::mapping::Decimal;

/// A figure and what stands behind it.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Figure {
    /// The value.
    pub value: f64,
    /// The unit or words behind it.
    pub unit: String,
}

/// Why a cell is no figure.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct NoFigure {
    /// What is wrong with it.
    pub why: String,
    /// What it may have been meant to be.
    pub meant: Option<String>,
}

/// Reads a figure with an optional unit: `3120,5 h`, `1 234.5`, `−2`.
pub(super) fn read_figure(cell: &str, decimal: Decimal) -> Result<Figure, NoFigure> {
    let (sign, rest) = sign(cell.trim());
    let length = figure_length(rest);
    let (digits, unit) = (rest.get(..length).unwrap_or_default(), rest.get(length..).unwrap_or_default());
    if let Some(meant) = letters_for_digits(digits, unit) {
        return Err(NoFigure { why: "there are letters in the number".to_owned(), meant: Some(meant) });
    }
    if !digits.contains(|c: char| c.is_ascii_digit()) {
        return Err(NoFigure { why: "this is no number".to_owned(), meant: None });
    }
    let plain = without_grouping(digits.trim_end(), decimal)
        .ok_or_else(|| NoFigure { why: "the marks in this number do not add up".to_owned(), meant: None })?;
    let value: f64 =
        plain.parse().map_err(|_| NoFigure { why: "this is no number".to_owned(), meant: None })?;
    if value.is_finite() {
        Ok(Figure { value: sign * value, unit: unit.trim().to_owned() })
    } else {
        Err(NoFigure { why: "the number is too large".to_owned(), meant: None })
    }
}

fn sign(text: &str) -> (f64, &str) {
    match text.strip_prefix(['-', '−', '–']) {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    }
}

/// Returns how many bytes from the start belong to the number: digits, marks, and spaces between groups of three.
fn figure_length(text: &str) -> usize {
    let space = |c: char| matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\'' | '’');
    let mut end = 0;
    for (at, c) in text.char_indices() {
        let after = text.get(at + c.len_utf8()..).unwrap_or_default();
        let three = after.chars().take_while(char::is_ascii_digit).count() == 3;
        if c.is_ascii_digit() || matches!(c, '.' | ',') || (space(c) && end > 0 && three) {
            end = at + c.len_utf8();
        } else {
            break;
        }
    }
    end
}

/// Returns what a number was meant to be in which letters stand for the digits that look like them.
fn letters_for_digits(digits: &str, behind: &str) -> Option<String> {
    let touches = behind.starts_with(|c: char| c.is_alphabetic());
    let looks = |c: char| match c {
        'O' | 'o' => Some('0'),
        'l' | 'I' | '|' => Some('1'),
        'S' => Some('5'),
        'B' => Some('8'),
        '0'..='9' | '.' | ',' => Some(c),
        _ => None,
    };
    let meant: String = behind.trim_end().chars().map(looks).collect::<Option<_>>()?;
    let more_digits = behind.contains(|c: char| c.is_ascii_digit());
    (touches && (more_digits || !digits.is_empty())).then(|| format!("{}{meant}", digits.trim_end()))
}

/// Takes out the marks between groups of three and makes the decimal mark a point.
fn without_grouping(digits: &str, decimal: Decimal) -> Option<String> {
    let compact: String = digits.chars().filter(|c| c.is_ascii_digit() || matches!(c, '.' | ',')).collect();
    let (points, commas) = (compact.matches('.').count(), compact.matches(',').count());
    let mark = match (points, commas) {
        (0, 0) => return Some(compact),
        // With both, the last one is the decimal mark.
        (1.., 1..) => {
            if compact.rfind('.') > compact.rfind(',') {
                '.'
            } else {
                ','
            }
        }
        (_, 0) => decimal_mark(&compact, '.', decimal == Decimal::Point)?,
        (0, _) => decimal_mark(&compact, ',', decimal == Decimal::Comma)?,
    };
    let (whole, decimals) = compact.rsplit_once(mark).unwrap_or((&compact, ""));
    let other = if mark == '.' { ',' } else { '.' };
    let whole = if whole.contains(other) { groups(whole, other)? } else { whole.to_owned() };
    let number = |text: &str| text.chars().all(|c| c.is_ascii_digit());
    (number(&whole) && number(decimals)).then(|| format!("{whole}.{decimals}"))
}

/// Returns which mark is the decimal one in a number that has only marks of one sort.
fn decimal_mark(compact: &str, mark: char, is_decimal: bool) -> Option<char> {
    let other = if mark == '.' { ',' } else { '.' };
    match (is_decimal, compact.matches(mark).count()) {
        (true, 1) => Some(mark),
        (_, count) if count > 1 || looks_grouped(compact, mark) => groups(compact, mark).map(|_| other),
        _ => Some(mark),
    }
}

/// Tells whether one mark stands before exactly three digits, so that it may part thousands.
pub(super) fn looks_grouped(compact: &str, mark: char) -> bool {
    groups(compact, mark).is_some() && !compact.starts_with('0')
}

/// Joins groups of three digits.
fn groups(text: &str, mark: char) -> Option<String> {
    let mut groups = text.split(mark);
    let first = groups.next().filter(|first| (1..=3).contains(&first.len()))?;
    let rest: Vec<&str> = groups.collect();
    rest.iter().all(|group| group.len() == 3).then(|| format!("{first}{}", rest.concat()))
}

/// What a number tells about its marks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum MarkEvidence {
    /// This is its decimal mark.
    Is(Decimal),
    /// It has one mark before three digits: thousands or decimals.
    Unclear,
    /// It has none.
    Nothing,
}

/// Returns what a cell tells about the decimal mark.
pub(super) fn mark_evidence(cell: &str) -> MarkEvidence {
    let (_, rest) = sign(cell.trim());
    let digits = rest.get(..figure_length(rest)).unwrap_or_default();
    let (points, commas) = (digits.matches('.').count(), digits.matches(',').count());
    let is = |mark| MarkEvidence::Is(if mark == '.' { Decimal::Point } else { Decimal::Comma });
    match (points, commas) {
        (0, 0) => MarkEvidence::Nothing,
        (1.., 1..) => is(if digits.rfind('.') > digits.rfind(',') { '.' } else { ',' }),
        (1, 0) | (0, 1) => {
            let mark = if points == 1 { '.' } else { ',' };
            if looks_grouped(digits, mark) { MarkEvidence::Unclear } else { is(mark) }
        }
        // Several of one sort part thousands, so the other one is the decimal mark.
        (_, 0) => is(','),
        (0, _) => is('.'),
    }
}

#[cfg(test)]
mod tests;
