//! The daily sums of film, in words: one sentence each, as command line and page say it.

use ::film::calc::{LengthForTime, ReelContents, RunningTime, SoundAdvance, SpeedOfFilm};
use units::show;

/// How long a length runs.
pub fn time(answer: &RunningTime) -> String {
    format!(
        "{} of {} at {} fps runs {} ({} frames)",
        show::film_length(answer.length),
        answer.gauge,
        answer.fps.fps(),
        show::running_time_in_tenths(answer.seconds),
        answer.frames.count(),
    )
}

/// How much film runs in a time.
pub fn length(answer: &LengthForTime) -> String {
    let spool =
        answer.spool.map_or(String::new(), |spool| format!("; fits {} {spool} spool", article(spool)));
    format!(
        "{} of {} at {} fps is {} ({} frames){spool}",
        show::running_time_in_tenths(answer.seconds),
        answer.gauge,
        answer.fps.fps(),
        show::film_length(answer.length),
        answer.frames.count(),
    )
}

/// Returns the article before a spool's name, by how its first number is said: "an 800 ft", "a 400 ft".
fn article(name: &str) -> &'static str {
    let digits: String = name.chars().take_while(char::is_ascii_digit).collect();
    if name.starts_with('8') || matches!(digits.as_str(), "11" | "18") { "an" } else { "a" }
}

/// What a roll holds.
pub fn reel(answer: &ReelContents) -> String {
    format!(
        "a roll of {} film, {:.0} mm across on a {:.0} mm hub, holds {}, {} at {} fps; a millimetre is {:.0} seconds",
        answer.gauge,
        answer.outer.as_millimetres(),
        answer.hub.as_millimetres(),
        show::film_length(answer.length),
        show::running_time(answer.seconds),
        answer.fps.fps(),
        answer.per_millimetre.seconds(),
    )
}

/// How far the sound is from its picture.
pub fn advance(answer: &SoundAdvance) -> String {
    let frames = answer.frames.count();
    format!(
        "on {} {} the sound is {} frames {} its picture: {:.1} mm, {:.3} s at {} fps; one frame is {:.1} ms",
        answer.gauge,
        answer.sound,
        frames.abs(),
        if frames < 0 { "behind" } else { "ahead of" },
        answer.distance.as_millimetres().abs(),
        answer.time.seconds().abs(),
        answer.fps.fps(),
        answer.per_frame.as_milliseconds(),
    )
}

/// How fast film moves.
pub fn speed(answer: &SpeedOfFilm) -> String {
    format!(
        "{} at {} fps moves {:.2} mm/s ({:.2} ft/min), {:.3} perforations a second",
        answer.gauge,
        answer.fps.fps(),
        answer.speed.as_millimetres_per_second(),
        answer.speed.as_feet_per_minute(),
        answer.perforations.hertz(),
    )
}
