//! The plan as it is told: every choice with its reason, what it costs, and how far it may lie from the best.

use crate::model::{Cost, Minutes};
use serde::Serialize;
use units::Hours;

/// A plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// What the whole plan costs, with what overdue runs and machines too few count.
    pub cost: Cost,
    /// No plan for this model costs less than this.
    pub bound: Cost,
    /// `(cost − bound) / cost`, 0 for a plan that is proven best.
    pub gap: f64,
    /// Whether it is proven that no plan costs less (to one part in a thousand million).
    pub proven: bool,
    /// What the cost is made of.
    pub breakdown: Breakdown,
    /// Each showing, in the order of time.
    pub showings: Vec<ShowingPlan>,
    /// Each slot in which something is done, in the order of time.
    pub sessions: Vec<Session>,
    /// Work that is not done in the plan.
    pub left: Vec<Left>,
    /// Runs with work past its limit: each could not be avoided, or costs less than what would avoid it.
    pub overdue: Vec<Overdue>,
    /// Showings with too few machines.
    pub unstaffed: Vec<Unstaffed>,
    /// What one should know about the answer.
    pub caveats: Vec<String>,
}

/// What a cost is made of.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Breakdown {
    /// Expected stoppages.
    pub stoppages: Cost,
    /// Life that is thrown away by doing work early.
    pub wasted_life: Cost,
    /// Parts, and people's minutes on the work itself.
    pub work: Cost,
    /// Preparations, and sessions with people's journeys.
    pub sessions: Cost,
    /// Machines' journeys.
    pub journeys: Cost,
    /// What is left to be done at the end.
    pub left_over: Cost,
    /// What overdue runs count.
    pub overdue: Cost,
    /// What machines too few count.
    pub unstaffed: Cost,
}

impl Breakdown {
    /// Returns the sum.
    pub fn total(&self) -> Cost {
        self.stoppages
            + self.wasted_life
            + self.work
            + self.sessions
            + self.journeys
            + self.left_over
            + self.overdue
            + self.unstaffed
    }
}

/// Which machines a showing has.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShowingPlan {
    /// The showing.
    pub showing: String,
    /// Its machines.
    pub machines: Vec<Seat>,
}

/// A machine at a showing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Seat {
    /// The machine.
    pub machine: String,
    /// Why this one.
    pub because: Reason,
}

/// Why a choice stands where it stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reason {
    /// The best alternative with everything else left as it is: another machine, another slot, or leaving it.
    pub next_best: Option<String>,
    /// How much more that would cost; negative where the plan is not the best one and this is a way to mend it.
    pub costs_more: Option<Cost>,
    /// The same in words, with what makes the difference.
    pub words: String,
}

/// A bench session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Session {
    /// The slot.
    pub slot: String,
    /// Who.
    pub who: String,
    /// How many minutes are used, journeys and preparations counted in.
    pub minutes_used: Minutes,
    /// How many there are.
    pub minutes: Minutes,
    /// What is prepared once for several: machine and preparation.
    pub preparations: Vec<(String, String)>,
    /// What is done.
    pub work: Vec<Doing>,
}

/// A piece of work in a session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Doing {
    /// The work.
    pub work: String,
    /// Its machine.
    pub machine: String,
    /// Hours since it was last done.
    pub hours_since: Hours,
    /// Why here.
    pub because: Reason,
}

/// Work that is not done in the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Left {
    /// The work.
    pub work: String,
    /// Its machine.
    pub machine: String,
    /// Hours since it was last done, at the end of the plan.
    pub hours_since: Hours,
    /// Why not.
    pub because: Reason,
}

/// A run with work past its limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Overdue {
    /// The showing.
    pub showing: String,
    /// The machine.
    pub machine: String,
    /// The work.
    pub work: String,
    /// Why it is so.
    pub because: String,
}

/// A showing with too few machines.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unstaffed {
    /// The showing.
    pub showing: String,
    /// How many are missing.
    pub missing: usize,
    /// Why it is so.
    pub because: String,
}
