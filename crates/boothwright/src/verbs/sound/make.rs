//! `sound make`: a test film of known truth, to check the phone that records and to try everything without a film.

use crate::{
    cli::Common,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::{Args, ValueEnum};
use serde::Serialize;
use sound::{
    SoundError,
    make::{self, MULTI_FREQUENCY, Made, MadeHum, MadeLevel, MadeLine, MadeStep, MadeTone, Sample},
};
use std::{
    fs::{self, File},
    io::{BufWriter, ErrorKind, Write},
    path::{Path, PathBuf},
};
use units::{Decibels, Hertz, Percent, Seconds};

/// Make the recording of a test film with known faults: flutter, response, hum, noise, splices
#[derive(Debug, Args)]
pub struct Make {
    /// The WAV file to write; one that is there already is left alone
    #[arg(value_name = "OUT.wav")]
    out: PathBuf,
    /// What the film carries
    #[arg(long, value_enum, default_value_t = Film::Tone)]
    film: Film,
    /// The tone on the film, in Hz; left out: 3150, and 7000 on a focus film
    #[arg(long, value_name = "HZ")]
    tone: Option<f64>,
    /// Response of the chain that plays a multi-frequency film: so many dB for each octave above 1 kHz (`-2`)
    #[arg(long, value_name = "DB", allow_negative_numbers = true)]
    slope: Option<f64>,
    /// A tone of a buzz track that is heard, and its peak level (`300:-30`, 0: full scale); left out: none is
    #[arg(long = "heard", value_name = "HZ:DB", value_parser = pair, allow_hyphen_values = true)]
    heard: Vec<(f64, f64)>,
    /// The optics are knocked near the end of a focus film, and lose so many dB
    #[arg(long, value_name = "DB")]
    knocked: Option<f64>,
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
    /// A line of hum, by frequency and peak level (`100:-50`, 0: full scale); may be given several times
    #[arg(long = "hum", value_name = "HZ:DB", value_parser = pair, allow_hyphen_values = true)]
    hum: Vec<(f64, f64)>,
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

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Film {
    /// One steady tone: for speed and flutter
    Tone,
    /// 400 Hz, 50 to 7000 Hz, 400 Hz, as published: for response
    MultiFrequency,
    /// 300 Hz on one side of the track, 1000 Hz on the other: for the place of the scanning beam
    BuzzTrack,
    /// 400 Hz, then a high tone: for sound focus and azimuth
    Focus,
    /// No tone: for noise and hum
    Silence,
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
    /// All tones of the film in their order.
    tones_hz: Vec<f64>,
    bytes: u64,
}

impl Make {
    /// Makes it.
    pub fn run(&self, common: &Common) -> Outcome {
        self.check()?;
        let made = self.made();
        made.check().map_err(|error| Failure::new(Kind::Usage, error))?;
        let bytes = write(&self.out, &made)?;
        let answer = Answer { file: &self.out, seconds: self.seconds, tones_hz: self.tones(), bytes };
        print::either(common.json, &answer, |answer| {
            let tones: Vec<String> = answer.tones_hz.iter().map(f64::to_string).collect();
            let carries =
                if tones.is_empty() { "no tone".to_owned() } else { format!("{} Hz", tones.join(", ")) };
            format!("Written: {}, {} s of {carries}.\n", answer.file.display(), answer.seconds)
        })
    }

    /// An option of one film makes no sense with another.
    fn check(&self) -> Outcome {
        for (option, given, film) in [
            ("--slope", self.slope.is_some(), Film::MultiFrequency),
            ("--heard", !self.heard.is_empty(), Film::BuzzTrack),
            ("--knocked", self.knocked.is_some(), Film::Focus),
        ] {
            if given && self.film != film {
                let name =
                    film.to_possible_value().map_or_else(String::new, |name| name.get_name().to_owned());
                return Err(Failure::new(Kind::Usage, format!("{option} belongs to another film"))
                    .hinted(format!("add --film {name}, or leave {option} out")));
            }
        }
        if self.tone.is_some() && !matches!(self.film, Film::Tone | Film::Focus) {
            return Err(Failure::new(Kind::Usage, "--tone does not go with this film")
                .hinted("a steady tone and a focus film have a tone of choice; leave --tone out"));
        }
        Ok(())
    }

    /// The tone of choice, or the customary one.
    fn tone(&self) -> f64 {
        self.tone.unwrap_or(if self.film == Film::Focus { 7000.0 } else { 3150.0 })
    }

    fn tones(&self) -> Vec<f64> {
        match self.film {
            Film::Tone => vec![self.tone()],
            Film::MultiFrequency => MULTI_FREQUENCY.to_vec(),
            Film::BuzzTrack => self.heard.iter().map(|(hz, _)| *hz).collect(),
            Film::Focus => vec![400.0, self.tone()],
            Film::Silence => Vec::new(),
        }
    }

    /// The stretches of a film that is more than one steady tone.
    fn steps(&self) -> Vec<MadeStep> {
        let length = Seconds::new(self.seconds);
        let all_along = |tones: Vec<MadeTone>| vec![MadeStep { lasts: length, tones }];
        match self.film {
            Film::Tone => Vec::new(),
            Film::MultiFrequency => {
                make::multi_frequency(length, Decibels::new(self.slope.unwrap_or_default()))
            }
            Film::BuzzTrack => all_along(
                // What is made is levelled against `--level`, what is asked for against full scale.
                self.heard
                    .iter()
                    .map(|&(hz, level)| MadeTone {
                        hz: Hertz::new(hz),
                        level: Decibels::new(level - self.level),
                    })
                    .collect(),
            ),
            Film::Focus => {
                make::focus(length, Hertz::new(self.tone()), Decibels::new(self.knocked.unwrap_or_default()))
            }
            Film::Silence => all_along(Vec::new()),
        }
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
            tone: Hertz::new(self.tone()),
            steps: self.steps(),
            level: Decibels::new(self.level),
            speed_error: Percent::new(self.speed_error),
            drift_per_minute: Percent::new(self.drift),
            lines: self.lines.iter().enumerate().map(line).collect(),
            levels: self.levels.iter().map(level).collect(),
            noise: self.noise.map(Decibels::new),
            hum: self
                .hum
                .iter()
                .map(|&(hz, level)| MadeHum { hz: Hertz::new(hz), level: Decibels::new(level) })
                .collect(),
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
