//! Where a quantity is heading, in words and as a plot.

use crate::address::Place;
use crate::common;
use crate::plot;
use crate::sheet::{Block, Sheet};
use crate::wording;
use crate::words::Words;
use booth::{
    Answer,
    sound::{Change, Crossing, Fit, Forecast, Step, Trend},
};
use jiff::civil::Date;
use logbook::booth::ReadingRecord;

/// Lays out a trend.
pub fn trend(answer: &Answer<Trend<'_>>, today: Date) -> Sheet {
    let trend = &answer.value;
    let mut sheet = Sheet::new(format!("{}: {}", trend.machine, trend.name()));
    sheet.lead(sentence(trend, today));
    if let Some((id, showing)) = trend.forecast.as_ref().and_then(|forecast| forecast.before) {
        let when = showing.starts.strftime("%H:%M");
        sheet.say(
            Words::new()
                .plain("Act before ")
                .link(Place::Showing(id.clone()), &showing.title)
                .plain(format!(", {} {when}.", wording::date(showing.starts.date(), today))),
        );
    }
    sheet.push(Block::Picture(Box::new(plot::trend::trend(trend, today))));
    let mut facts = Vec::new();
    facts.push(("Counted since".to_owned(), trend.since.as_str().into()));
    facts.extend(trend.fit.as_ref().filter(|fit| fit.line.n > 2).map(|fit| slope(fit, trend)));
    facts.extend(earlier(trend));
    facts.extend(trend.step.as_ref().map(|step| step_words(step, today)));
    facts.extend(trend.change.as_ref().map(|change| change_words(change, today)));
    facts.push(("What it tells".to_owned(), trend.limit.tells.as_str().into()));
    sheet.push(Block::Facts(facts));
    common::reasons(&mut sheet, answer);
    sheet
}

/// Says in one sentence where it is heading.
pub fn sentence(trend: &Trend<'_>, today: Date) -> String {
    match (&trend.forecast, &trend.no_forecast) {
        (Some(forecast), _) => forecast_words(forecast, trend, today),
        (None, Some(why)) => format!("No forecast: {why}."),
        (None, None) => "No forecast.".to_owned(),
    }
}

fn forecast_words(forecast: &Forecast<'_>, trend: &Trend<'_>, today: Date) -> String {
    let limit = format!("{} {}", forecast.limit, plot::trend::unit(trend));
    if forecast.middle.is_some_and(|middle| middle.in_hours <= 0.0) {
        return format!("The limit of {limit}, at which to act, is likely passed already.");
    }
    let early = crossing(&forecast.early, today);
    let likely = forecast.middle.as_ref().map_or_else(String::new, |middle| {
        format!(", as likely before as after {}", crossing(middle, today))
    });
    let late = forecast.late.as_ref().map_or_else(
        || "perhaps much later".to_owned(),
        |late| format!("at the latest {}", crossing(late, today)),
    );
    let early = if forecast.early.in_hours <= 0.0 {
        "may be passed already".to_owned()
    } else {
        format!("is passed at the earliest {early}")
    };
    format!("The limit of {limit}, at which to act, {early}{likely}, {late} (in 8 cases of 10).")
}

fn crossing(at: &Crossing, today: Date) -> String {
    let hours = if at.in_hours <= 0.0 { "now".to_owned() } else { format!("in {:.0} h", at.in_hours) };
    match at.date.filter(|_| at.in_hours > 0.0) {
        Some(date) => format!("{hours} ({})", wording::date(date, today)),
        None => hours,
    }
}

/// A slope in 100 hours, to about three figures.
fn per_hundred(slope: f64) -> String {
    let value = 100.0 * slope;
    let decimals = if value.abs() < 10.0 { 3 } else { 1 };
    format!("{value:+.decimals$}")
}

fn slope(fit: &Fit, trend: &Trend<'_>) -> (String, Words) {
    let line = &fit.line;
    let unit = plot::trend::unit(trend);
    let beyond = if fit.beyond_repeats { "" } else { "; less than such readings repeat" };
    let words = format!(
        "{} {unit} in 100 h, in 8 cases of 10 between {} and {}{beyond}",
        per_hundred(line.slope),
        per_hundred(line.slope_low),
        per_hundred(line.slope_high)
    );
    ("Slope".to_owned(), words.into())
}

/// What the lines before say: each ended with a change of a part or a new baseline.
fn earlier(trend: &Trend<'_>) -> Option<(String, Words)> {
    let slopes: Vec<String> = trend.earlier.iter().map(|fit| per_hundred(fit.line.slope)).collect();
    let up_to = match slopes.len() {
        1 => "One line up to a change of a part or a new baseline".to_owned(),
        n => format!("{n} lines, each up to a change of a part or a new baseline"),
    };
    let words = format!("{up_to}: {} {} in 100 h", wording::listed(&slopes), plot::trend::unit(trend));
    (!slopes.is_empty()).then(|| ("Before that".to_owned(), words.into()))
}

fn step_words(step: &Step<'_>, today: Date) -> (String, Words) {
    let words = Words::new()
        .plain(format!("{:+.3} between ", step.by))
        .link(Place::Entry(step.from.entry), wording::moment(step.from.at, today))
        .plain(" and ")
        .link(Place::Entry(step.to.entry), wording::moment(step.to.at, today))
        .plain(": what changed then? Lens, lamp, meter, film, person?");
    ("Step".to_owned(), words)
}

fn change_words(change: &Change<'_>, today: Date) -> (String, Words) {
    let read =
        |reading: &ReadingRecord| format!("{} {}", reading.value, machine::unit_as_read(&reading.unit));
    let clear = if change.clear { "" } else { "; no more than the readings' own doubt" };
    let words = Words::new()
        .link(Place::Entry(change.entry), wording::date(change.at.date(), today))
        .plain(format!(": from {} to {}{clear}", read(change.before), read(change.after)));
    ("Last repair or part".to_owned(), words)
}
