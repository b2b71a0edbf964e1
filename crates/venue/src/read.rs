//! Reading a quantity that may be a range: `12 m`, `8–10 m`, `8 to 10 m`, `9 m ± 0.5 m`, `9 m ± 5 %`, `about 9 m`.

use std::str::FromStr;

use units::Percent;
use units::read::{Problem, ReadError};

use crate::estimate::{Estimate, Quantity};

/// How far "about" reaches to either side: common practice, no source.
pub const ABOUT: Percent = Percent::new(5.0);

/// Reads a quantity or a range of it. `customary` is the unit that goes without saying, where one does (`mm` for a
/// lens); a number without a unit is refused where none does.
pub fn estimate<Q>(given: &str, customary: Option<&str>) -> Result<Estimate<Q>, ReadError>
where
    Q: Quantity + FromStr<Err = ReadError>,
{
    let text = plain_feet(given.trim());
    let reader = Reader { given, customary };
    if let Some(rest) = about(&text) {
        return Ok(spread(reader.one::<Q>(rest)?, ABOUT));
    }
    if let Some((middle, tolerance)) = split_at_any(&text, &["±", "+/-", "+-"]) {
        return reader.with_tolerance(middle, tolerance);
    }
    if let Some((from, to)) = ends(&text) {
        return reader.range(from, to);
    }
    reader.one(&text).map(Estimate::exactly)
}

struct Reader<'a> {
    given: &'a str,
    customary: Option<&'a str>,
}

impl Reader<'_> {
    /// Reads one quantity; a refusal speaks of the whole text.
    fn one<Q: FromStr<Err = ReadError>>(&self, part: &str) -> Result<Q, ReadError> {
        let read = part.parse::<Q>().or_else(|refusal| match (self.customary, &refusal.problem) {
            (Some(unit), Problem::UnitMissing) => format!("{part} {unit}").parse::<Q>(),
            _ => Err(refusal),
        });
        read.map_err(|refusal| self.about_the_whole(part, refusal))
    }

    fn about_the_whole(&self, part: &str, refusal: ReadError) -> ReadError {
        let before = self.given.find(part.trim()).map_or(0, |at| {
            let leading = part.chars().take_while(|c| c.is_whitespace()).count();
            self.given.get(..at).unwrap_or_default().chars().count().saturating_sub(leading)
        });
        let width = self.given.chars().count();
        ReadError {
            given: self.given.to_owned(),
            column: (refusal.column + before).min(width.max(1)),
            ..refusal
        }
    }

    fn range<Q>(&self, from: &str, to: &str) -> Result<Estimate<Q>, ReadError>
    where
        Q: Quantity + FromStr<Err = ReadError>,
    {
        let high: Q = self.one(to)?;
        // In "8 to 10 m" the first number takes the unit of the second.
        let low: Q = match from.parse::<Q>() {
            Err(refusal) if refusal.problem == Problem::UnitMissing && !unit_of(to).is_empty() => {
                let completed = format!("{from} {}", unit_of(to));
                completed.parse::<Q>().map_err(|refusal| self.about_the_whole(from, refusal))?
            }
            _ => self.one(from)?,
        };
        Ok(Estimate::between(low, Q::of(f64::midpoint(low.bare(), high.bare())), high))
    }

    fn with_tolerance<Q>(&self, middle: &str, tolerance: &str) -> Result<Estimate<Q>, ReadError>
    where
        Q: Quantity + FromStr<Err = ReadError>,
    {
        // In "9 ± 0.5 m" the middle takes the unit of the tolerance.
        let borrowed = if tolerance.contains('%') { "" } else { unit_of(tolerance) };
        let likely: Q = match middle.parse::<Q>() {
            Err(refusal) if refusal.problem == Problem::UnitMissing && !borrowed.is_empty() => {
                self.one(&format!("{middle} {borrowed}"))?
            }
            _ => self.one(middle)?,
        };
        if let Ok(percent) = tolerance.parse::<Percent>() {
            return Ok(spread(likely, percent));
        }
        let by = self.one::<Q>(tolerance)?.bare().abs();
        Ok(Estimate::between(Q::of(likely.bare() - by), likely, Q::of(likely.bare() + by)))
    }
}

fn spread<Q: Quantity>(likely: Q, by: Percent) -> Estimate<Q> {
    let part = by.abs().as_fraction();
    Estimate::between(Q::of(likely.bare() * (1.0 - part)), likely, Q::of(likely.bare() * (1.0 + part)))
}

/// What follows "about", where it stands in front.
fn about(text: &str) -> Option<&str> {
    ["about ", "ca. ", "ca ", "circa ", "~", "≈"].iter().find_map(|word| text.strip_prefix(word))
}

/// Feet and inches as architects join them (`12'-6"`) become plain ones, since that hyphen makes no range.
fn plain_feet(text: &str) -> String {
    const INCH: [&str; 5] = ["\"", "″", "”", "''", "in"];
    const FOOT: [&str; 4] = ["'-", "′-", "’-", "ft-"];
    let joined = FOOT.iter().find_map(|mark| text.split_once(mark).map(|parts| (mark, parts)));
    match joined {
        Some((mark, (feet, inches)))
            if INCH.iter().any(|inch| inches.ends_with(inch))
                && !FOOT
                    .iter()
                    .any(|foot| inches.contains(foot.trim_end_matches('-')) && !inches.ends_with("''")) =>
        {
            format!("{feet}{} {inches}", mark.trim_end_matches('-'))
        }
        _ => text.to_owned(),
    }
}

/// The two ends of a range, if the text is one.
fn ends(text: &str) -> Option<(&str, &str)> {
    split_at_any(text, &[" to ", "..", "–", "—"]).or_else(|| hyphen(text))
}

/// A hyphen makes a range when something stands before it and a number after it.
fn hyphen(text: &str) -> Option<(&str, &str)> {
    let parts = |at: usize| Some((text.get(..at)?, text.get(at + 1..)?));
    text.match_indices('-').filter_map(|(at, _)| parts(at)).find(|(from, to)| {
        !from.trim().is_empty() && to.trim_start().starts_with(|c: char| c.is_ascii_digit())
    })
}

fn split_at_any<'a>(text: &'a str, marks: &[&str]) -> Option<(&'a str, &'a str)> {
    let (from, to) = marks.iter().find_map(|mark| text.split_once(mark))?;
    (!from.trim().is_empty() && !to.trim().is_empty()).then_some((from, to))
}

/// The unit at the end of a text: what follows its last digit.
fn unit_of(text: &str) -> &str {
    let end = text.rfind(|c: char| c.is_ascii_digit()).map_or(0, |at| at + 1);
    text.get(end..).unwrap_or_default().trim()
}
