//! Those who run the booth. They see the log and nothing else.

mod advice;
mod ahead;
mod belief;
mod best_age;
mod experience;
mod grid;
mod quick;
mod simple;

pub(crate) use advice::Advice;
pub(crate) use best_age::Ladder;
pub(crate) use grid::Grid;
pub(crate) use simple::{Handbook, ToFailure};

use crate::log::{Deed, Log};
use serde::{Deserialize, Serialize};

/// Who runs the booth.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PolicyKind {
    /// Parts are changed at the handbook's intervals.
    Handbook,
    /// Parts are left until they fail.
    ToFailure,
    /// Boothwright's advice: lives learnt from the log, the best age by cost, deeds before the doors.
    Advice,
    /// The same advice by somebody who dreads stoppages: each counts for more than its price.
    Careful,
    /// The same advice, had it been told the hidden lives: how much learning could still gain.
    Told,
}

impl PolicyKind {
    /// All of them, in the order in which they are reported.
    pub const ALL: [Self; 5] = [Self::Handbook, Self::ToFailure, Self::Advice, Self::Careful, Self::Told];

    /// The word for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Handbook => "handbook",
            Self::ToFailure => "to-failure",
            Self::Advice => "advice",
            Self::Careful => "careful",
            Self::Told => "told",
        }
    }

    /// What it does, in a few words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Handbook => "changed at the handbook's intervals",
            Self::ToFailure => "run to failure",
            Self::Advice => "Boothwright's advice",
            Self::Careful => "the advice, a stoppage counted several times",
            Self::Told => "the advice, told the hidden lives",
        }
    }
}

/// A part came out.
pub(crate) struct Ended {
    pub machine: usize,
    pub part: usize,
    /// How old it was when the log first saw it: hours, showings, years.
    pub entered: [f64; 3],
    /// How old it was when it came out.
    pub ages: [f64; 3],
    /// It failed; else it was changed while good.
    pub failed: bool,
}

/// Somebody who runs the booth.
pub(crate) trait Policy {
    /// What to do before the doors, in order.
    fn prepare(&mut self, log: &Log, deeds: &mut Vec<Deed>);
    /// The chance of a stoppage tonight, for those who give one.
    fn chance(&mut self, log: &Log) -> Option<f64>;
    /// A part came out; the log still shows it in its slot.
    fn ended(&mut self, _: &Log, _: &Ended) {}
    /// The showing is over; the log still shows the work that was done before it.
    fn shown(&mut self, _: &Log, _stopped: bool) {}
}
