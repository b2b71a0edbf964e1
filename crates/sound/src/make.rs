//! Makes test signals of known truth: the tones of a test film with flutter lines, level modulation, noise, hum,
//! splices and drop-outs.

mod film;

pub use film::{MULTI_FREQUENCY, MadeStep, MadeTone, focus, multi_frequency};

use crate::SoundError;
pub use crate::recording::Sample;
use crate::recording::header;
use std::f64::consts::TAU;
use std::io::Write;
use units::{Decibels, Hertz, Percent, Seconds};

/// One line of flutter to put into a tone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadeLine {
    /// Rate.
    pub rate: Hertz,
    /// Peak deviation of speed.
    pub depth: Percent,
    /// Where in its turn it begins, in turns.
    pub phase: f64,
}

/// One modulation of the level to put on a tone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadeLevel {
    /// Rate.
    pub rate: Hertz,
    /// Depth: 100 % goes down to silence.
    pub depth: Percent,
}

/// A line of hum, which follows the mains and not the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadeHum {
    /// Frequency.
    pub hz: Hertz,
    /// Peak level below full scale.
    pub level: Decibels,
}

/// A signal that can be made. Everything is known, so that a reading of it can be judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// Samples each second.
    pub rate: u32,
    /// How the samples are written.
    pub sample: Sample,
    /// Length.
    pub length: Seconds,
    /// The tone on the film.
    pub tone: Hertz,
    /// What else the film carries than that one tone from beginning to end: its stretches, one after the other.
    pub steps: Vec<MadeStep>,
    /// Peak level of the tone below full scale (a negative number).
    pub level: Decibels,
    /// Error of the mean speed.
    pub speed_error: Percent,
    /// Drift of the speed for each minute; the mean is kept.
    pub drift_per_minute: Percent,
    /// Flutter.
    pub lines: Vec<MadeLine>,
    /// Modulation of the level.
    pub levels: Vec<MadeLevel>,
    /// White noise below the tone, root mean square to root mean square; none for no noise.
    pub noise: Option<Decibels>,
    /// Hum.
    pub hum: Vec<MadeHum>,
    /// Where the phase jumps by a random amount while the level dips for 10 ms.
    pub splices: Vec<Seconds>,
    /// Where the level falls away, and for how long.
    pub drop_outs: Vec<(Seconds, Seconds)>,
    /// The machine stands still at the beginning and comes up to speed with this time constant.
    pub run_up: Option<Seconds>,
    /// Silence before anything is heard.
    pub silence_before: Seconds,
    /// What the random numbers begin from.
    pub seed: u64,
}

impl Default for Made {
    /// A minute of 3150 Hz at 48 kHz and 16 bits, 12 dB below full scale, without a fault.
    fn default() -> Self {
        Self {
            rate: 48_000,
            sample: Sample::I16,
            length: Seconds::new(60.0),
            tone: Hertz::new(3150.0),
            steps: Vec::new(),
            level: Decibels::new(-12.0),
            speed_error: Percent::new(0.0),
            drift_per_minute: Percent::new(0.0),
            lines: Vec::new(),
            levels: Vec::new(),
            noise: None,
            hum: Vec::new(),
            splices: Vec::new(),
            drop_outs: Vec::new(),
            run_up: None,
            silence_before: Seconds::ZERO,
            seed: 1,
        }
    }
}

/// How long a splice takes to pass the slit.
const SPLICE_SECONDS: f64 = 0.01;

impl Made {
    /// Checks that the signal can be made.
    pub fn check(&self) -> Result<(), SoundError> {
        let bad = |what: String, right| Err(SoundError::BadRequest { what, right });
        if !(8_000..=192_000).contains(&self.rate) {
            return Err(SoundError::SampleRate { rate: self.rate });
        }
        if !(self.length.seconds() > 0.0 && self.length.seconds() <= 86_400.0) {
            return bad(
                format!("a length of {} cannot be made", self.length),
                "give more than 0 s and at most a day",
            );
        }
        let highest = f64::from(self.rate) * 0.45;
        let steps = self.steps.iter().flat_map(|step| &step.tones).map(|tone| tone.hz);
        let mut tones = std::iter::once(self.tone).chain(steps).chain(self.hum.iter().map(|hum| hum.hz));
        if let Some(tone) = tones.find(|tone| !(20.0..=highest).contains(&tone.hertz())) {
            let right = "give 20 Hz to 0.45 of the sample rate";
            return bad(format!("a tone of {tone} cannot be made"), right);
        }
        if !(self.level.decibels() <= 0.0 && self.level.decibels() >= -100.0) {
            return bad(format!("a level of {} cannot be made", self.level), "give -100 to 0 dB");
        }
        let finite = self
            .lines
            .iter()
            .all(|l| self.is_rate(l.rate) && l.depth.abs().percent() < 50.0 && l.phase.is_finite())
            && self.levels.iter().all(|l| self.is_rate(l.rate) && (0.0..=100.0).contains(&l.depth.percent()))
            && self.speed_error.abs().percent() < 50.0
            && self.drift_per_minute.abs().percent() < 50.0
            && self.hum.iter().all(|hum| hum.level.decibels() <= 0.0)
            && self.steps.iter().all(MadeStep::is_sound);
        if !finite {
            return bad(
                "a deviation or a level cannot be made".to_owned(),
                "rates lie above 0 Hz and under half the sample rate, depths and errors under 50 %, hum at or below 0 dB",
            );
        }
        if self.noise.is_some_and(|noise| !(-200.0..=60.0).contains(&noise.decibels())) {
            return bad("such noise cannot be made".to_owned(), "give -200 to 60 dB against the tone");
        }
        let drop_outs = self.drop_outs.iter().flat_map(|(at, lasts)| [at, lasts]);
        let mut moments = self.splices.iter().chain(drop_outs).chain(&self.run_up);
        if let Some(moment) = moments.find(|moment| !(0.0..=86_400.0).contains(&moment.seconds())) {
            let what = format!("nothing happens at or lasts for {moment} in a recording");
            return bad(what, "splices, drop-outs and the run-up take 0 s to a day");
        }
        Ok(())
    }

    /// A line or a change of level can have this rate: it turns, and more slowly than samples are taken.
    fn is_rate(&self, rate: Hertz) -> bool {
        rate.hertz() > 0.0 && rate.hertz() < f64::from(self.rate) / 2.0
    }

    /// Number of samples.
    pub fn frames(&self) -> u64 {
        (self.length.seconds() * f64::from(self.rate)).round() as u64
    }

    /// The samples, one after the other, -1 to 1; those beyond are clipped when they are written.
    pub fn samples(&self) -> impl Iterator<Item = f64> + '_ {
        let mut maker = Maker::new(self);
        (0..self.frames()).map(move |n| maker.sample(n))
    }

    /// Writes a WAV file.
    pub fn write_wav(&self, out: &mut dyn Write) -> Result<(), SoundError> {
        self.check()?;
        out.write_all(&header(self.sample, self.rate, 1, self.frames()))?;
        let mut dither = Noise::new(self.seed ^ 0x5bd1_e995);
        let mut bytes = Vec::with_capacity(1 << 16);
        for sample in self.samples() {
            write_sample(self.sample, sample.clamp(-1.0, 1.0), &mut dither, &mut bytes);
            if bytes.len() >= (1 << 16) - 8 {
                out.write_all(&bytes)?;
                bytes.clear();
            }
        }
        out.write_all(&bytes)?;
        Ok(())
    }

    /// The WAV file as bytes.
    pub fn wav(&self) -> Result<Vec<u8>, SoundError> {
        let mut bytes = Vec::new();
        self.write_wav(&mut bytes)?;
        Ok(bytes)
    }
}

/// Rounds with triangular dither, so that no line comes of the rounding.
fn write_sample(sample: Sample, value: f64, dither: &mut Noise, out: &mut Vec<u8>) {
    let mut whole = |full: f64| {
        let noisy = value * (full - 1.0) + dither.even() - dither.even();
        noisy.round().clamp(-full, full - 1.0)
    };
    match sample {
        Sample::U8 => out.push((whole(128.0) + 128.0) as u8),
        Sample::I16 => out.extend_from_slice(&(whole(32_768.0) as i16).to_le_bytes()),
        Sample::I24 => {
            let [low, middle, high, _] = (whole(8_388_608.0) as i32).to_le_bytes();
            out.extend_from_slice(&[low, middle, high]);
        }
        Sample::I32 => out.extend_from_slice(&(whole(2_147_483_648.0) as i32).to_le_bytes()),
        Sample::F32 => out.extend_from_slice(&(value as f32).to_le_bytes()),
        Sample::F64 => out.extend_from_slice(&value.to_le_bytes()),
    }
}

struct Maker<'m> {
    made: &'m Made,
    noise: Noise,
    noise_size: f64,
    amplitude: f64,
    /// How much film each splice takes away, in seconds.
    jumps: Vec<f64>,
    /// The stretch that plays: its number, and when it ends.
    step: (usize, f64),
}

impl<'m> Maker<'m> {
    fn new(made: &'m Made) -> Self {
        let mut noise = Noise::new(made.seed);
        let amplitude = film::amplitude(made.level);
        let noise_size = made
            .noise
            .map_or(0.0, |below| amplitude / 2_f64.sqrt() * 10_f64.powf(-below.decibels().abs() / 20.0));
        let jumps = made.splices.iter().map(|_| noise.even() / made.tone.hertz()).collect();
        let first = made.steps.first().map_or(0.0, |step| step.lasts.seconds());
        Self { made, noise, noise_size, amplitude, jumps, step: (0, first) }
    }

    fn sample(&mut self, n: u64) -> f64 {
        let t = n as f64 / f64::from(self.made.rate);
        let hiss = if self.noise_size > 0.0 { self.noise_size * self.noise.normal() } else { 0.0 };
        let rest = hiss + self.hum(t);
        let since = t - self.made.silence_before.seconds();
        if since < 0.0 {
            return rest;
        }
        let film = self.film(since) + self.jumped(t);
        let tones = self.tones(since, film);
        self.amplitude * self.level(t) * tones + rest
    }

    /// The tones that sound, at a moment and a place of the film; both in seconds.
    fn tones(&mut self, since: f64, film: f64) -> f64 {
        let wave = |hz: Hertz| (TAU * (hz.hertz() * film).fract()).sin();
        while since >= self.step.1 {
            let Some(next) = self.made.steps.get(self.step.0 + 1) else { break };
            self.step = (self.step.0 + 1, self.step.1 + next.lasts.seconds());
        }
        match self.made.steps.get(self.step.0) {
            Some(step) => step.tones.iter().map(|tone| tone.amplitude() * wave(tone.hz)).sum(),
            None => wave(self.made.tone),
        }
    }

    fn hum(&self, t: f64) -> f64 {
        let line = |hum: &MadeHum| film::amplitude(hum.level) * (TAU * (hum.hz.hertz() * t).fract()).sin();
        self.made.hum.iter().map(line).sum()
    }

    /// Film that has passed up to a time, in seconds at its own speed: the integral of the speed, in closed form.
    fn film(&self, t: f64) -> f64 {
        let made = self.made;
        let middle = made.length.seconds() / 2.0;
        let drift = made.drift_per_minute.as_fraction() / 60.0;
        let mut time = t * (1.0 + made.speed_error.as_fraction()) + drift * (t * t / 2.0 - t * middle);
        for line in &made.lines {
            let w = TAU * line.rate.hertz();
            time += line.depth.as_fraction() / w * (TAU * line.phase).cos()
                - line.depth.as_fraction() / w * (w * t + TAU * line.phase).cos();
        }
        if let Some(constant) = made.run_up.map(Seconds::seconds) {
            // Speed 1 - exp(-t/c): the film lags behind by c (1 - exp(-t/c)).
            time -= constant * (1.0 - (-t / constant).exp());
        }
        time
    }

    fn jumped(&self, t: f64) -> f64 {
        self.made
            .splices
            .iter()
            .zip(&self.jumps)
            .filter(|(at, _)| t >= at.seconds())
            .map(|(_, jump)| jump)
            .sum()
    }

    fn level(&self, t: f64) -> f64 {
        let mut level = 1.0;
        for wave in &self.made.levels {
            // 0 at the crest, the whole depth in the trough.
            level *= 1.0 - wave.depth.as_fraction() * (0.5 - 0.5 * (TAU * wave.rate.hertz() * t).cos());
        }
        let in_splice = |at: &Seconds| (t - at.seconds()).abs() < SPLICE_SECONDS / 2.0;
        if self.made.splices.iter().any(in_splice) {
            level *= 0.1;
        }
        let out = |(at, length): &(Seconds, Seconds)| (0.0..length.seconds()).contains(&(t - at.seconds()));
        if self.made.drop_outs.iter().any(out) { 0.0 } else { level }
    }
}

/// A small generator of random numbers, the same on every machine.
///
/// # Reference
/// Steele, Lea and Flood, Fast Splittable Pseudorandom Number Generators (SplitMix64; from memory).
#[derive(Debug, Clone)]
pub struct Noise {
    state: u64,
    spare: Option<f64>,
}

impl Noise {
    /// Begins from a seed.
    pub const fn new(seed: u64) -> Self {
        Self { state: seed, spare: None }
    }

    /// Even from 0 up to 1.
    pub fn even(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normal, mean 0 and standard deviation 1, by the polar method of Marsaglia.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        loop {
            let (x, y) = (2.0 * self.even() - 1.0, 2.0 * self.even() - 1.0);
            let s = x * x + y * y;
            if s > 0.0 && s < 1.0 {
                let size = (-2.0 * s.ln() / s).sqrt();
                self.spare = Some(y * size);
                return x * size;
            }
        }
    }
}
