//! The outlook in plain sentences: how likely a stoppage is, what is likeliest to do it, what to do, and what that leaves.

use super::{
    Deed, Outlook, Standing, Weight,
    cause::{Age, Cause},
};
use logbook::Booth;
use machine::LifeClock;
use risk::Outcome;
use units::Seconds;

/// The whole of it, for somebody who is tired: what must be settled first, how likely a stoppage is, what would do it,
/// what to do now, what that leaves.
pub(super) fn sentences(booth: &Booth, outlook: &Outlook<'_>) -> Vec<String> {
    let mut said: Vec<String> =
        outlook.asides.iter().filter(|aside| aside.is_grave()).map(|aside| aside.words(booth)).collect();
    said.push(chance(outlook));
    said.extend(worst(booth, outlook));
    let chosen: Vec<&Deed<'_>> = outlook.deeds.iter().filter(|deed| deed.chosen).collect();
    if chosen.is_empty() {
        said.push(if outlook.minutes < 1.0 {
            "There is no time left for work before it.".to_owned()
        } else {
            "Beyond the checks before the showing nothing here is worth its minutes.".to_owned()
        });
    } else {
        said.push(to_do(booth, outlook, &chosen));
        said.push(what_is_left(outlook));
    }
    said
}

fn chance(outlook: &Outlook<'_>) -> String {
    let stops = outlook.before.clean.likely.complement();
    let lost = outlook.before.lost.likely;
    let title = &outlook.showing.title;
    let mut words = match stops.in_words() {
        odds if is_odds(&odds) => format!("The chance of a stoppage in {title} is {odds}"),
        plain => format!("A stoppage in {title} is {plain}"),
    };
    if is_odds(&lost.in_words()) || lost.value() > 0.5 {
        words.push_str(&format!("; that the showing is lost, {}", lost.in_words()));
    }
    words + "."
}

/// "about 1 in 12" is a chance; "very unlikely" and "almost certain" are not.
fn is_odds(words: &str) -> bool {
    words.starts_with("about")
}

/// What weighs most, and what comes next if it weighs nearly as much.
fn worst(booth: &Booth, outlook: &Outlook<'_>) -> Option<String> {
    let told = |weight: &Weight<'_>| {
        let the = if matches!(weight.cause, Cause::Part { .. }) { "the " } else { "" };
        format!("{the}{}{}: {}", weight.cause.words(booth), age_words(&weight.cause), weight.then)
    };
    let first = outlook.weights.first()?;
    let second =
        outlook.weights.get(1).filter(|second| second.dark.seconds() > NEARLY * first.dark.seconds());
    let then = second.map_or_else(String::new, |second| format!("; then {}", told(second)));
    Some(format!("Most to be feared is {}{then}.", told(first)))
}

/// A cause with this share of the dark seconds of the worst is worth a word beside it.
const NEARLY: f64 = 0.4;

fn to_do(booth: &Booth, outlook: &Outlook<'_>, chosen: &[&Deed<'_>]) -> String {
    let (have, take) = (outlook.minutes.floor(), outlook.chosen_minutes.ceil());
    let checks = outlook.checks_minutes.ceil();
    let begin = if checks > 0.0 && checks + take > have {
        format!(
            "You have {have:.0} minutes, too few for the checks before it ({checks:.0}) and all of this ({take:.0})"
        )
    } else if checks > 0.0 {
        format!("You have {have:.0} minutes; the checks before it take {checks:.0}, use {take:.0} more")
    } else if have > take {
        format!("You have {have:.0} minutes; use {take:.0} of them")
    } else {
        format!("You have {have:.0} minutes; use them")
    };
    format!("{begin}: {}.", best_few(booth, chosen))
}

/// What the chosen deeds leave. Some make a stoppage no rarer, but shorter.
fn what_is_left(outlook: &Outlook<'_>) -> String {
    let stops = |standing: &Standing| standing.clean.likely.complement().in_words();
    let (before, after) = (stops(&outlook.before), stops(&outlook.after));
    if before == after {
        return "That makes a stoppage hardly rarer, but shorter.".to_owned();
    }
    if is_odds(&after) {
        format!("That brings the chance down to {after}.")
    } else {
        format!("Then a stoppage is {after}.")
    }
}

/// So many deeds stand in the sentence; the rest stand under it.
const MOST_SAID: usize = 3;

/// The deeds that save most for a minute, in the order in which they are listed, and how many more there are.
fn best_few(booth: &Booth, chosen: &[&Deed<'_>]) -> String {
    let mut said: Vec<String> = chosen.iter().take(MOST_SAID).map(|deed| deed_words(booth, deed)).collect();
    if let more @ 1.. = chosen.len().saturating_sub(MOST_SAID) {
        said.push(format!("{more} more"));
    }
    said.join(", then ")
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
