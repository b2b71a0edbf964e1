//! Times with colons: `11:06.7`, `1:02:03`.

use super::{Problem, ReadError, Wanted};

/// What a reading with a single colon counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TwoParts {
    /// `11:06` is eleven minutes.
    MinutesSeconds,
    /// `11:06` is eleven hours.
    HoursMinutes,
}

/// Reads a time with colons, in seconds. Only the first part may be 60 or more, and only seconds may have decimals.
pub(super) fn read(given: &str, wanted: Wanted, two_parts: TwoParts) -> Result<f64, ReadError> {
    let (sign, text) = match given.trim().strip_prefix(['-', '−']) {
        Some(rest) => (-1.0, rest),
        None => (1.0, given.trim()),
    };
    let refuse = |part: &str, problem| wanted.refuse(given, column_of(given, part), problem);
    let mut parts = text.split(':');
    let (Some(first), Some(second), third, None) = (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(refuse(text, Problem::ClockParts));
    };
    let leading = whole(first).map_err(|problem| refuse(first, problem))?;
    let under_60 = |part| sixtieths(part).map_err(|problem| refuse(part, problem));
    let seconds = match (third, two_parts) {
        (Some(third), _) => {
            leading * 3600.0 + only_whole(second, under_60(second)?, refuse)? * 60.0 + under_60(third)?
        }
        (None, TwoParts::MinutesSeconds) => leading * 60.0 + under_60(second)?,
        (None, TwoParts::HoursMinutes) => {
            leading * 3600.0 + only_whole(second, under_60(second)?, refuse)? * 60.0
        }
    };
    Ok(sign * seconds)
}

/// The column at which a part stands; parts are slices of the text that was given.
fn column_of(given: &str, part: &str) -> usize {
    let byte = (part.as_ptr() as usize).saturating_sub(given.as_ptr() as usize);
    given.get(..byte).map_or(1, |before| before.chars().count() + 1)
}

fn whole(part: &str) -> Result<f64, Problem> {
    let digits = !part.is_empty() && part.chars().all(|c| c.is_ascii_digit());
    match part.parse::<u32>() {
        Ok(value) if digits => Ok(f64::from(value)),
        Err(_) if digits => Err(Problem::TooLarge),
        _ if part.is_empty() => Err(Problem::NumberMissing),
        _ => Err(Problem::NumberWanted { found: part.to_owned() }),
    }
}

/// Two digits below 60, perhaps with decimals after a point or comma.
fn sixtieths(part: &str) -> Result<f64, Problem> {
    let refused = || Problem::ClockPart { found: part.to_owned() };
    let plain = part.replace(',', ".");
    let (digits, decimals) = plain.split_once('.').unwrap_or((&plain, "0"));
    let all_digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    if digits.len() != 2 || !all_digits(digits) || !all_digits(decimals) {
        return Err(refused());
    }
    plain.parse().ok().filter(|&value: &f64| value < 60.0).ok_or_else(refused)
}

fn only_whole(part: &str, value: f64, refuse: impl Fn(&str, Problem) -> ReadError) -> Result<f64, ReadError> {
    if part.len() == 2 { Ok(value) } else { Err(refuse(part, Problem::ClockPart { found: part.to_owned() })) }
}
