//! Were the chances right? Each past showing is looked at as the logbook stood just before it, and held against what came.

use crate::{
    answer::{Answer, Caveat, CaveatKind, Ground},
    day::{Day, Now},
    lived::KeptBeliefs,
    outlook::outlook,
    words::many,
};
use jiff::{SignedDuration, ZonedDateTime};
use logbook::{
    Booth, Entry, ShowingId,
    booth::{Showing, ShowingState, StoppageRecord},
    fold,
};
use machine::Library;
use risk::{Calibration, TrackRecord};
use units::Probability;

/// A past showing, with the chance that would have been given before it.
#[derive(Clone, Debug)]
pub struct LookedBack<'a> {
    /// The showing's id.
    pub id: &'a ShowingId,
    /// The showing.
    pub showing: &'a Showing,
    /// The day to which it belongs.
    pub day: Day,
    /// The chance of a stoppage, as it stood when it began.
    pub chance: Probability,
    /// It stopped.
    pub stopped: bool,
}

/// How chances fared that would have been given before past showings.
#[derive(Clone, Debug)]
pub struct Hindsight<'a> {
    /// The showings, in order of time.
    pub showings: Vec<LookedBack<'a>>,
    /// How the chances stood up; none where nothing could be looked at.
    pub calibration: Option<Calibration>,
    /// What the record says of the next chance.
    pub record: TrackRecord,
    /// Showings that were held and stand in no diary from before they began.
    pub not_foretold: usize,
    /// Older showings that were not looked at.
    pub older: usize,
    /// In a sentence.
    pub sentence: String,
}

/// So many showings for each step, and at most ten of them: fewer tell nothing.
const SHOWINGS_IN_A_STEP: usize = 30;
const MOST_STEPS: usize = 10;
/// A showing is looked at so long before it begins, in milliseconds.
const BEFORE_MS: i64 = 60_000;

/// Looks back at the last `most` showings that were held.
///
/// The booth is folded anew for each of them, from what had been written down by then, so that nothing is told by what
/// was learnt later: the time goes with the length of the logbook times the number of showings.
pub fn hindsight<'a>(
    booth: &'a Booth,
    entries: &[Entry],
    library: &Library,
    now: &ZonedDateTime,
    most: usize,
) -> Answer<Hindsight<'a>> {
    let days = Now::new(now, &booth.settings);
    let mut held: Vec<(&ShowingId, &Showing)> = booth
        .showings
        .iter()
        .filter(|(_, showing)| matches!(showing.state, ShowingState::Held { .. }))
        .collect();
    held.sort_by_key(|(_, showing)| showing.starts.timestamp());
    let older = held.len().saturating_sub(most);
    let mut written: Vec<&Entry> = entries.iter().collect();
    written.sort_by_key(|entry| entry.recorded.unix_ms);
    let kept = KeptBeliefs::default();
    let (mut showings, mut not_foretold, mut record) = (Vec::new(), 0, TrackRecord::default());
    for (id, showing) in held.split_off(older) {
        let before = showing.starts.timestamp().as_millisecond() - BEFORE_MS;
        let n = written.partition_point(|entry| entry.recorded.unix_ms <= before);
        let then = fold(written[..n].iter().map(|entry| (*entry).clone()).collect()).booth;
        let Some(chance) = as_it_stood(&then, library, &kept, id, showing) else {
            not_foretold += 1;
            continue;
        };
        let stopped = booth.stoppages.iter().any(|stoppage| is_of(stoppage, id, showing));
        record.fared(chance, stopped);
        showings.push(LookedBack { id, showing, day: days.day_of_zoned(&showing.starts), chance, stopped });
    }
    let given: Vec<(f64, bool)> = showings.iter().map(|one| (one.chance.value(), one.stopped)).collect();
    let each: Vec<&[(f64, bool)]> = given.chunks(1).collect();
    let steps = (given.len() / SHOWINGS_IN_A_STEP).clamp(1, MOST_STEPS);
    let mut value = Hindsight {
        calibration: Calibration::of(&each, steps),
        showings,
        record,
        not_foretold,
        older,
        sentence: String::new(),
    };
    value.sentence = sentence(&value);
    Answer { caveats: caveats(&value), because: grounds(), value }
}

/// The chance of a stoppage as it stood when a showing began; none where it stood in no diary then.
fn as_it_stood(
    then: &Booth,
    library: &Library,
    kept: &KeptBeliefs,
    id: &ShowingId,
    showing: &Showing,
) -> Option<Probability> {
    let now = showing.starts.checked_sub(SignedDuration::from_millis(BEFORE_MS)).ok()?;
    // No minutes for work: what was done beforehand is in the logbook by then.
    let outlook = outlook(then, library, &now, kept, id.as_str(), Some(0.0)).ok()?;
    Some(outlook.value.before.clean.likely.complement())
}

/// A stoppage is of a showing if it says so, or says of none and came while its machines showed it.
fn is_of(stoppage: &StoppageRecord, id: &ShowingId, showing: &Showing) -> bool {
    if let Some(named) = &stoppage.showing {
        return named == id;
    }
    let (from, to) = (showing.starts.timestamp().as_millisecond(), showing.ends().as_millisecond());
    let there = stoppage.machine.as_ref().is_some_and(|at| showing.machines.iter().any(|(own, _)| own == at));
    there && (from..=to).contains(&stoppage.at.unix_ms)
}

fn sentence(found: &Hindsight<'_>) -> String {
    let Some(calibration) = &found.calibration else {
        return "No past showing stood in the diary before it began, so there is nothing to hold chances against."
            .to_owned();
    };
    let (n, came) = (calibration.showings, found.record.came);
    let stopped = match came {
        0 => "none stopped".to_owned(),
        1 => "1 stopped".to_owned(),
        more => format!("{more} stopped"),
    };
    let expected = found.record.expected;
    let verdict = if calibration.steps.iter().all(|step| step.within) {
        "That is as near as luck allows."
    } else if calibration.mean_given < calibration.came {
        "The chances were too low."
    } else if calibration.mean_given > calibration.came {
        "The chances were too high."
    } else {
        "Right together, but not step by step."
    };
    let told_apart = if calibration.brier.value < calibration.brier_of_mean {
        "They told risky showings from safe ones better than giving each the average."
    } else {
        "They did not tell risky showings from safe ones better than giving each the average would."
    };
    format!(
        "Of {} looked back at {stopped}; the chances given before them make {expected:.1}. {verdict} {told_apart}",
        many(n, "showing")
    )
}

fn caveats(found: &Hindsight<'_>) -> Vec<Caveat> {
    let mut caveats = Vec::new();
    if found.not_foretold > 0 {
        let words = format!(
            "{} left out: nobody had written them into the diary before they began.",
            many(found.not_foretold, "past showing")
        );
        caveats.push(Caveat::new(CaveatKind::StaleDiary, words));
    }
    if found.older > 0 {
        let words = format!("{} not looked at.", many(found.older, "older showing"));
        caveats.push(Caveat::new(CaveatKind::OnlyTheLast, words));
    }
    caveats
}

fn grounds() -> Vec<Ground> {
    vec![Ground::Rule {
        words: "a chance is reckoned from what had been written down a minute before the showing began; bands are of 95 % about the chances given (binomial law)".into(),
        source: "Brier 1950 for the score; the band from any book on the binomial law",
    }]
}
