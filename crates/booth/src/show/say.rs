//! The plan in plain words: what the hand does around each reel, and what to look at before the showing.

use super::plan::{Next, PlannedReel};
use crate::answer::{Caveat, CaveatKind};
use film::programme::{Doubt, Takeover};
use serde::Serialize;
use units::{Seconds, show};

/// What the hand does around a reel, in plain words.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct Say {
    /// Before its first picture.
    pub before: String,
    /// While it runs and the next cue is far off.
    pub ready: String,
    /// Shortly before the motor cue.
    pub motor_soon: String,
    /// At the motor cue.
    pub motor: String,
    /// Between the motor cue and the changeover.
    pub changeover_soon: String,
    /// At the changeover cue.
    pub changeover: String,
    /// Shortly before its end.
    pub end_soon: String,
    /// At its end.
    pub end: String,
}

pub(super) fn cues_in_words(takeover: &Takeover) -> String {
    let (motor, changeover) = (takeover.motor, takeover.changeover);
    format!(
        "motor at {} ({}), changeover at {} ({})",
        motor.footage,
        show::running_time_in_tenths(motor.at),
        changeover.footage,
        show::running_time_in_tenths(changeover.at)
    )
}

/// The reel that comes next.
pub(super) struct Following<'a> {
    pub place: usize,
    pub machine: &'a str,
    pub seconds: Seconds,
}

pub(super) fn say(
    place: usize,
    machine: &str,
    next: Next,
    takeover: Option<&Takeover>,
    following: Option<&Following<'_>>,
) -> Say {
    let before = format!("Lace reel {place} on {machine}. Tap when its first picture is on the screen.");
    let Some(following) = following else {
        let end = "The programme ends with this reel: house lights at the last picture.".to_owned();
        return Say { before, ready: end.clone(), end_soon: end.clone(), end, ..Say::default() };
    };
    let Following { place: number, machine: other, seconds } = following;
    match (next, takeover) {
        (Next::Changeover, Some(takeover)) => Say {
            before,
            ready: format!("Lace reel {number} on {other}: {}.", threading(takeover)),
            motor_soon: format!("Stand by: at {}, the motor of {other}.", sign(takeover, "the first mark")),
            motor: format!("Now: start the motor of {other}."),
            changeover_soon: format!(
                "Stand by: at {}, change over to {other}, picture and sound together.",
                sign(takeover, "the second mark")
            ),
            changeover: format!("Now: change over to {other}, picture and sound together."),
            end_soon: format!("Stand by to change over to {other}."),
            end: format!("Change over to {other} now."),
        },
        (Next::Interval, _) => Say {
            before,
            ready: format!("Then a pause of {}. Have reel {number} ready for {other}.", show::span(*seconds)),
            end_soon: "Stand by: house lights at the last picture.".to_owned(),
            end: format!("House lights. Lace reel {number} on {other}."),
            ..Say::default()
        },
        _ => Say {
            before,
            ready: format!(
                "Have reel {number} at hand: it goes on {other} too, in about {}.",
                show::span(*seconds)
            ),
            end_soon: "Stand by: at the last picture, lamp down and motor off.".to_owned(),
            end: format!("Lamp down, motor off. Lace reel {number} on {other}."),
            ..Say::default()
        },
    }
}

/// What tells the moment: the mark in the picture, or else the count.
fn sign<'w>(takeover: &Takeover, mark: &'w str) -> &'w str {
    if takeover.marked { mark } else { "0:00" }
}

/// How far from its picture the incoming reel stands in the gate.
fn threading(takeover: &Takeover) -> String {
    let frames = takeover.thread;
    takeover.leader.map_or_else(
        || format!("{frames} of leader before the picture in the gate"),
        |place| match place.frames_past.count() {
            0 => format!("the {} of the leader in the gate", place.number),
            _ => format!(
                "the leader {} past its {} in the gate ({frames} before the picture)",
                place.frames_past, place.number
            ),
        },
    )
}

pub(super) fn doubt_in_words(doubt: &Doubt, reels: &[PlannedReel]) -> Caveat {
    let name = |at: usize| reels.get(at).map_or_else(String::new, |reel| format!("reel {}", reel.place));
    let machine = |at: usize| reels.get(at).map_or("the machine", |reel| reel.machine_name.as_str());
    let words = match *doubt {
        Doubt::ReelTooLong { stretch, length, takes } => format!(
            "{} is {} and the arms of {} take {}: split it.",
            capital(&name(stretch)),
            show::film_length(length),
            machine(stretch),
            show::film_length(takes)
        ),
        Doubt::NotAtSpeed { stretch } => format!(
            "{} is not at speed when it takes over after {}: lace it further back.",
            machine(stretch + 1),
            name(stretch)
        ),
        Doubt::LeaderTooShort { stretch, has, needs } => format!(
            "{} has {has} of leader and the changeover needs {needs}: lengthen the leader, never cut the print.",
            capital(&name(stretch))
        ),
        Doubt::HastyRelace { stretch, time } => {
            format!("{} leaves only {} to lace the reel after it.", capital(&name(stretch)), show::span(time))
        }
    };
    Caveat::new(CaveatKind::WithinLimits, words)
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
