//! `film`: the daily sums of footage, time, reels and sound advance.

use crate::{
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::{Args, Subcommand};
use film::{
    Base, FilmError, Gauge, SoundKind,
    calc::{self, WoundOn},
    programme::TENSION_SOURCE,
};
use std::{fmt::Display, str::FromStr};
use units::{Frames, FramesPerSecond, Metres, Seconds};

/// Footage, time, reels, speed and sound advance
#[derive(Debug, Args)]
pub struct Film {
    #[command(subcommand)]
    sum: Sum,
}

#[derive(Debug, Subcommand)]
enum Sum {
    /// How long does this much film run? (`film time 400ft --gauge 16mm --fps 24`)
    Time {
        /// Length (`400ft`, `122 m`) or frames (`16000 frames`)
        length: String,
        #[command(flatten)]
        running: Running,
    },
    /// How much film runs in this time? (`film length 11:06.7 --gauge 16mm --fps 24`)
    Length {
        /// Time (`11:06.7`, `1h30`, `90 min`)
        time: String,
        #[command(flatten)]
        running: Running,
    },
    /// How much film is on a reel of this diameter, or how large is a reel of this length?
    /// (`film reel "300 mm" --hub "120 mm" --gauge 16mm --fps 24`)
    Reel {
        /// Outer diameter of the wound film (`300 mm`, `10.5 in`)
        #[arg(required_unless_present = "holds")]
        outer: Option<String>,
        /// Hub or core diameter (`120 mm`)
        #[arg(long)]
        hub: String,
        /// Thickness of the film as wound (`0.155 mm`); left out: by its base
        #[arg(long)]
        thickness: Option<String>,
        /// What the film is made on, when no thickness is given
        #[arg(long, default_value = "acetate")]
        base: String,
        /// The reverse: the diameter of a reel that holds this length
        #[arg(long, conflicts_with = "outer")]
        holds: Option<String>,
        #[command(flatten)]
        running: Running,
    },
    /// How far is the sound from its picture, in frames, millimetres and time? (`film advance --gauge 16mm --fps 24`)
    Advance {
        /// Kind of sound track (`optical`, `magnetic`)
        #[arg(long, default_value = "optical")]
        sound: String,
        #[command(flatten)]
        running: Running,
    },
    /// How fast does the film move? (`film speed --gauge 16mm --fps 24`)
    Speed {
        #[command(flatten)]
        running: Running,
    },
}

#[derive(Debug, Args)]
struct Running {
    /// Gauge (`16mm`, `35mm`, `super8`, `standard8`)
    #[arg(long)]
    gauge: String,
    /// Speed in frames per second
    #[arg(long)]
    fps: f64,
}

impl Running {
    fn gauge(&self) -> Result<Gauge, Failure> {
        read("--gauge", &self.gauge)
    }

    fn fps(&self) -> FramesPerSecond {
        FramesPerSecond::new(self.fps)
    }
}

/// Reads one word of the command line as what it should be.
fn read<T: FromStr<Err: Display>>(field: &str, text: &str) -> Result<T, Failure> {
    text.parse().map_err(|error| Failure::new(Kind::Usage, format!("{field} `{text}`: {error}")))
}

impl Film {
    /// Does the sum.
    pub fn run(&self, as_json: bool) -> Outcome {
        match &self.sum {
            Sum::Time { length, running } => time(length, running, as_json),
            Sum::Length { time, running } => length(time, running, as_json),
            Sum::Reel { outer, hub, thickness, base, holds, running } => {
                let wound = wound_on(thickness.as_deref(), base)?;
                reel(outer.as_deref(), hub, wound, holds.as_deref(), running, as_json)
            }
            Sum::Advance { sound, running } => advance(sound, running, as_json),
            Sum::Speed { running } => speed(running, as_json),
        }
    }
}

/// Film arithmetic refuses only what cannot be: that is the asker's to mend.
fn sum<T>(done: Result<T, FilmError>) -> Result<T, Failure> {
    done.map_err(|error| Failure::new(Kind::Usage, error))
}

fn time(length: &str, running: &Running, as_json: bool) -> Outcome {
    let (gauge, fps) = (running.gauge()?, running.fps());
    let answer = if length.to_lowercase().contains("frame") {
        sum(calc::running_time_of_frames(gauge, read::<Frames>("the frames", length)?, fps))?
    } else {
        sum(calc::running_time(gauge, read::<Metres>("the length", length)?, fps))?
    };
    print::either(as_json, &answer, |answer| {
        words(&views::film::time(answer), answer.formula, answer.source, &answer.caveats)
    })
}

fn length(time: &str, running: &Running, as_json: bool) -> Outcome {
    let (gauge, fps) = (running.gauge()?, running.fps());
    let answer = sum(calc::length_for_time(gauge, read::<Seconds>("the time", time)?, fps))?;
    print::either(as_json, &answer, |answer| {
        words(&views::film::length(answer), answer.formula, answer.source, &answer.caveats)
    })
}

fn wound_on(thickness: Option<&str>, base: &str) -> Result<WoundOn, Failure> {
    match thickness {
        Some(text) => Ok(WoundOn::Thickness(read("--thickness", text)?)),
        None => Ok(WoundOn::Base(read::<Base>("--base", base)?)),
    }
}

fn reel(
    outer: Option<&str>,
    hub: &str,
    wound: WoundOn,
    holds: Option<&str>,
    running: &Running,
    as_json: bool,
) -> Outcome {
    let (gauge, fps) = (running.gauge()?, running.fps());
    let hub = read::<Metres>("--hub", hub)?;
    let answer = match (outer, holds) {
        (_, Some(length)) => {
            sum(calc::reel_diameter(gauge, read::<Metres>("--holds", length)?, hub, wound, fps))?
        }
        (Some(outer), None) => {
            sum(calc::reel_contents(gauge, read::<Metres>("the outer diameter", outer)?, hub, wound, fps))?
        }
        (None, None) => {
            return Err(Failure::new(Kind::Usage, "give the outer diameter, or `--holds` a length"));
        }
    };
    print::either(as_json, &answer, |answer| {
        let mut text = words(&views::film::reel(answer), answer.formula, answer.source, &answer.caveats);
        if let Some(tension) = &answer.tension {
            text.push_str("  pull: ");
            text.push_str(&views::show::tension_words(tension));
            text.push_str(&format!("\n  from: {TENSION_SOURCE}\n"));
        }
        text
    })
}

fn advance(sound: &str, running: &Running, as_json: bool) -> Outcome {
    let gauge = running.gauge()?;
    let answer = sum(calc::sound_advance(gauge, read::<SoundKind>("--sound", sound)?, running.fps()))?;
    print::either(as_json, &answer, |answer| {
        words(&views::film::advance(answer), answer.formula, answer.source, &answer.caveats)
    })
}

fn speed(running: &Running, as_json: bool) -> Outcome {
    let gauge = running.gauge()?;
    let answer = sum(calc::speed_of_film(gauge, running.fps()))?;
    print::either(as_json, &answer, |answer| {
        words(&views::film::speed(answer), answer.formula, answer.source, &answer.caveats)
    })
}

/// Puts the answer, its sum, its source and what to beware of under each other.
fn words(lead: &str, formula: &str, source: &str, caveats: &[String]) -> String {
    let mut text = format!("{lead}\n  by: {formula}\n  from: {source}\n");
    for caveat in caveats {
        text.push_str("  mind: ");
        text.push_str(caveat);
        text.push('\n');
    }
    text
}
