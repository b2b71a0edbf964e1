//! The figures that the plan takes where a logbook says nothing. All are common practice without a source, and each is
//! named in the answer.

use crate::answer::{COMMON_PRACTICE, Ground};
use jiff::civil::{Time, time};

/// A free evening at the bench begins.
pub const EVENING_BEGINS: Time = time(18, 0, 0, 0);
/// Minutes of a free evening at the bench.
pub const EVENING_MINUTES: i64 = 120;
/// Minutes at the bench before a showing.
pub const BEFORE_MINUTES: i64 = 60;
/// Minutes from the end of the bench to the showing: lacing, warming up, letting people in.
pub const CLEAR_MINUTES: i64 = 60;
/// Minutes that laying out and clearing away the bench cost.
pub const OPENING_MINUTES: f64 = 15.0;
/// Minutes to bring a machine into the state that care wants, once for all care in that state.
pub const PREPARING_MINUTES: i64 = 5;
/// Minutes of a way between two places, one way, with packing and setting up: nobody has written how far they lie apart.
pub const WAY_MINUTES: i64 = 90;
/// A stoppage is counted by so many dark minutes; a part's own are set against these.
pub const STOPPAGE_MINUTES: f64 = 30.0;
/// Running times are rounded up to so many minutes, so that the plan can be exact.
pub const RUN_STEP: i64 = 15;
/// A part is looked at for a planned change from this chance on that it fails within the time of the plan.
pub const WORTH_A_CHANGE: f64 = 0.02;

/// The rules, as grounds of an answer; `dark_minute` is what one is worth in minutes of work.
pub(super) fn grounds(dark_minute: f64) -> Vec<Ground> {
    let rule = |words: String| Ground::Rule { words: words.into(), source: COMMON_PRACTICE };
    vec![
        rule(format!(
            "bench: {EVENING_MINUTES} minutes from {} on evenings without a showing, {BEFORE_MINUTES} minutes that \
             end {CLEAR_MINUTES} minutes before the first showing on the others",
            EVENING_BEGINS.strftime("%H:%M")
        )),
        rule(format!(
            "counted in minutes of work: a session {OPENING_MINUTES:.0}, a preparation {PREPARING_MINUTES}, a dark \
             minute {dark_minute}, a way between two places {WAY_MINUTES}, a credit of a spare 1"
        )),
    ]
}
