//! The outlook in plain sentences: how likely a stoppage is, what is likeliest to do it, what to do, and what that leaves.

use super::{
    Deed, Outlook,
    cause::{Age, Cause},
};
use logbook::Booth;
use machine::LifeClock;
use risk::Outcome;
use units::{Probability, Seconds};

/// The whole of it, for somebody who is tired.
pub(super) fn sentence(booth: &Booth, outlook: &Outlook<'_>) -> String {
    let mut said = vec![chance(outlook)];
    if let Some(worst) = outlook.weights.first() {
        let age = age_words(&worst.cause);
        said.push(format!("What weighs most is {}{age}: {}.", worst.cause.words(booth), worst.then));
    }
    let chosen: Vec<&Deed<'_>> = outlook.deeds.iter().filter(|deed| deed.chosen).collect();
    let minutes = outlook.minutes.floor();
    if chosen.is_empty() {
        said.push(if minutes < 1.0 {
            "There is no time left for work before it.".to_owned()
        } else {
            "Beyond the checks before the showing nothing here is worth its minutes.".to_owned()
        });
    } else {
        said.push(format!("In the {minutes:.0} minutes there are: {}.", best_few(booth, chosen)));
        let stops = outlook.after.clean.likely.complement();
        said.push(format!("Then a stoppage is {}.", likely(stops)));
    }
    said.join(" ")
}

fn chance(outlook: &Outlook<'_>) -> String {
    let stops = outlook.before.clean.likely.complement();
    let lost = outlook.before.lost.likely;
    let title = &outlook.showing.title;
    let mut words = format!("A stoppage in {title} is {}", likely(stops));
    if lost.value() > 0.001 {
        words.push_str(&format!(", and to lose the showing {}", likely(lost)));
    }
    words + "."
}

/// `about 1 in 12 likely` reads badly; `about 1 in 12` alone does not.
fn likely(chance: Probability) -> String {
    chance.in_words()
}

/// So many deeds stand in the sentence; the rest stand under it.
const MOST_SAID: usize = 3;

/// The deeds that save most, and how many more there are.
fn best_few(booth: &Booth, mut chosen: Vec<&Deed<'_>>) -> String {
    chosen.sort_by(|a, b| b.saved.total_cmp(&a.saved));
    let mut said: Vec<String> = chosen.iter().take(MOST_SAID).map(|deed| deed_words(booth, deed)).collect();
    if let more @ 1.. = chosen.len().saturating_sub(MOST_SAID) {
        said.push(format!("and {more} more"));
    }
    said.join("; ")
}

fn deed_words(booth: &Booth, deed: &Deed<'_>) -> String {
    let words = deed.doing.words(booth);
    let mut letters = words.chars();
    let lower = letters
        .next()
        .map_or_else(String::new, |first| first.to_lowercase().collect::<String>() + letters.as_str());
    format!("{lower} ({} min)", deed.minutes.ceil())
}

fn age_words(cause: &Cause<'_>) -> String {
    let Cause::Part { life, age, spares, .. } = cause else { return String::new() };
    let unit = match life.clock {
        LifeClock::Hours | LifeClock::LampHours => "h",
        LifeClock::Years => "years",
        LifeClock::Strikes => "strikes",
        LifeClock::Showings => "showings",
        LifeClock::Operations => "operations",
    };
    let age = match age {
        Age::Known(age) => format!("{age:.0} {unit} old"),
        Age::Within(..) => "of unknown age".to_owned(),
    };
    let spare = match spares {
        Some(0) => ", no spare",
        _ => "",
    };
    format!(" ({age}{spare})")
}

/// What an outcome means for the audience.
pub(super) fn then(outcome: &Outcome) -> String {
    if outcome.lost.value() > 0.5 {
        return "the showing would be lost".to_owned();
    }
    format!("a stoppage of about {}", span(outcome.pause))
}

/// Seconds as people say them: under two minutes in seconds, to the ten.
fn span(seconds: Seconds) -> String {
    let seconds = seconds.seconds();
    if seconds < 115.0 {
        format!("{:.0} seconds", (seconds / 10.0).round().max(1.0) * 10.0)
    } else {
        format!("{:.0} minutes", (seconds / 60.0).round())
    }
}
