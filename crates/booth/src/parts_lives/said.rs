//! How long a part lasts, in plain sentences.

use super::{FittedLife, PartLives};
use ::lives::bayes::Estimate;
use logbook::Booth;
use machine::LifeClock;

/// What an age on a clock is counted in, of so many.
const fn unit(clock: LifeClock, one: bool) -> &'static str {
    match (clock, one) {
        (LifeClock::Hours | LifeClock::LampHours, _) => "h",
        (LifeClock::Years, true) => "year",
        (LifeClock::Years, false) => "years",
        (LifeClock::Strikes, true) => "strike",
        (LifeClock::Strikes, false) => "strikes",
        (LifeClock::Showings, true) => "showing",
        (LifeClock::Showings, false) => "showings",
        (LifeClock::Operations, true) => "operation",
        (LifeClock::Operations, false) => "operations",
    }
}

/// An age to two figures, as much as lives can bear, without its unit.
pub fn figure(age: f64) -> String {
    if age < 10.0 {
        let text = format!("{age:.1}");
        return text.strip_suffix(".0").map_or(text.clone(), str::to_owned);
    }
    let ten = 10_f64.powf(age.log10().floor() - 1.0);
    format!("{:.0}", (age / ten).round() * ten)
}

/// An age to two figures with its unit: `29 h`, `1 year`.
pub fn age(age: f64, clock: LifeClock) -> String {
    let figure = figure(age);
    format!("{figure} {}", unit(clock, figure == "1"))
}

/// The whole of it.
pub(super) fn sentence(booth: &Booth, lives: &PartLives<'_>) -> String {
    let mut said = vec![lasts(lives), rests(lives), change(lives)];
    said.extend(worst(booth, lives));
    said.join(" ")
}

fn lasts(lives: &PartLives<'_>) -> String {
    let Estimate { median, low, high, .. } = lives.half;
    format!(
        "Half of these parts ({}) last longer than about {} (nine times in ten, that figure lies between {} and {}).",
        lives.name,
        age(median, lives.life.clock),
        figure(low),
        figure(high)
    )
}

fn rests(lives: &PartLives<'_>) -> String {
    if lives.own.is_empty() {
        return "That is what the machine type says: this booth has not seen one yet.".to_owned();
    }
    let failures = match lives.failures {
        0 => "none has failed".to_owned(),
        1 => "1 has failed".to_owned(),
        n => format!("{n} have failed"),
    };
    let mostly = if lives.on_prior() { "; what is believed is still mostly the machine type's" } else { "" };
    let noun = if lives.own.len() == 1 { "life" } else { "lives" };
    format!("This booth has seen {} {noun}, and {failures}{mostly}.", lives.own.len())
}

fn change(lives: &PartLives<'_>) -> String {
    match &lives.change {
        Ok(change) => {
            let nearly = match change.nearly {
                Some((early, Some(late))) => {
                    format!(" (from {} to {} is hardly worse)", figure(early), figure(late))
                }
                Some((early, None)) => format!(" (any time past {} is hardly worse)", figure(early)),
                None => String::new(),
            };
            format!("It is best changed at about {}{nearly}.", age(change.best_age, lives.life.clock))
        }
        Err(why) => {
            let words = why.words();
            let mut letters = words.chars();
            let first = letters.next().map_or_else(String::new, |first| first.to_uppercase().to_string());
            format!("{first}{}.", letters.as_str())
        }
    }
}

/// The fitted part that is likeliest to fail next.
fn worst(booth: &Booth, lives: &PartLives<'_>) -> Option<String> {
    let by_chance = |a: &&FittedLife<'_>, b: &&FittedLife<'_>| {
        a.chance.chance.value().total_cmp(&b.chance.chance.value())
    };
    let worst = lives.fitted.iter().max_by(by_chance)?;
    let known = worst.known_age().map_or_else(
        || "is of unknown age".to_owned(),
        |known| format!("is {} old", age(known, lives.life.clock)),
    );
    let past = if worst.past_change == Some(true) { ", past its best age for a change" } else { "" };
    Some(format!(
        "The one in {} {known}{past}: that it fails within the next {} is {}.",
        booth.machine_name(worst.machine),
        age(worst.span, lives.life.clock),
        worst.chance.chance.in_words()
    ))
}
