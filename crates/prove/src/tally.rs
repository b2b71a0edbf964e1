//! What is counted in a booth.

use serde::Serialize;

/// What happened to one booth under one policy.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct Tally {
    /// Showings in the diary.
    pub showings: f64,
    /// Stoppages of all kinds; a showing for which no machine was fit counts as one.
    pub stoppages: f64,
    /// Of these: parts that came to their end.
    pub part_stoppages: f64,
    /// Of these: what no part explains, loose work and drifted adjustment included.
    pub other_stoppages: f64,
    /// Showings that could not be shown to their end, or not at all.
    pub lost: f64,
    /// Of these: showings for which no machine was fit.
    pub cancelled: f64,
    /// Minutes of dark screen, lost showings left out.
    pub dark_minutes: f64,
    /// Parts that failed, wherever that was found.
    pub failures: f64,
    /// Of these: found at a strike before the doors.
    pub found_before: f64,
    /// Hours at the bench, an operator's.
    pub bench_hours: f64,
    /// A technician's hours.
    pub technician_hours: f64,
    /// Parts fitted.
    pub parts: f64,
    /// Of these: in place of a part that had not failed.
    pub planned: f64,
    /// What all of it cost, in credits.
    pub cost: f64,
    /// The chance of a stoppage that was given before each showing, and whether one came; in the order of showings.
    #[serde(skip)]
    pub given: Vec<(f64, bool)>,
}
