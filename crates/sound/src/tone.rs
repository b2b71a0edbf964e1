//! Finding the steady tone in a recording before it is measured: which tone, on which channel, how loud.

use crate::dsp::spectrum::Transform;
use crate::dsp::statistics::median;
use crate::recording::{Recording, Source, pick_channel};
use crate::{SoundError, options::TONE_LIMITS};
use units::Hertz;

/// The tone that lasts longest in a recording.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tone {
    pub hz: f64,
    /// Peak amplitude; full scale is 1.
    pub amplitude: f64,
    pub channel: usize,
}

/// One short look at the recording.
struct Look {
    channel: usize,
    /// Mean square of the samples.
    power: f64,
    /// Strongest frequency in the range of tones.
    hz: f64,
    /// Share of the power (above the hum) that lies close round that frequency.
    share: f64,
    amplitude: f64,
}

/// A look lasts about a third of a second.
const LOOK_SECONDS: f64 = 0.34;
/// At most so many looks, spread over the recording.
const LOOKS: u64 = 64;
/// Enough looks that agree; a stream of unknown length need not be decoded further.
const ENOUGH: usize = 60;
/// A stream of unknown length is looked at every so many looks' lengths.
const STRIDE: u64 = 5;
/// From this share of the power on, a look hears a tone.
const TONAL: f64 = 0.3;
/// Tones within this fraction of each other are the same tone, wandering.
const SAME_TONE: f64 = 0.015;
/// Below this mean square (-66 dB of full scale) there is nothing to measure.
const QUIET: f64 = 2.5e-7;
/// Hum and rumble below this are not counted when the share of the tone is taken.
const ABOVE_HUM_HZ: f64 = 130.0;

/// Looks at the recording in many places and settles on the tone heard most often.
pub(crate) fn find(source: &mut dyn Source, named: Option<Hertz>) -> Result<Tone, SoundError> {
    let looks = look_around(source)?;
    let loudest = looks.iter().map(|l| l.power).fold(0.0, f64::max);
    if loudest < QUIET {
        let peak_dbfs = -10.0 * loudest.max(1e-20).log10();
        return Err(SoundError::TooQuiet { peak_dbfs });
    }
    let tonal: Vec<&Look> = looks.iter().filter(|l| l.share > TONAL && l.power > QUIET / 10.0).collect();
    let chosen = settle(&tonal, named);
    let minimum = if looks.len() < 6 { 1 } else { 2 };
    if chosen.len() < minimum {
        return Err(nothing_steady(&looks, &tonal));
    }
    // A film with one tone gives it in most of the looks that hear a tone at all.
    if named.is_none() && chosen.len() * 2 < tonal.len() && tonal.len() >= 4 {
        return Err(several(&tonal));
    }
    let tone = Tone {
        hz: median(&mut chosen.iter().map(|l| l.hz).collect::<Vec<_>>()).unwrap_or_default(),
        amplitude: median(&mut chosen.iter().map(|l| l.amplitude).collect::<Vec<_>>()).unwrap_or_default(),
        channel: commonest_channel(&chosen),
    };
    match named {
        // Wider than any machine that runs: beyond it another tone is on the film.
        Some(named) if (tone.hz / named.hertz() - 1.0).abs() > 0.15 => {
            Err(SoundError::WrongTone { found: Hertz::new(tone.hz), named })
        }
        _ => Ok(tone),
    }
}

/// The channel that is loudest in most places.
pub(crate) fn loudest_channel(source: &mut dyn Source) -> Result<usize, SoundError> {
    let looks = look_around(source)?;
    Ok(commonest_channel(&looks.iter().collect::<Vec<_>>()))
}

fn look_around(source: &mut dyn Source) -> Result<Vec<Look>, SoundError> {
    let mut recording = Recording::open(source)?;
    let rate = f64::from(recording.rate_hz);
    let length = ((rate * LOOK_SECONDS / 1024.0).round().max(1.0) as usize) * 1024;
    let mut looker = Looker::new(length, rate, recording.channels);
    let stride = match recording.frames() {
        Some(frames) => (frames / LOOKS).max(length as u64),
        None => length as u64 * STRIDE,
    };
    let mut looks = Vec::new();
    let mut frames = Vec::new();
    loop {
        let got = recording.read(length, &mut frames)?;
        // What is left at the end is looked at only if nothing else was.
        if got == 0 || (got < length && !looks.is_empty()) {
            break;
        }
        looks.push(looker.look(&frames));
        if recording.frames().is_none() && looks.iter().filter(|l| l.share > TONAL).count() > ENOUGH {
            break;
        }
        recording.skip(stride - length as u64)?;
    }
    if looks.is_empty() { Err(SoundError::NoSamples) } else { Ok(looks) }
}

struct Looker {
    transform: Transform,
    rate: f64,
    channels: usize,
    density: Vec<f64>,
    mono: Vec<f32>,
}

impl Looker {
    fn new(length: usize, rate: f64, channels: usize) -> Self {
        let density = vec![0.0; length / 2 + 1];
        Self { transform: Transform::new(length), rate, channels, density, mono: Vec::new() }
    }

    fn look(&mut self, frames: &[f32]) -> Look {
        let power = |channel: usize| {
            let squares = frames.iter().skip(channel).step_by(self.channels).map(|x| f64::from(x * x));
            squares.sum::<f64>() * self.channels as f64 / frames.len().max(1) as f64
        };
        let (channel, power) =
            (0..self.channels).map(|c| (c, power(c))).max_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or_default();
        self.mono.clear();
        pick_channel(frames, self.channels, channel, &mut self.mono);
        self.mono.resize(self.transform.len(), 0.0);
        let density = &mut self.density;
        self.transform.density(self.mono.iter().copied(), self.rate, |bin, p| density[bin] = p);
        let bin_hz = self.rate / self.transform.len() as f64;
        let (low, high) = (TONE_LIMITS.0 * 0.9, (TONE_LIMITS.1 * 1.05).min(self.rate * 0.47));
        let range = (low / bin_hz) as usize..((high / bin_hz) as usize).min(density.len() - 2);
        let peak = range.max_by(|&a, &b| density[a].total_cmp(&density[b])).unwrap_or(1).max(1);
        let reach = ((peak as f64 * 0.025) as usize).max(6);
        let near = peak.saturating_sub(reach)..(peak + reach + 1).min(density.len());
        let (mut sum, mut moment) = (0.0, 0.0);
        for bin in near {
            sum += density[bin];
            moment += density[bin] * bin as f64;
        }
        let total: f64 = density.iter().skip((ABOVE_HUM_HZ / bin_hz) as usize).sum();
        Look {
            channel,
            power,
            hz: if sum > 0.0 { moment / sum * bin_hz } else { 0.0 },
            share: if total > 0.0 { sum / total } else { 0.0 },
            amplitude: (2.0 * sum * bin_hz).sqrt(),
        }
    }
}

/// The largest group of looks that agree on a tone; where one is named, those near it come first.
fn settle<'a>(tonal: &[&'a Look], named: Option<Hertz>) -> Vec<&'a Look> {
    let near_named = |l: &Look| named.is_none_or(|n| (l.hz / n.hertz() - 1.0).abs() < 0.15);
    let pool: Vec<&Look> = tonal.iter().copied().filter(|l| near_named(l)).collect();
    let pool = if pool.is_empty() { tonal.to_vec() } else { pool };
    let group = |centre: f64| pool.iter().copied().filter(move |l| (l.hz / centre - 1.0).abs() < SAME_TONE);
    let best = pool.iter().map(|l| l.hz).max_by_key(|&hz| group(hz).count());
    best.map_or_else(Vec::new, |hz| group(hz).collect())
}

fn commonest_channel(looks: &[&Look]) -> usize {
    let count = |channel: usize| looks.iter().filter(|l| l.channel == channel).count();
    looks.iter().map(|l| l.channel).max_by_key(|&c| count(c)).unwrap_or(0)
}

/// Tells noise from speech and music: those change their level and bring tones that do not stay.
fn nothing_steady(looks: &[Look], tonal: &[&Look]) -> SoundError {
    let mut levels: Vec<f64> =
        looks.iter().filter(|l| l.power > 0.0).map(|l| 10.0 * l.power.log10()).collect();
    levels.sort_by(f64::total_cmp);
    let at = |share: f64| levels.get((levels.len() as f64 * share) as usize).copied().unwrap_or_default();
    let restless = at(0.8) - at(0.2) > 6.0;
    if tonal.len() * 5 > looks.len() || restless { SoundError::NotASteadyTone } else { SoundError::NoTone }
}

/// Steps of a multi-frequency film stay put for several looks; notes of music do not.
fn several(tonal: &[&Look]) -> SoundError {
    let agree = |l: &&&Look| tonal.iter().filter(|o| (o.hz / l.hz - 1.0).abs() < 0.002).count() >= 2;
    let lasting: Vec<f64> = tonal.iter().filter(agree).map(|l| l.hz).collect();
    if lasting.len() * 5 < tonal.len() * 3 {
        return SoundError::NotASteadyTone;
    }
    let mut names: Vec<u32> = lasting.iter().map(|hz| hz.round() as u32).collect();
    names.sort_unstable();
    names.dedup_by(|a, b| f64::from(*a) < f64::from(*b) * 1.01);
    let found = names.iter().take(12).map(|hz| format!("{hz} Hz")).collect::<Vec<_>>().join(", ");
    SoundError::SeveralTones { found }
}
