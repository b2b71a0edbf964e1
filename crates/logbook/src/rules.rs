//! Bounds that the gate refuses by and the fold asks by: one list, so that the two never disagree.

use crate::{
    Precision, When,
    fact::{Flaw, Found, PersonAdded, ProgrammeReel, Role, ShrinkageTaken},
    ids::PersonId,
};
use std::collections::BTreeMap;
use units::{Frames, FramesPerSecond, Hours, Metres, Seconds};

/// The longest single run, in hours. Common practice, no source: nothing runs for more than a day without somebody
/// writing an entry, and a slipped decimal point shows here.
pub const LONGEST_RUN: Hours = Hours::new(24.0);

/// The longest showing, in minutes: a day, for the same reason.
pub const LONGEST_SHOWING_MINUTES: f64 = 24.0 * 60.0;

/// How far the clock of the device that writes may run ahead of ours, in milliseconds.
pub const CLOCK_SKEW_MS: i64 = 5 * 60 * 1000;

/// The share by which runs and meter may differ before somebody is asked. Common practice, no source.
pub const METER_TOLERANCE: f64 = 0.25;

/// The hours by which runs and meter may always differ: run times are rounded and many meters show whole hours.
pub const METER_TOLERANCE_HOURS: Hours = Hours::new(2.0);

/// The highest figure that a meter may show, in hours: more than a century of running day and night.
pub const HIGHEST_METER: Hours = Hours::new(1_000_000.0);

/// Returns whether a run, or the time that a lamp was lit in it, can be so long.
pub fn is_run_length(hours: Hours) -> bool {
    hours >= Hours::ZERO && hours <= LONGEST_RUN
}

/// Returns whether a meter can show this.
pub fn is_meter_figure(hours: Hours) -> bool {
    hours >= Hours::ZERO && hours <= HIGHEST_METER
}

/// Returns whether a part's age can lie between these: both that a meter can show, the lower first.
pub fn is_age_band((low, high): (Hours, Hours)) -> bool {
    is_meter_figure(low) && is_meter_figure(high) && low <= high
}

/// Returns whether a showing can be so long: more than nothing, at most a day.
pub fn is_showing_length(minutes: f64) -> bool {
    minutes > 0.0 && minutes <= LONGEST_SHOWING_MINUTES
}

/// Returns the most that a meter can have gained between two moments: the time between, and as much more as the
/// moments are vague. One hour is added for clocks that were set by hand.
pub fn most_hours_between(earlier: When, later: When) -> Hours {
    earlier.hours_until(later).max(Hours::ZERO)
        + vagueness(earlier.precision)
        + vagueness(later.precision)
        + Hours::new(1.0)
}

/// Returns how far a moment of this precision can be from the truth.
pub fn vagueness(precision: Precision) -> Hours {
    match precision {
        Precision::Second | Precision::Minute => Hours::ZERO,
        Precision::Day => Hours::new(24.0),
        Precision::Month => Hours::new(31.0 * 24.0),
    }
}

/// Returns what a meter gained that passed its last figure and began again at `new`, from `last`.
///
/// A counter of n digits begins again at the power of ten above its last figure: 9,998.2 h passes 10,000.
pub fn gained_by_rolling_over(last: Hours, new: Hours) -> Hours {
    let mut top = 10.0;
    while top <= last.hours() && top < 1e12 {
        top *= 10.0;
    }
    Hours::new(top) - last + new
}

/// What an entry about a person does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Giving {
    /// It gives the role that it names.
    Gives,
    /// It gives none: the person has that role already, and only the name is new.
    Names,
    /// Its writer may not give that role.
    Refused,
}

/// Returns what an entry about a person does, by the roles that people have been given.
///
/// Anybody may add an operator. Who keeps the booth or is a technician gives the other roles, though not to
/// themselves; while nobody is in charge yet anybody may, or no booth could begin. Common practice, no source.
pub(crate) fn giving(
    by: &PersonId,
    fact: &PersonAdded,
    somebody_in_charge: bool,
    given: impl Fn(&PersonId) -> Option<Role>,
) -> Giving {
    let before = given(&fact.person);
    let in_charge = matches!(given(by), Some(Role::Keeper | Role::Technician));
    let raises_self = *by == fact.person && fact.role != Role::Operator;
    let new_operator = before.is_none() && fact.role == Role::Operator;
    if !somebody_in_charge || (in_charge && !raises_self) || new_operator {
        Giving::Gives
    } else if before == Some(fact.role) {
        Giving::Names
    } else {
        Giving::Refused
    }
}

/// Returns whether anybody keeps the booth or is a technician, by the roles last given.
pub(crate) fn somebody_in_charge(given: &BTreeMap<PersonId, Role>) -> bool {
    given.values().any(|role| *role != Role::Operator)
}

/// The most frames that one reel carries: an evening of 35 mm on one platter is some quarter of a million.
pub const MOST_FRAMES: i64 = 2_000_000;

/// The longest pause or run-up of a programme: a night.
pub const LONGEST_PAUSE: Seconds = Seconds::new(12.0 * 3600.0);

/// Returns whether a reel carries a picture, and no part of it has a count that film does not have.
pub fn is_reel_count(reel: &ProgrammeReel) -> bool {
    let counts = [reel.head_frames, reel.tail_frames, reel.picture_frames];
    counts.iter().all(|frames| (0..=MOST_FRAMES).contains(&frames.count())) && reel.picture_frames.count() > 0
}

/// Returns whether film can be shown at this speed: above nothing, and no faster than a machine that shows it slowed.
pub fn is_film_speed(speed: FramesPerSecond) -> bool {
    let speed = speed.fps();
    (1.0..=120.0).contains(&speed)
}

/// Returns whether a pause or a run-up can be so long.
pub fn is_short_time(time: Seconds) -> bool {
    time >= Seconds::ZERO && time <= LONGEST_PAUSE
}

/// The longest reel: a whole evening on one platter is some 5 km of 35 mm film.
pub const LONGEST_REEL: Metres = Metres::new(20_000.0);

/// Returns whether a reel can be so long.
pub fn is_reel_length(length: Metres) -> bool {
    length > Metres::ZERO && length <= LONGEST_REEL
}

/// Returns whether a reel can have such a frame.
pub fn is_frame(frame: Frames) -> bool {
    (0..=MOST_FRAMES).contains(&frame.count())
}

/// Returns whether acid-indicator paper can show this: its makers' guide has colours from 0 to 3 (from memory).
pub fn is_acid_level(level: f64) -> bool {
    (0.0..=3.0).contains(&level)
}

/// Returns whether a shrinkage gauge can show this. Film that measures a little too long was measured a little wrong;
/// beyond 5 % film is a brittle lump that no gauge takes (common practice, no source).
pub fn can_be_gauged(taken: &ShrinkageTaken) -> bool {
    is_frame(taken.at_frame) && (-0.5..=5.0).contains(&taken.shrinkage_percent.percent())
}

/// Returns whether this can be found on film, and says enough of what it is.
pub fn can_be_found(found: &Found) -> bool {
    let within = is_frame(found.from_frame)
        && found.to_frame.is_none_or(|to| is_frame(to) && to >= found.from_frame)
        && found.from_edge_m.is_none_or(|edge| (0.0..=0.1).contains(&edge.metres()));
    let told = match found.flaw {
        Flaw::Splice => found.splice.is_some() && found.holds.is_some(),
        Flaw::Perforations => found.grade.is_some_and(|grade| grade <= 4),
        Flaw::Scratch => found.side.is_some() && found.depth.is_some(),
        Flaw::Dirt | Flaw::Oil | Flaw::Warp | Flaw::Tear | Flaw::Burn => true,
    };
    within && told
}
