//! Frequency response from a multi-frequency film: which tones follow each other, and how loud each is.

use super::survey::each_block;
use crate::SoundError;
use crate::dsp::spectrum::Transform;
use crate::dsp::statistics::median;
use crate::recording::Source;
use serde::Serialize;
use units::{Decibels, Hertz, Seconds};

/// What is asked of a response measurement.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ResponseRequest {
    /// The tone that the others are levelled against; 1000 Hz or, failing that, 400 Hz if none is named.
    pub reference: Option<Hertz>,
}

/// One tone of the film.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ResponseTone {
    /// Its frequency as played.
    pub hz: Hertz,
    /// Its level relative to the reference tone.
    pub level_db: Decibels,
    /// How far its level wanders: half the distance between the 10th and 90th hundredth.
    pub wander_db: Decibels,
    /// How far it stands above everything else that sounds with it.
    pub above_the_rest_db: Decibels,
    /// When it begins, the first time it is played.
    pub from_seconds: Seconds,
    /// How long it is played.
    pub seconds: Seconds,
}

/// The response of a sound chain.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ResponseReport {
    /// The tone at 0 dB.
    pub reference_hz: Hertz,
    /// Its peak level below full scale.
    pub reference_dbfs: Decibels,
    /// All tones, lowest first.
    pub tones: Vec<ResponseTone>,
    /// What the reader must know.
    pub caveats: Vec<String>,
}

/// Length of one look, seconds.
const LOOK_SECONDS: f64 = 0.17;
/// A look hears a tone if this share of its power lies close to one frequency.
const TONAL: f64 = 0.6;
/// Looks within this fraction hear the same tone.
const SAME_TONE: f64 = 0.02;
/// A tone lasts at least so long.
const SHORTEST_SECONDS: f64 = 0.8;
/// Lowest tone that is looked for.
const LOWEST_HZ: f64 = 35.0;
/// A tone counts as the reference within this fraction: what a machine's speed may be off.
const REFERENCE_REACH: f64 = 0.045;
/// A tone this little above the rest may be off in level by 0.5 dB.
const BARELY_DB: f64 = 10.0;

#[derive(Clone, Copy)]
struct Look {
    hz: f64,
    power: f64,
    share: f64,
}

struct Step {
    from: usize,
    looks: Vec<Look>,
}

/// Finds the tones of a multi-frequency film and levels them against the reference.
///
/// # Method
/// Looks of a sixth of a second with a Hann window; the strongest frequency and the power close to it. Looks in a row
/// that agree make a tone; its first and last looks, which may hold parts of its neighbours, are dropped; its level is
/// the median of the others. A tone that is played twice counts as one.
pub fn measure_response(
    source: &mut dyn Source,
    request: &ResponseRequest,
) -> Result<ResponseReport, SoundError> {
    let mut looks = Vec::new();
    let mut looker: Option<Transform> = None;
    let mut line: Vec<f32> = Vec::new();
    let mut look_seconds = LOOK_SECONDS;
    let (_, mut caveats) = each_block(source, 1.0, |samples, rate| {
        let length = ((rate * LOOK_SECONDS / 512.0).round() as usize).max(1) * 512;
        look_seconds = length as f64 / rate;
        let transform = looker.get_or_insert_with(|| Transform::new(length));
        line.extend_from_slice(samples);
        let mut start = 0;
        while let Some(window) = line.get(start..start + length) {
            looks.push(look(transform, window, rate));
            start += length;
        }
        line.drain(..start);
        Ok(())
    })?;
    let mut tones = merge(&steps(&looks, look_seconds), look_seconds);
    if tones.is_empty() {
        return Err(SoundError::MissingTone {
            what: "a series of steady tones".to_owned(),
            right: "play a multi-frequency film from its beginning to its end",
        });
    }
    let (reference_hz, reference_db) = reference(&tones, request)?;
    for tone in &mut tones {
        tone.level_db += Decibels::new(-reference_db);
        if tone.above_the_rest_db.decibels() < BARELY_DB {
            caveats.push(format!(
                "{:.0} Hz stands little above the noise; its level is uncertain",
                tone.hz.hertz()
            ));
        }
    }
    tones.sort_by(|a, b| a.hz.total_cmp(&b.hz));
    let reference_dbfs = Decibels::new(reference_db);
    Ok(ResponseReport { reference_hz: Hertz::new(reference_hz), reference_dbfs, tones, caveats })
}

fn look(transform: &mut Transform, window: &[f32], rate: f64) -> Look {
    let mut density = vec![0.0; transform.len() / 2 + 1];
    transform.density(window.iter().copied(), rate, |bin, p| density[bin] = p);
    let bin_hz = rate / transform.len() as f64;
    let first = (LOWEST_HZ / bin_hz) as usize;
    let last = density.len() - 2;
    let peak = (first..last).max_by(|&a, &b| density[a].total_cmp(&density[b])).unwrap_or(first);
    let reach = ((peak as f64 * 0.02) as usize).max(3);
    let near = peak.saturating_sub(reach)..=(peak + reach).min(last);
    let (mut sum, mut moment) = (0.0, 0.0);
    for bin in near {
        sum += density[bin];
        moment += density[bin] * bin as f64;
    }
    let total: f64 = density.iter().skip(2).sum();
    Look {
        hz: moment / sum.max(f64::MIN_POSITIVE) * bin_hz,
        power: sum * bin_hz,
        share: sum / total.max(f64::MIN_POSITIVE),
    }
}

/// Runs of looks that hear the same tone.
fn steps(looks: &[Look], look_seconds: f64) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    let mut open = false;
    for (n, look) in looks.iter().enumerate() {
        // Below -100 dB of full scale nothing is played.
        if look.share < TONAL || look.power < 1e-10 {
            open = false;
            continue;
        }
        match steps.last_mut().filter(|_| open) {
            Some(step) if step.looks.last().is_some_and(|l| (l.hz / look.hz - 1.0).abs() < SAME_TONE) => {
                step.looks.push(*look);
            }
            _ => steps.push(Step { from: n, looks: vec![*look] }),
        }
        open = true;
    }
    let shortest = (SHORTEST_SECONDS / look_seconds).ceil() as usize;
    steps.retain(|s| s.looks.len() >= shortest.max(4));
    steps
}

/// One tone for each frequency, with its level in dB below full scale.
fn merge(steps: &[Step], look_seconds: f64) -> Vec<ResponseTone> {
    let mut groups: Vec<(usize, Vec<Look>, usize)> = Vec::new();
    for step in steps {
        let inner = step.looks.get(1..step.looks.len() - 1).unwrap_or_default();
        let hz = inner.first().map_or(0.0, |l| l.hz);
        let same = groups
            .iter_mut()
            .find(|(_, looks, _)| looks.first().is_some_and(|l| (l.hz / hz - 1.0).abs() < SAME_TONE));
        match same {
            Some((_, looks, length)) => {
                looks.extend_from_slice(inner);
                *length += step.looks.len();
            }
            None => groups.push((step.from, inner.to_vec(), step.looks.len())),
        }
    }
    groups.iter().map(|(from, looks, length)| tone(*from, looks, *length, look_seconds)).collect()
}

fn tone(from: usize, looks: &[Look], length: usize, look_seconds: f64) -> ResponseTone {
    let mut hz: Vec<f64> = looks.iter().map(|l| l.hz).collect();
    // A sine of power p has the peak level 10 log 2p.
    let mut levels: Vec<f64> = looks.iter().map(|l| 10.0 * (2.0 * l.power).log10()).collect();
    let mut rest: Vec<f64> =
        looks.iter().map(|l| 10.0 * (l.share / (1.0 - l.share).max(1e-9)).log10()).collect();
    let mut quantile = |share| crate::dsp::statistics::quantile(&mut levels, share).unwrap_or_default();
    let (low, level, high) = (quantile(0.1), quantile(0.5), quantile(0.9));
    ResponseTone {
        hz: Hertz::new(median(&mut hz).unwrap_or_default()),
        level_db: Decibels::new(level),
        wander_db: Decibels::new((high - low) / 2.0),
        above_the_rest_db: Decibels::new(median(&mut rest).unwrap_or_default()),
        from_seconds: Seconds::new(from as f64 * look_seconds),
        seconds: Seconds::new(length as f64 * look_seconds),
    }
}

fn reference(tones: &[ResponseTone], request: &ResponseRequest) -> Result<(f64, f64), SoundError> {
    let wanted = request.reference.map_or_else(|| vec![1000.0, 400.0], |r| vec![r.hertz()]);
    let found = wanted
        .iter()
        .find_map(|wanted| tones.iter().find(|t| (t.hz.hertz() / wanted - 1.0).abs() < REFERENCE_REACH));
    found.map(|t| (t.hz.hertz(), t.level_db.decibels())).ok_or_else(|| SoundError::MissingTone {
        what: format!(
            "the reference tone ({})",
            wanted.iter().map(|w| format!("{w:.0} Hz")).collect::<Vec<_>>().join(" or ")
        ),
        right: "name one of the film's tones as the reference",
    })
}
