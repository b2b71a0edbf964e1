//! How a show stands at a moment: what is on which machine, what is left, what comes next.

use super::{
    marks::{Course, Phase, seconds},
    plan::{PlannedReel, ShowPlan},
};
use logbook::{MachineId, booth::Showing};
use serde::Serialize;
use units::Seconds;

/// From how long before a cue on the hand should lie ready (common practice, no source).
pub const READY: Seconds = Seconds::new(30.0);
/// No order is given earlier than this before its time: whoever reads "now" does it at once. Half a second is about what
/// a warned hand takes (from memory).
pub const AT_CUE: Seconds = Seconds::new(0.5);
/// The order of the motor cue stays for so long after it (common practice, no source).
pub const ORDER_STAYS: Seconds = Seconds::new(3.0);

/// Which cue comes next.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cue {
    /// Start the motor of the incoming machine.
    Motor,
    /// Change over.
    Changeover,
    /// The reel ends.
    End,
}

/// The next cue.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Ahead {
    /// Which.
    pub cue: Cue,
    /// How long until it; below zero: so long ago.
    pub in_seconds: Seconds,
}

/// What is on one machine.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct OnMachine {
    /// The machine.
    pub machine: MachineId,
    /// What people call it.
    pub name: String,
    /// The reel that runs on it, by its place from 1.
    pub running: Option<u32>,
    /// The reel that comes next on it.
    pub next: Option<u32>,
}

/// How a show stands.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Standing {
    /// Where it stands.
    pub phase: Phase,
    /// The reel that stands on the screen or was there last, by its place from 1; 0: none yet.
    pub reel: u32,
    /// How much of that reel's picture has been shown.
    pub shown_seconds: Seconds,
    /// How much of it is left by the plan; below zero: it runs longer than the plan says.
    pub reel_left_seconds: Seconds,
    /// How long until the programme is over, planned pauses included.
    pub programme_left_seconds: Seconds,
    /// The next cue, while a picture is on the screen.
    pub ahead: Option<Ahead>,
    /// How long the screen has been dark or paused.
    pub dark_seconds: Option<Seconds>,
    /// When the programme ends by the diary and the plan, in milliseconds since 1970.
    pub planned_end_ms: i64,
    /// When it will end as it stands.
    pub end_ms: i64,
    /// By how much it will end later than planned; below zero: earlier.
    pub drift_seconds: Seconds,
    /// What is on which machine.
    pub machines: Vec<OnMachine>,
    /// What to do next, in words.
    pub next: String,
}

/// How a show stands at a moment.
pub fn standing(plan: &ShowPlan, course: &Course, showing: &Showing, now_ms: i64) -> Standing {
    let shown = course.shown_at(now_ms);
    let reel = reel_at(plan, course.reel);
    let reel_left = reel.map_or(Seconds::ZERO, |reel| reel.picture_seconds - shown);
    let left = programme_left(plan, course, reel_left, now_ms);
    let starts_ms = showing.starts.timestamp().as_millisecond();
    let planned_end_ms = starts_ms.saturating_add(milliseconds(plan.lasts_seconds));
    let from_ms = if course.phase == Phase::Waiting { now_ms.max(starts_ms) } else { now_ms };
    let end_ms = course.over_ms.unwrap_or(from_ms.saturating_add(milliseconds(left)));
    let ahead = (course.phase == Phase::Running).then(|| reel.map(|reel| ahead(reel, shown))).flatten();
    Standing {
        phase: course.phase,
        reel: course.reel,
        shown_seconds: shown,
        reel_left_seconds: reel_left,
        programme_left_seconds: left,
        ahead,
        dark_seconds: matches!(course.phase, Phase::Paused | Phase::Stopped | Phase::Between)
            .then(|| seconds(course.since_ms, now_ms)),
        planned_end_ms,
        end_ms,
        drift_seconds: Seconds::new((end_ms - planned_end_ms) as f64 / 1000.0),
        machines: on_machines(plan, course),
        next: next_in_words(plan, course, ahead),
    }
}

fn milliseconds(time: Seconds) -> i64 {
    (time.seconds() * 1000.0).round() as i64
}

fn reel_at(plan: &ShowPlan, place: u32) -> Option<&PlannedReel> {
    plan.reels.get((place as usize).checked_sub(1)?)
}

fn programme_left(plan: &ShowPlan, course: &Course, reel_left: Seconds, now_ms: i64) -> Seconds {
    let Some(reel) = reel_at(plan, course.reel) else {
        return if course.phase == Phase::Waiting { plan.lasts_seconds } else { Seconds::ZERO };
    };
    // What comes after this reel's last picture, its planned pause included.
    let after = plan.lasts_seconds - reel.starts_seconds - reel.picture_seconds;
    match course.phase {
        Phase::Waiting => plan.lasts_seconds,
        Phase::Running | Phase::Paused | Phase::Stopped => reel_left.max(Seconds::ZERO) + after,
        Phase::Between => {
            let waited = seconds(course.since_ms, now_ms).min(reel.pause_seconds);
            after - waited
        }
        Phase::Over => Seconds::ZERO,
    }
}

fn ahead(reel: &PlannedReel, shown: Seconds) -> Ahead {
    let motor = reel.motor_seconds.filter(|at| shown < *at).map(|at| (Cue::Motor, at));
    let changeover = reel.changeover_seconds.map(|at| (Cue::Changeover, at));
    let (cue, at) = motor.or(changeover).unwrap_or((Cue::End, reel.picture_seconds));
    Ahead { cue, in_seconds: at - shown }
}

/// How long ago the motor cue was, on the way to the changeover.
fn since_motor(reel: &PlannedReel, ahead: Ahead) -> Seconds {
    let between =
        reel.changeover_seconds.zip(reel.motor_seconds).map(|(changeover, motor)| changeover - motor);
    between.map_or(ORDER_STAYS, |between| between - ahead.in_seconds)
}

fn on_machines(plan: &ShowPlan, course: &Course) -> Vec<OnMachine> {
    let is_on = matches!(course.phase, Phase::Running | Phase::Paused | Phase::Stopped);
    let running = course.ran.last().filter(|_| is_on);
    let over = course.phase == Phase::Over;
    plan.machines
        .iter()
        .map(|on| {
            let own = |reel: &&PlannedReel| reel.machine == on.machine;
            let next = plan.reels.iter().filter(own).find(|reel| reel.place > course.reel && !over);
            OnMachine {
                machine: on.machine.clone(),
                name: on.name.clone(),
                running: running.filter(|ran| ran.machine.as_ref() == Some(&on.machine)).map(|ran| ran.reel),
                next: next.map(|reel| reel.place),
            }
        })
        .collect()
}

fn next_in_words(plan: &ShowPlan, course: &Course, ahead: Option<Ahead>) -> String {
    let reel = reel_at(plan, course.reel);
    match course.phase {
        Phase::Waiting => plan.reels.first().map_or_else(String::new, |reel| reel.say.before.clone()),
        Phase::Paused => "Paused. Tap when picture and sound are on again.".to_owned(),
        Phase::Stopped => {
            "Dark. House lights if it lasts. Tap when picture and sound are on again.".to_owned()
        }
        Phase::Between => reel_at(plan, course.reel + 1).map_or_else(
            || "That was the last reel. Tap the end.".to_owned(),
            |next| {
                format!("{} {}", reel.map_or("", |reel| reel.say.end.as_str()), next.say.before)
                    .trim()
                    .to_owned()
            },
        ),
        Phase::Over => "The programme is over.".to_owned(),
        Phase::Running => {
            let (Some(reel), Some(ahead)) = (reel, ahead) else {
                return "This reel is not in the programme.".to_owned();
            };
            running_in_words(reel, ahead)
        }
    }
}

fn running_in_words(reel: &PlannedReel, ahead: Ahead) -> String {
    let say = &reel.say;
    let is_now = ahead.in_seconds <= AT_CUE;
    let words = match ahead.cue {
        Cue::Motor | Cue::End if ahead.in_seconds > READY => &say.ready,
        Cue::Motor if is_now => &say.motor,
        Cue::Motor => &say.motor_soon,
        Cue::Changeover if is_now => &say.changeover,
        Cue::Changeover if since_motor(reel, ahead) < ORDER_STAYS => &say.motor,
        Cue::Changeover => &say.changeover_soon,
        Cue::End if is_now => &say.end,
        Cue::End => &say.end_soon,
    };
    words.clone()
}
