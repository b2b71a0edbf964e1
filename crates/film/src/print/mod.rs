//! A print as it lies on the bench: what was found along each reel, and whether it may be shown.

mod decision;
mod finding;
mod hazard;

pub use decision::{Decision, Puller, Reason, Safeguard, Verdict, decide};
pub use finding::{Finding, PerforationGrade, ScratchDepth, Side, SpliceKind, What, rows_of_findings};
pub use hazard::{LOST_LOOP_ONE_TOOTH, PassHazard, SOUND_SPLICE_PARTS, any_of, pass_hazards};

use crate::{Base, Gauge};
use units::{Frames, Percent};

/// Whose the print is and whether there is another: it sets how early to stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PrintSort {
    /// A copy that can be had again.
    Replaceable,
    /// Lent by somebody who wants it back as it came.
    Lent,
    /// The only one.
    Unique,
}

/// What is known of the film's base by its edge print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EdgePrint {
    /// It says SAFETY.
    Safety,
    /// It says NITRATE.
    Nitrate,
    /// Nobody has looked, or there is none.
    NotSeen,
}

/// A reel as it was inspected. What was not looked at is absent, and the decision says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspected {
    /// Its gauge.
    pub gauge: Gauge,
    /// All that is wound on it.
    pub length: Frames,
    /// What it is made of.
    pub base: Option<Base>,
    /// What its edge says.
    pub edge: EdgePrint,
    /// When it was made.
    pub made_year: Option<i16>,
    /// How much it has shrunk; the worst of head, middle and tail.
    pub shrinkage: Option<Percent>,
    /// Colour of the acid paper after a day in the can, 0 to 3.
    pub acid_level: Option<f64>,
    /// What was found along it.
    pub findings: Vec<Finding>,
    /// The leader is there.
    pub has_leader: bool,
}
