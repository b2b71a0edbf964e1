//! `sound make`: a test signal of known truth, to check the phone that records and to try everything without a film.

use crate::{
    cli::Common,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::{Args, ValueEnum};
use serde::Serialize;
use sound::{
    SoundError,
    make::{Made, MadeLevel, MadeLine, Sample},
};
use std::{
    fs::{self, File},
    io::{BufWriter, ErrorKind, Write},
    path::{Path, PathBuf},
};
use units::{Decibels, Hertz, Percent, Seconds};

/// Make a test signal with known flutter, noise and splices
#[derive(Debug, Args)]
pub struct Make {
    /// The WAV file to write; one that is there already is left alone
    #[arg(value_name = "OUT.wav")]
    out: PathBuf,
    /// The tone on the film, in Hz
    #[arg(long, value_name = "HZ", default_value_t = 3150.0)]
    tone: f64,
    /// Length, in seconds
    #[arg(long, default_value_t = 60.0)]
    seconds: f64,
    /// Samples a second
    #[arg(long, value_name = "HZ", default_value_t = 48_000)]
    rate: u32,
    /// How samples are written
    #[arg(long, default_value = "16")]
    bits: Bits,
    /// Peak level of the tone, in dB (0: full scale)
    #[arg(long, value_name = "DB", default_value_t = -12.0, allow_negative_numbers = true)]
    level: f64,
    /// Error of the mean speed, in %
    #[arg(long, value_name = "PERCENT", default_value_t = 0.0, allow_negative_numbers = true)]
    speed_error: f64,
    /// Drift of the speed, in % a minute
    #[arg(long, value_name = "PERCENT", default_value_t = 0.0, allow_negative_numbers = true)]
    drift: f64,
    /// A line of flutter, by rate and peak depth (`1.9:0.2%`); may be given several times
    #[arg(long = "line", value_name = "HZ:PERCENT", value_parser = rate_and_depth)]
    lines: Vec<(f64, f64)>,
    /// A modulation of the level, by rate and depth (`24:30%`); may be given several times
    #[arg(long = "am", value_name = "HZ:PERCENT", value_parser = rate_and_depth)]
    levels: Vec<(f64, f64)>,
    /// White noise so many dB below the tone
    #[arg(long, value_name = "DB")]
    noise: Option<f64>,
    /// A splice at this second; may be given several times
    #[arg(long = "splice", value_name = "SECOND")]
    splices: Vec<f64>,
    /// A drop-out at a second, and how long it lasts (`20:0.5`); may be given several times
    #[arg(long = "drop-out", value_name = "SECOND:SECONDS", value_parser = pair)]
    drop_outs: Vec<(f64, f64)>,
    /// The machine comes up to speed from standing still, with this time constant in seconds
    #[arg(long, value_name = "SECONDS")]
    run_up: Option<f64>,
    /// Silence before anything is heard, in seconds
    #[arg(long, value_name = "SECONDS", default_value_t = 0.0)]
    silence: f64,
    /// What the random numbers begin from
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Bits {
    #[value(name = "8")]
    Eight,
    #[value(name = "16")]
    Sixteen,
    #[value(name = "24")]
    TwentyFour,
    #[value(name = "32")]
    ThirtyTwo,
    #[value(name = "float32")]
    Float32,
    #[value(name = "float64")]
    Float64,
}

/// Two numbers with a colon between them.
fn pair(text: &str) -> Result<(f64, f64), String> {
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|value| value.is_finite());
    text.split_once(':')
        .and_then(|(first, second)| Some((number(first)?, number(second)?)))
        .ok_or_else(|| "give two numbers with a colon between them, as in `20:0.5`".to_owned())
}

/// A rate in hertz and a depth in per cent.
fn rate_and_depth(text: &str) -> Result<(f64, f64), String> {
    pair(text.trim_end_matches(['%', ' ']))
        .map_err(|_| "give a rate and a depth, as in `1.9:0.2%`".to_owned())
}

/// What was made.
#[derive(Serialize)]
struct Answer<'a> {
    file: &'a Path,
    seconds: f64,
    tone_hz: f64,
    bytes: u64,
}

impl Make {
    /// Makes it.
    pub fn run(&self, common: &Common) -> Outcome {
        let made = self.made();
        made.check().map_err(|error| Failure::new(Kind::Usage, error))?;
        let bytes = write(&self.out, &made)?;
        let answer = Answer { file: &self.out, seconds: self.seconds, tone_hz: self.tone, bytes };
        print::either(common.json, &answer, |answer| {
            format!("Written: {}, {} s of {} Hz.\n", answer.file.display(), answer.seconds, answer.tone_hz)
        })
    }

    fn made(&self) -> Made {
        let line = |(at, &(rate, depth)): (usize, &(f64, f64))| MadeLine {
            rate: Hertz::new(rate),
            depth: Percent::new(depth),
            // Lines that all begin at once would add up to a jolt.
            phase: (0.37 * at as f64).fract(),
        };
        let level =
            |&(rate, depth): &(f64, f64)| MadeLevel { rate: Hertz::new(rate), depth: Percent::new(depth) };
        Made {
            rate: self.rate,
            sample: self.bits.sample(),
            length: Seconds::new(self.seconds),
            tone: Hertz::new(self.tone),
            level: Decibels::new(self.level),
            speed_error: Percent::new(self.speed_error),
            drift_per_minute: Percent::new(self.drift),
            lines: self.lines.iter().enumerate().map(line).collect(),
            levels: self.levels.iter().map(level).collect(),
            noise: self.noise.map(Decibels::new),
            splices: self.splices.iter().copied().map(Seconds::new).collect(),
            drop_outs: self
                .drop_outs
                .iter()
                .map(|(at, lasts)| (Seconds::new(*at), Seconds::new(*lasts)))
                .collect(),
            run_up: self.run_up.map(Seconds::new),
            silence_before: Seconds::new(self.silence),
            seed: self.seed,
        }
    }
}

impl Bits {
    const fn sample(self) -> Sample {
        match self {
            Self::Eight => Sample::U8,
            Self::Sixteen => Sample::I16,
            Self::TwentyFour => Sample::I24,
            Self::ThirtyTwo => Sample::I32,
            Self::Float32 => Sample::F32,
            Self::Float64 => Sample::F64,
        }
    }
}

fn write(path: &Path, made: &Made) -> Result<u64, Failure> {
    let file = File::create_new(path).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            Failure::new(Kind::Refused, format!("{} is there already", path.display()))
                .hinted("name another file, or remove that one first")
        }
        _ => Failure::new(Kind::World, format!("cannot write {}: {error}", path.display())),
    })?;
    let mut out = BufWriter::new(file);
    let done = made.write_wav(&mut out).and_then(|()| out.flush().map_err(SoundError::from));
    done.and_then(|()| Ok(out.get_ref().metadata()?.len())).map_err(|error| {
        // Half a file helps nobody; what went wrong first is what is said.
        let _ = fs::remove_file(path);
        Failure::new(Kind::World, format!("cannot write {}: {error}", path.display()))
    })
}
