//! How a second machine takes over at the end of a reel: the cues by feet and seconds, and where to thread the next reel.

use super::{Item, ProgrammeError, Reel};
use crate::{
    FeetAndFrames,
    error::checked_time,
    frames_in_time,
    leader::{SMPTE_301, UNIVERSAL},
    time_of,
};
use units::{Frames, FramesPerSecond, Seconds};

/// Where a cue stands on the outgoing reel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cue {
    /// Frames of picture that run before it.
    pub from_start: Frames,
    /// The same on the bench counter, from the first frame of picture.
    pub footage: FeetAndFrames,
    /// Frames from its first frame to the last of the picture.
    pub before_end: Frames,
    /// Seconds from the reel's first picture.
    pub at: Seconds,
    /// Seconds to the end of the reel.
    pub left: Seconds,
}

/// A place on the universal leader.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeaderPlace {
    /// The number that was passed last.
    pub number: u32,
    /// Frames past the first frame of that number.
    pub frames_past: Frames,
}

/// The hand-over from one machine to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Takeover {
    /// Start the incoming machine's motor.
    pub motor: Cue,
    /// Throw picture and sound together.
    pub changeover: Cue,
    /// The print carries these marks; otherwise the operator goes by clock, footage or picture and dialogue.
    pub marked: bool,
    /// Frames of leader between the incoming gate and the first picture.
    pub thread: Frames,
    /// The same on the universal leader, where it reaches that far.
    pub leader: Option<LeaderPlace>,
    /// The incoming machine is at speed before its picture comes.
    pub at_speed: bool,
    /// Where the marks' places come from.
    pub source: &'static str,
}

/// Works out the hand-over at the end of a reel to a machine that needs `run_up` to reach speed.
///
/// Between the two cues the incoming machine runs [`motor_to_changeover`](crate::leader::CueMarks::motor_to_changeover) at the outgoing speed. Gaining
/// speed evenly it covers only half of what it would have covered in its run-up, so that much less leader is threaded.
/// `lag` is by how many seconds the operator is slower on the motor switch than on the changeover (negative: quicker);
/// it is learnt from their own changeovers and is zero for a beginner. A print without marks is reckoned with those of
/// SMPTE 301, for the operator to find by clock or footage. Fails where the speed or a time is not one.
pub fn takeover(
    item: &Item,
    reel: &Reel,
    incoming_speed: FramesPerSecond,
    run_up: Seconds,
    lag: Seconds,
) -> Result<Takeover, ProgrammeError> {
    let marks = item.cues.unwrap_or(SMPTE_301);
    let between = time_of(marks.motor_to_changeover(), item.speed)?;
    let lost = frames_in_time(checked_time(run_up)? * 0.5, incoming_speed)?;
    let slower = frames_in_time(lag.abs(), incoming_speed)?;
    let late = if lag < Seconds::ZERO { -slower } else { slower };
    let thread = (frames_in_time(between, incoming_speed)? - lost - late).max(Frames::ZERO);
    Ok(Takeover {
        motor: cue(item, reel, marks.motor_before_end())?,
        changeover: cue(item, reel, marks.changeover_before_end())?,
        marked: item.cues.is_some(),
        thread,
        leader: place_on_leader(thread),
        at_speed: thread >= lost,
        source: marks.source,
    })
}

fn cue(item: &Item, reel: &Reel, before_end: Frames) -> Result<Cue, ProgrammeError> {
    // On a reel shorter than its cues, they stand at its beginning.
    let before_end = before_end.min(reel.picture);
    let from_start = reel.picture - before_end;
    Ok(Cue {
        from_start,
        footage: item.gauge.feet_and_frames(from_start),
        before_end,
        at: time_of(from_start, item.speed)?,
        left: time_of(before_end, item.speed)?,
    })
}

fn place_on_leader(before_picture: Frames) -> Option<LeaderPlace> {
    (UNIVERSAL.last..=UNIVERSAL.first).find_map(|number| {
        let starts = UNIVERSAL.frames_before_picture(number)?;
        (starts >= before_picture && starts - before_picture < UNIVERSAL.frames_per_count)
            .then_some(LeaderPlace { number, frames_past: starts - before_picture })
    })
}
