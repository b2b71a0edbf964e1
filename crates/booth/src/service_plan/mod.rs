//! The service plan: which machine for which showing, and when to do which care and change which part, over the coming
//! weeks of the diary.
//!
//! The logbook becomes the model that the crate `plan` solves; its answer becomes showings, bench sessions and reasons
//! in the booth's own names. What people pinned is kept.

mod bench;
mod change;
mod heeded;
mod made;
mod model;
mod rules;
mod work;

pub use made::{
    BenchSession, PlannedSeat, PlannedShowing, PlannedWork, ServicePlan, Standing, Unpinned, WorkKind,
};
pub use rules::*;

use crate::{
    answer::{Answer, Caveat, CaveatKind},
    day::Day,
    due::Desk,
    lived::KeptBeliefs,
    parts_lives::DARK_MINUTE_WORTH,
};
use jiff::ZonedDateTime;
use logbook::Booth;
use machine::Library;
use plan::{Effort, ModelError};

/// The longest time that is planned, in days.
pub const LONGEST_DAYS: i32 = 62;
/// A month.
pub const USUAL_DAYS: i32 = 31;

/// What the plan is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Days from today, at most [`LONGEST_DAYS`].
    pub days: i32,
    /// Machines of the diary are chosen anew too; else only where a showing lacks one that may be used.
    pub afresh: bool,
    /// Minutes of a free evening at the bench.
    pub evening_minutes: i64,
    /// Minutes at the bench before a showing.
    pub before_minutes: i64,
    /// What a minute of dark screen is worth in minutes of work: see [`DARK_MINUTE_WORTH`].
    pub dark_minute: f64,
}

impl Default for Wanted {
    fn default() -> Self {
        Self {
            days: USUAL_DAYS,
            afresh: false,
            evening_minutes: EVENING_MINUTES,
            before_minutes: BEFORE_MINUTES,
            dark_minute: DARK_MINUTE_WORTH,
        }
    }
}

/// Effort enough for a booth's month within a second or so; where it does not end in a proof, the bound is told.
const EFFORT: Effort = Effort { price_steps: 160, sweeps: 12, nodes: 4_000, threads: 2, seed: 1 };

/// Returns the plan of the coming weeks; beliefs about parts are taken from `kept` and put there.
///
/// Where the pins cannot all hold, nothing is planned and the answer says which and why.
pub fn service_plan<'a>(
    booth: &'a Booth,
    library: &'a Library,
    now: &ZonedDateTime,
    kept: &'a KeptBeliefs,
    wanted: Wanted,
) -> Answer<ServicePlan<'a>> {
    let wanted = Wanted { days: wanted.days.clamp(1, LONGEST_DAYS), ..wanted };
    let desk = Desk::new(booth, library, now);
    let built = model::Built::new(&desk, kept, now, wanted);
    let solved = plan::solve(&built.model, &EFFORT);
    let mut caveats = built.caveats.clone();
    caveats.extend(desk.stale_diary());
    let value = match solved {
        Ok(answer) => {
            if !answer.proven {
                let most = crate::words::minutes((answer.cost.0 - answer.bound.0).ceil().max(1.0) as i64);
                let words = format!(
                    "It is not proven that this plan is the best; no other could save more than {most} of work."
                );
                caveats.push(Caveat::new(CaveatKind::NotProven, words));
            }
            made::made(&built, &desk, &answer)
        }
        Err(ModelError::Pins(faults)) => made::unpinned(&built, &faults),
        // The model is made here from a logbook, so that a fault of it is this program's and not the asker's.
        Err(fault) => made::not_planned(&built, &fault),
    };
    let mut because = rules::grounds(wanted.dark_minute);
    because.extend(desk.grounds());
    Answer { value, because, caveats }
}

/// The last day of a plan.
fn last_day(today: Day, wanted: Wanted) -> Day {
    today.plus(wanted.days - 1)
}
