//! What a showing must know of the reels that it wants, said in lines.

use super::{place, reels};
use crate::{Mark, Place, Words, wording};
use booth::prints::{Gravity, PrintWarning};
use film::print::{Decision, Reason, Safeguard};

/// So many places of a reel are named in one line.
const MOST_PLACES: usize = 3;

/// What a showing must know of the reels that it wants, each as one line; the gravest first.
pub fn warnings(warnings: &[PrintWarning<'_>]) -> Vec<Words> {
    let mut lines = Vec::new();
    let mut not_inspected: Vec<(&PrintWarning<'_>, Vec<u32>)> = Vec::new();
    for warning in warnings {
        if warning.gravity == Gravity::Conditions && !warning.was_inspected {
            match not_inspected.iter_mut().find(|(other, _)| other.print == warning.print) {
                Some((_, reels)) => reels.push(warning.reel),
                None => not_inspected.push((warning, vec![warning.reel])),
            }
            continue;
        }
        lines.push(warning_line(warning));
    }
    for (warning, numbers) in not_inspected {
        let words = Words::new()
            .mark_as(Mark::NoRecord, "Not inspected: ")
            .link(Place::Print(warning.print.clone()), format!("{}, {}", warning.title, reels(&numbers)));
        lines.push(words);
    }
    lines
}

fn warning_line(warning: &PrintWarning<'_>) -> Words {
    let (mark, said) = match (warning.gravity, warning.machine) {
        (Gravity::SetApart, _) => (Mark::NotForUse, "Set apart, do not show: ".to_owned()),
        (Gravity::NotHere, Some(machine)) => (Mark::NotForUse, format!("Not on {machine}: ")),
        (Gravity::NotHere | Gravity::MustNot, _) => (Mark::NotForUse, "Do not show: ".to_owned()),
        (Gravity::Conditions | Gravity::Fine, _) => (Mark::Attention, "On conditions: ".to_owned()),
    };
    let words = Words::new()
        .mark_as(mark, said)
        .link(Place::Print(warning.print.clone()), format!("{}, reel {}", warning.title, warning.reel));
    if warning.is_barred() {
        let why = warning.verdict.reasons.first().map(|reason| format!(", {}", reason.words));
        return words.plain(format!("{}.", why.unwrap_or_default()));
    }
    under_conditions(words, warning)
}

/// A reel that must not run, said where there is room for a few words only.
pub fn barred_line(warning: &PrintWarning<'_>) -> Words {
    let said = match (warning.gravity, warning.machine) {
        (Gravity::SetApart, _) => format!("set reel {} apart, do not show it", warning.reel),
        (Gravity::NotHere, Some(machine)) => format!("do not show reel {} on {machine}", warning.reel),
        _ => format!("do not show reel {}", warning.reel),
    };
    Words::new()
        .mark_as(Mark::NotForUse, said)
        .plain(" ")
        .link(Place::Print(warning.print.clone()), warning.title)
}

/// What is to be mended before the showing comes first, then where; what nobody has looked at comes last and quietly.
fn under_conditions(words: Words, warning: &PrintWarning<'_>) -> Words {
    let needs = match &warning.verdict.decision {
        Decision::ShowIf(needs) => needs.as_slice(),
        _ => &[],
    };
    let repairs: Vec<String> = needs
        .iter()
        .filter(|need| {
            matches!(need, Safeguard::MendPerforations | Safeguard::RemakeSplices | Safeguard::AddLeader)
        })
        .map(|need| need.words().to_owned())
        .collect();
    let reasons = &warning.verdict.reasons;
    let at = |reason: &Reason| Some(format!("{} at {}", reason.words, place(reason.at?, warning.gauge?)));
    let places: Vec<String> = reasons.iter().filter_map(at).take(MOST_PLACES).collect();
    let whole: Vec<String> =
        reasons.iter().filter(|reason| reason.at.is_none()).map(|reason| reason.words.clone()).collect();
    let n_more = reasons.iter().filter(|reason| reason.at.is_some()).count() - places.len();
    let mut words = words;
    if !repairs.is_empty() {
        words = words.plain(": ").strong(wording::listed(&repairs));
    }
    if !places.is_empty() {
        let more = if n_more > 0 { format!(", and {n_more} more places") } else { String::new() };
        words = words.plain(format!("; {}{more}", places.join("; ")));
    }
    if whole.is_empty() { words.plain(".") } else { words.quiet(format!("; {}.", whole.join("; "))) }
}
