//! What a booth has learnt, as a change of the machine type's file.

use super::learning::LearntHere;
use faults::{
    learn::Figure,
    model::{Answers, TroubleModel},
};
use machine::{CauseChance, MachineType};
use std::{collections::BTreeSet, fmt::Write as _};

/// Writes what was learnt as tables of a type file: each goes in the place of the one with the same id there. Empty
/// where nothing was learnt.
pub fn type_change(kind: &MachineType, model: &TroubleModel, learnt: &LearntHere) -> String {
    if learnt.figures.is_empty() {
        return String::new();
    }
    let faults = if learnt.cases == 1 { "fault" } else { "faults" };
    let mut text = format!(
        "# What a booth has learnt of {}: {} closed {faults} in {:.0} hours of running.\n# Each table goes in the place of the one with the same id.\n",
        kind.id, learnt.cases, learnt.hours_run
    );
    symptoms(&mut text, kind, learnt);
    checks(&mut text, kind, model, learnt);
    remedies(&mut text, kind, model, learnt);
    text
}

/// By how much the rate of a cause grew: the ratio of the rates behind the two chances.
fn growth(learnt: &LearntHere, cause: &str) -> f64 {
    let of = |figure: &Figure| matches!(figure, Figure::Prior(id) if id.as_str() == cause);
    let rate = |chance: units::Probability| -(-chance.value()).ln_1p();
    let known = learnt.figures.iter().find(|one| of(&one.figure) && rate(one.before) > 0.0);
    known.map_or(1.0, |one| rate(one.after) / rate(one.before))
}

fn counted(text: &mut String, learnt: &LearntHere, of: impl Fn(&Figure) -> bool) {
    for figure in learnt.figures.iter().filter(|one| of(&one.figure)) {
        let seen = figure.count.yes + figure.count.no;
        let _ = writeln!(text, "# {}: {} of {seen}", one_line(&figure.words), figure.count.yes);
    }
}

fn one_line(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn symptoms(text: &mut String, kind: &MachineType, learnt: &LearntHere) {
    let moved: BTreeSet<&str> = learnt
        .figures
        .iter()
        .filter_map(|one| match &one.figure {
            Figure::Prior(cause) => Some(cause.as_str()),
            _ => None,
        })
        .collect();
    for symptom in &kind.trouble.symptoms {
        let own: Vec<&CauseChance> =
            symptom.causes.iter().filter(|entry| moved.contains(entry.cause.as_str())).collect();
        if own.is_empty() {
            continue;
        }
        let joint: Vec<f64> = symptom
            .causes
            .iter()
            .map(|entry| symptom.rate_with(entry.cause.as_str()) * growth(learnt, entry.cause.as_str()))
            .collect();
        let unexplained = symptom.per_1000_hours * symptom.unexplained.value();
        let rate: f64 = joint.iter().sum::<f64>() + unexplained;
        let shares: Vec<f64> = joint.iter().chain([&unexplained]).map(|share| share / rate).collect();
        let shares = in_tenths(&shares);
        text.push('\n');
        counted(
            text,
            learnt,
            |figure| matches!(figure, Figure::Prior(id) if own.iter().any(|one| one.cause.as_str() == id.as_str())),
        );
        let _ = writeln!(
            text,
            "[[symptom]]\nid = \"{}\"\nper_1000_hours = {}\ncauses = [",
            symptom.id,
            figure(rate)
        );
        for (entry, share) in symptom.causes.iter().zip(&shares) {
            let _ = writeln!(text, "    {{ cause = \"{}\", percent = {} }},", entry.cause, tenths(*share));
        }
        text.push_str("]\n");
        if let Some(rest) = shares.last().filter(|rest| **rest > 0) {
            let _ = writeln!(text, "unexplained_percent = {}", tenths(*rest));
        }
    }
}

fn checks(text: &mut String, kind: &MachineType, model: &TroubleModel, learnt: &LearntHere) {
    for check in &kind.trouble.checks {
        let id = check.id.as_str();
        let of = |figure: &Figure| match figure {
            Figure::Yes(of, _) | Figure::Otherwise(of) => of.as_str() == id,
            Figure::Prior(_) | Figure::Success(..) => false,
        };
        let Some(known) =
            model.check(&id.into()).filter(|_| learnt.figures.iter().any(|one| of(&one.figure)))
        else {
            continue;
        };
        text.push('\n');
        counted(text, learnt, of);
        let points_by_other =
            |cause: &str| check.not_found_tells.iter().any(|tell| tell.cause.as_str() == cause);
        let (by_other, by_first): (Vec<&Answers>, Vec<&Answers>) =
            known.answers.iter().partition(|one| points_by_other(one.cause.as_str()));
        let _ = writeln!(text, "[[check]]\nid = \"{id}\"");
        told_by(text, "tells", &by_first, |yes| yes);
        told_by(text, "not_found_tells", &by_other, units::Probability::complement);
        let _ = writeln!(text, "false_alarm_percent = {}", percent(known.otherwise));
    }
}

/// The causes to which an answer points, where there are any.
fn told_by(
    text: &mut String,
    key: &str,
    answers: &[&Answers],
    chance: impl Fn(units::Probability) -> units::Probability,
) {
    if answers.is_empty() {
        return;
    }
    let _ = writeln!(text, "{key} = [");
    for one in answers {
        let _ =
            writeln!(text, "    {{ cause = \"{}\", percent = {} }},", one.cause, percent(chance(one.yes)));
    }
    text.push_str("]\n");
}

fn remedies(text: &mut String, kind: &MachineType, model: &TroubleModel, learnt: &LearntHere) {
    for remedy in &kind.trouble.remedies {
        let id = remedy.id.as_str();
        let of = |figure: &Figure| matches!(figure, Figure::Success(of, _) if of.as_str() == id);
        let moved = learnt.figures.iter().any(|one| of(&one.figure));
        let Some(known) = model.remedy(&id.into()).filter(|_| moved) else { continue };
        text.push('\n');
        counted(text, learnt, of);
        let _ = writeln!(text, "[[remedy]]\nid = \"{id}\"\ncures = [");
        for one in &known.cures {
            let _ =
                writeln!(text, "    {{ cause = \"{}\", percent = {} }},", one.cause, percent(one.success));
        }
        text.push_str("]\n");
    }
}

/// Shares in tenths of a per cent that make up the whole: what rounding down leaves goes to the greatest remainders.
fn in_tenths(shares: &[f64]) -> Vec<u32> {
    const WHOLE: f64 = 1000.0;
    let mut tenths: Vec<u32> = shares.iter().map(|share| (share * WHOLE).floor() as u32).collect();
    let left = 1000_u32.saturating_sub(tenths.iter().sum());
    let mut places: Vec<usize> = (0..shares.len()).collect();
    let rest = |place: usize| (shares[place] * WHOLE).fract();
    places.sort_by(|a, b| rest(*b).total_cmp(&rest(*a)));
    for place in places.into_iter().take(left as usize) {
        tenths[place] += 1;
    }
    tenths
}

fn tenths(share: u32) -> String {
    figure(f64::from(share) / 10.0)
}

fn percent(chance: units::Probability) -> String {
    figure((chance.value() * 1000.0).round() / 10.0)
}

/// A number with three figures at most behind the point, and none that say nothing.
fn figure(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
