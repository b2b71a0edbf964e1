//! What came out, with intervals over booths: booths are independent of each other, showings of one booth are not.

pub use risk::{CONFIDENCE, Calibration, Figure, Step};

use crate::{policy::PolicyKind, run::Setting, tally::Tally};
use risk::ratio;
use serde::Serialize;

/// Calibration is told by tenths.
const STEPS: usize = 10;

/// What the policies did with the same booths.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Report {
    /// Booths.
    pub booths: usize,
    /// Years of each.
    pub years: f64,
    /// The seed.
    pub seed: u64,
    /// The confidence of the intervals.
    pub confidence: f64,
    /// Each policy's figures.
    pub policies: Vec<PolicyReport>,
    /// What learns beside the handbook's intervals, booth by booth; empty if the handbook was not played.
    pub compared: Vec<Compared>,
}

/// What one policy did.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct PolicyReport {
    /// Which.
    pub policy: PolicyKind,
    /// Showings in the diaries.
    pub showings: f64,
    /// Stoppages of all kinds, of 1,000 showings.
    pub stoppages_per_1000: Figure,
    /// Stoppages because a part came to its end.
    pub part_stoppages_per_1000: Figure,
    /// Lost showings.
    pub lost_per_1000: Figure,
    /// Minutes of dark screen, lost showings left out, of 1,000 showings.
    pub dark_minutes_per_1000: Figure,
    /// Failures found at a strike before the doors, of 1,000 showings.
    pub found_before_per_1000: Figure,
    /// An operator's hours of work, of a booth and year.
    pub bench_hours_per_year: Figure,
    /// A technician's hours, of a booth and year.
    pub technician_hours_per_year: Figure,
    /// Parts fitted, of a booth and year.
    pub parts_per_year: Figure,
    /// What all of it cost, of a booth and year.
    pub credits_per_year: Figure,
    /// How the chances that were given stood up; none for a policy that gives none.
    pub calibration: Option<Calibration>,
}

/// A policy as a share of the handbook.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Compared {
    /// Which.
    pub policy: PolicyKind,
    /// Stoppages of all kinds.
    pub stoppages: Figure,
    /// Stoppages because a part came to its end.
    pub part_stoppages: Figure,
    /// Lost showings.
    pub lost: Figure,
    /// Cost.
    pub cost: Figure,
}

pub(crate) fn reported(setting: &Setting, booths: &[Vec<Tally>]) -> Report {
    let of = |at: usize| booths.iter().map(|tallies| &tallies[at]).collect::<Vec<_>>();
    let policies =
        setting.policies.iter().enumerate().map(|(at, policy)| one(*policy, setting.years, &of(at)));
    let at = |wanted| setting.policies.iter().position(|policy| *policy == wanted);
    let beside = |policy: &PolicyKind| {
        let (own, handbook) = (of(at(*policy)?), of(at(PolicyKind::Handbook)?));
        let share = |pick: fn(&Tally) -> f64| ratio(&picked(&own, pick), &picked(&handbook, pick), 1.0);
        Some(Compared {
            policy: *policy,
            stoppages: share(|tally| tally.stoppages),
            part_stoppages: share(|tally| tally.part_stoppages),
            lost: share(|tally| tally.lost),
            cost: share(|tally| tally.cost),
        })
    };
    let learners = [PolicyKind::Advice, PolicyKind::Careful];
    let compared = learners.iter().filter_map(beside).collect();
    Report {
        booths: setting.booths,
        years: setting.years,
        seed: setting.seed,
        confidence: CONFIDENCE,
        policies: policies.collect(),
        compared,
    }
}

fn one(policy: PolicyKind, years: f64, tallies: &[&Tally]) -> PolicyReport {
    let showings = picked(tallies, |tally| tally.showings);
    let booths = vec![years; tallies.len()];
    let of_showings = |pick: fn(&Tally) -> f64| ratio(&picked(tallies, pick), &showings, 1000.0);
    let of_years = |pick: fn(&Tally) -> f64| ratio(&picked(tallies, pick), &booths, 1.0);
    PolicyReport {
        policy,
        showings: showings.iter().sum(),
        stoppages_per_1000: of_showings(|tally| tally.stoppages),
        part_stoppages_per_1000: of_showings(|tally| tally.part_stoppages),
        lost_per_1000: of_showings(|tally| tally.lost),
        dark_minutes_per_1000: of_showings(|tally| tally.dark_minutes),
        found_before_per_1000: of_showings(|tally| tally.found_before),
        bench_hours_per_year: of_years(|tally| tally.bench_hours),
        technician_hours_per_year: of_years(|tally| tally.technician_hours),
        parts_per_year: of_years(|tally| tally.parts),
        credits_per_year: of_years(|tally| tally.cost),
        calibration: calibration(tallies),
    }
}

fn calibration(tallies: &[&Tally]) -> Option<Calibration> {
    let given: Vec<&[(f64, bool)]> = tallies.iter().map(|tally| tally.given.as_slice()).collect();
    Calibration::of(&given, STEPS)
}

fn picked(tallies: &[&Tally], pick: fn(&Tally) -> f64) -> Vec<f64> {
    tallies.iter().map(|tally| pick(tally)).collect()
}
