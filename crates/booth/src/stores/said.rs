//! Why an item stands on the shopping list, or how it stands, in a sentence.

use super::{
    ItemKind, NeedRests, StoreState,
    line::{LeadRests, StoreLine},
    served::Place,
};
use crate::words::{listed, many};
use jiff::civil;
use logbook::Booth;

/// The reasons in a sentence.
pub(super) fn why(line: &StoreLine<'_>, places: &[&Place<'_>], booth: &Booth, today: civil::Date) -> String {
    let mut pieces = vec![there(line)];
    if line.in_use > 0 {
        pieces.push(in_use(line, places, booth));
    }
    pieces.extend(rate(line));
    pieces.push(on_order(line, today));
    let mut sentence = pieces.join(", ") + ".";
    if let Some(more) = want(line) {
        sentence.push(' ');
        sentence.push_str(&more);
    }
    sentence
}

fn there(line: &StoreLine<'_>) -> String {
    match line.count() {
        None => "never counted".to_owned(),
        Some(0) => "none there".to_owned(),
        Some(count) if count < 0 => "more used than there were by the last count".to_owned(),
        Some(count) => format!("{count} there"),
    }
}

/// So many names are spoken.
const MOST_NAMES: usize = 4;

fn in_use(line: &StoreLine<'_>, places: &[&Place<'_>], booth: &Booth) -> String {
    let mut names: Vec<&str> = places.iter().map(|place| booth.machine_name(place.machine)).collect();
    names.dedup();
    names.sort_unstable();
    names.dedup();
    if names.len() > MOST_NAMES {
        return format!("{} in use in {}", line.in_use, many(names.len(), "machine"));
    }
    format!("{} in use ({})", line.in_use, listed(&names))
}

fn rate(line: &StoreLine<'_>) -> Option<String> {
    line.stock?;
    let a_month = line.used.per_month();
    if line.used.last_year > 0 {
        return Some(format!("about {} used a month", tenths(a_month)));
    }
    Some("none used in the last year".to_owned())
}

fn on_order(line: &StoreLine<'_>, today: civil::Date) -> String {
    match (line.on_order(), line.expected()) {
        (0, _) => "none on order".to_owned(),
        (n, None) => format!("{n} on order"),
        (n, Some(day)) if day < today => format!("{n} on order and past their day ({day})"),
        (n, Some(day)) => format!("{n} on order, expected on {day}"),
    }
}

fn want(line: &StoreLine<'_>) -> Option<String> {
    let lead = lead(line);
    let Some(need) = &line.need else {
        return match line.kind {
            ItemKind::Consumable if line.state != StoreState::NeverCounted => {
                Some("Nobody wrote down how much of it is used, so only its minimum speaks.".to_owned())
            }
            _ => None,
        };
    };
    let wanted = tenths(need.expected);
    let planned = match need.planned {
        0 => String::new(),
        n => format!(", {} of them planned", many(n, "change")),
    };
    let rests = match need.rests {
        NeedRests::Lives(rests) if rests.lives == 0 => "the machine type alone".to_owned(),
        NeedRests::Lives(rests) if rests.on_prior() => "the machine type, for the most part".to_owned(),
        NeedRests::Lives(rests) => format!(
            "{} in {} of such parts",
            many(rests.failures as usize, "failure"),
            if rests.lives == 1 { "1 life".to_owned() } else { format!("{} lives", rests.lives) }
        ),
        NeedRests::Record(used) => format!("{used} used by the record"),
        NeedRests::Plan => "the plan".to_owned(),
    };
    let short = match line.count() {
        Some(_) => format!("; that it runs out before: {}", need.lasts.complement().in_words()),
        None => String::new(),
    };
    Some(format!(
        "About {wanted} wanted in {} ({lead}){planned}{short}. Rests on {rests}.",
        many(need.days as usize, "day")
    ))
}

fn lead(line: &StoreLine<'_>) -> String {
    let days = many(line.lead.days as usize, "day");
    match line.lead.rests {
        LeadRests::Orders(1) => format!("the last order took {days}"),
        LeadRests::Orders(n) => format!("the last {n} orders took up to {days}"),
        LeadRests::Type => format!("an order takes {days}"),
        LeadRests::Usual => format!("an order is taken to need {days}"),
    }
}

/// A count that may be less than one: `0.8`, `3`.
fn tenths(count: f64) -> String {
    if count > 0.0 && count < 0.05 {
        return "less than 0.1".to_owned();
    }
    let rounded = (count * 10.0).round() / 10.0;
    format!("{rounded}")
}
