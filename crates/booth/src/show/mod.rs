//! The show: a programme of reels laid over the machines, how it stands while it runs, and what it was when it is over.

mod check;
mod close;
mod follow;
mod marks;
mod plan;
mod report;
mod say;
mod standing;

pub use check::{ReelCheck, checks, joined_spools};
pub use close::{closing, linked, stoppage_after};
pub use follow::{FOLLOWS, Step, TAPPED_BY_MISTAKE, Written, following, steps_to_follow, written_by};
pub use marks::{Between, Course, Dark, LastMark, Phase, Ran, course_of};
pub use plan::{
    Next, NoPlan, PlannedMachine, PlannedReel, RUN_UP, ShowPlan, film_items, plan_of, plan_of_programme,
};
pub use report::{MachineHours, ReelRun, ShowReport, ShowStoppage, report};
pub use say::Say;
pub use standing::{Ahead, Cue, OnMachine, Standing, standing};

use logbook::{
    Booth, ProgrammeId, ShowingId,
    booth::{Programme, Showing},
};

/// Finds a showing of the diary, whatever became of it.
pub fn find_showing<'a>(
    booth: &'a Booth,
    showing: &str,
) -> Result<(&'a ShowingId, &'a Showing), crate::NotKnown> {
    booth.showings.get_key_value(showing).ok_or_else(|| crate::NotKnown::Showing {
        asked: showing.to_owned(),
        known: crate::known::known_names(showing, booth.showings.keys().map(ShowingId::as_str)),
    })
}

/// The programme of a showing: of those that name it, the one that was kept last.
pub fn programme_of<'a>(booth: &'a Booth, showing: &ShowingId) -> Option<(&'a ProgrammeId, &'a Programme)> {
    booth
        .programmes
        .iter()
        .filter(|(_, programme)| programme.showings.contains(showing))
        .max_by_key(|(_, programme)| (programme.kept.0.unix_ms, programme.kept.1))
}
