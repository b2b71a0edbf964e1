//! Noise, hum and distortion from the mean spectrum of a recording.

use super::survey::{Survey, survey};
use super::weighting_a::a_weighting;
use crate::SoundError;
use crate::recording::Source;
use serde::Serialize;
use units::{Decibels, FramesPerSecond, Hertz, Percent, Seconds};

/// What is known when noise is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoiseRequest {
    /// Level that the noise is compared with: peak of the reference tone below full scale, recorded with the same
    /// settings. Where the recording itself holds a tone, that tone is the reference.
    pub reference_dbfs: Option<Decibels>,
    /// Frequency of the mains, if it is known; otherwise 50 or 60 Hz, whichever shows.
    pub mains: Option<Hertz>,
    /// Speed of the machine, for the lines of frames and perforations.
    pub speed: FramesPerSecond,
    /// Perforations for each frame: 4 on 35 mm, 1 on the smaller gauges.
    pub perforations_per_frame: u32,
}

impl Default for NoiseRequest {
    /// No reference, any mains, 16 mm at 24 frames per second.
    fn default() -> Self {
        Self {
            reference_dbfs: None,
            mains: None,
            speed: FramesPerSecond::new(24.0),
            perforations_per_frame: 1,
        }
    }
}

/// One line of hum, or of the film's own rates.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HumLine {
    /// Frequency.
    pub hz: Hertz,
    /// Which multiple of its base.
    pub multiple: u32,
    /// Peak level below full scale.
    pub level_dbfs: Decibels,
    /// How far it stands above the noise beside it.
    pub above_noise_db: Decibels,
    /// True if mains and film both have a line so close that they cannot be told apart.
    pub ambiguous: bool,
}

/// A steady tone in the recording and what goes with it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToneInNoise {
    /// Its frequency.
    pub hz: Hertz,
    /// Its peak level below full scale.
    pub level_dbfs: Decibels,
    /// Harmonics 2 to 5, root mean square, relative to the tone.
    pub total_harmonic_distortion_percent: Percent,
    /// Each harmonic relative to the tone, from the second on.
    pub harmonics_db: Vec<Decibels>,
}

/// Noise and hum of a recording.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NoiseReport {
    /// Root mean square from 20 Hz to 20 kHz without tone and harmonics, relative to a full-scale sine.
    pub noise_dbfs: Decibels,
    /// The same, A-weighted (IEC 61672-1).
    pub noise_a_weighted_dbfs: Decibels,
    /// Noise relative to the reference tone.
    pub noise_below_reference_db: Option<Decibels>,
    /// A-weighted noise relative to the reference tone.
    pub noise_a_weighted_below_reference_db: Option<Decibels>,
    /// The mains whose hum shows, if any does.
    pub mains_hz: Option<Hertz>,
    /// Lines of the mains.
    pub hum: Vec<HumLine>,
    /// Lines of frames.
    pub frame_lines: Vec<HumLine>,
    /// Lines of perforations, where there are several for each frame.
    pub perforation_lines: Vec<HumLine>,
    /// All mains lines together, root mean square below a full-scale sine.
    pub hum_dbfs: Option<Decibels>,
    /// A steady tone, if there is one.
    pub tone: Option<ToneInNoise>,
    /// Length of the recording.
    pub recorded_seconds: Seconds,
    /// What the reader must know.
    pub caveats: Vec<String>,
}

/// Window of the spectrum: lines 1.5 Hz apart are told apart.
const WINDOW_SECONDS: f64 = 1.4;
/// A line stands at least so far above the noise beside it.
const STANDS_OUT: f64 = 6.0;
/// The noise that is counted, Hz.
const NOISE_HZ: (f64, f64) = (20.0, 20_000.0);
/// Multiples of the mains that are looked for.
const MULTIPLES: u32 = 10;
/// The mains may be off by this (EN 50160 allows 1 %).
const MAINS_OFF: f64 = 0.01;
/// Harmonics of a tone that count as distortion.
const HARMONICS: std::ops::RangeInclusive<u32> = 2..=5;
/// A tone and its flutter lie within this fraction.
const TONE_REACH: f64 = 0.025;

/// Measures noise, hum, the film's own lines and, where a steady tone plays, its distortion.
///
/// # Method
/// Mean of Hann spectra; a line's level is the power of its bins less the noise beside it.
pub fn measure_noise(source: &mut dyn Source, request: &NoiseRequest) -> Result<NoiseReport, SoundError> {
    let found = crate::tone::find(source, None).ok();
    let survey = survey(source, WINDOW_SECONDS)?;
    let tone = found.and_then(|t| tone_in_noise(&survey, t.hz));
    let clear = |hz: f64| {
        let near = |t: &ToneInNoise| {
            (1..=*HARMONICS.end()).any(|n| (hz / (f64::from(n) * t.hz.hertz()) - 1.0).abs() < TONE_REACH)
        };
        !tone.as_ref().is_some_and(near)
    };
    let power = |weight: &dyn Fn(f64) -> f64| {
        survey.density.band(NOISE_HZ.0, NOISE_HZ.1, |hz| if clear(hz) { weight(hz) } else { 0.0 })
    };
    let noise = dbfs(power(&|_| 1.0));
    let weighted = dbfs(power(&|hz| 10_f64.powf(a_weighting(Hertz::new(hz)).decibels() / 10.0)));
    let reference = request.reference_dbfs.or(tone.as_ref().map(|t| t.level_dbfs));
    let mains = mains_of(&survey, request);
    let frame = request.speed.fps();
    let film_rates: Vec<f64> = [frame, frame * f64::from(request.perforations_per_frame)].to_vec();
    let hum = mains.map_or_else(Vec::new, |hz| lines_of(&survey, hz, 0.003, &film_rates));
    let rivals: Vec<f64> = mains.into_iter().collect();
    let frame_lines = lines_of(&survey, frame, 0.01, &rivals);
    let perforation_lines = if request.perforations_per_frame > 1 {
        lines_of(&survey, frame * f64::from(request.perforations_per_frame), 0.01, &rivals)
    } else {
        Vec::new()
    };
    let mut caveats = survey.oddities.clone();
    if reference.is_none() {
        caveats.push(
            "levels are below full scale of this recording; record the reference tone with the same settings to \
             compare with it"
                .to_owned(),
        );
    }
    if hum.iter().any(|l| l.ambiguous) {
        caveats.push("a line of the mains and one of the film lie too close to be told apart".to_owned());
    }
    Ok(NoiseReport {
        noise_dbfs: noise,
        noise_a_weighted_dbfs: weighted,
        noise_below_reference_db: reference.map(|r| noise - r),
        noise_a_weighted_below_reference_db: reference.map(|r| weighted - r),
        mains_hz: mains.filter(|_| !hum.is_empty()).map(Hertz::new),
        hum_dbfs: (!hum.is_empty()).then(|| {
            Decibels::new(
                10.0 * hum.iter().map(|l| 10_f64.powf(l.level_dbfs.decibels() / 10.0)).sum::<f64>().log10(),
            )
        }),
        hum,
        frame_lines,
        perforation_lines,
        tone,
        recorded_seconds: Seconds::new(survey.seconds),
        caveats,
    })
}

/// Mean square as a level below a full-scale sine, whose mean square is one half.
fn dbfs(power: f64) -> Decibels {
    Decibels::new(10.0 * (2.0 * power).max(1e-20).log10())
}

/// The power of a line at a frequency or close to it, its exact place, and how far it stands out.
struct Found {
    hz: f64,
    power: f64,
    above_db: f64,
}

fn line_at(survey: &Survey, hz: f64, off: f64) -> Found {
    let density = &survey.density;
    let reach = (hz * off / density.bin_hz).ceil().max(1.0) as usize;
    let middle = density.bin(hz);
    let range = middle.saturating_sub(reach).max(1)..=middle + reach;
    let at = |bin: usize| density.power.get(bin).copied().unwrap_or_default();
    let peak = range.max_by(|&a, &b| at(a).total_cmp(&at(b))).unwrap_or(middle);
    let floor = survey.floor_near(peak as f64 * density.bin_hz, 3, 9);
    let bins = || peak.saturating_sub(2)..=peak + 2;
    let power: f64 = bins().map(|b| (at(b) - floor).max(0.0)).sum::<f64>();
    let moment: f64 = bins().map(|b| (at(b) - floor).max(0.0) * b as f64).sum();
    Found {
        hz: moment / power.max(f64::MIN_POSITIVE) * density.bin_hz,
        power: power * density.bin_hz,
        above_db: 10.0 * (at(peak) / floor.max(f64::MIN_POSITIVE)).max(1e-9).log10(),
    }
}

/// 50 or 60 Hz, whichever series stands out further; its exact frequency from the strongest line.
fn mains_of(survey: &Survey, request: &NoiseRequest) -> Option<f64> {
    let bases = request.mains.map_or_else(|| vec![50.0, 60.0], |m| vec![m.hertz()]);
    let score = |base: f64| {
        let above = |n: u32| line_at(survey, base * f64::from(n), MAINS_OFF / f64::from(n)).above_db;
        (1..=6).map(above).filter(|db| *db > STANDS_OUT).sum::<f64>()
    };
    let base = bases.into_iter().max_by(|a, b| score(*a).total_cmp(&score(*b)))?;
    if score(base) <= 0.0 {
        return None;
    }
    let strongest = (1..=6)
        .map(|n| (n, line_at(survey, base * f64::from(n), MAINS_OFF / f64::from(n))))
        .filter(|(_, found)| found.above_db > STANDS_OUT)
        .max_by(|a, b| a.1.power.total_cmp(&b.1.power));
    strongest.map(|(n, found)| found.hz / f64::from(n))
}

/// The lines at the multiples of a base that stand out.
fn lines_of(survey: &Survey, base: f64, off: f64, rivals: &[f64]) -> Vec<HumLine> {
    let blur = 2.0 * survey.density.bin_hz;
    let line = |multiple: u32| {
        let hz = base * f64::from(multiple);
        let found = line_at(survey, hz, off);
        let near = |rival: &f64| {
            let n = (hz / rival).round();
            (1.0..=f64::from(MULTIPLES)).contains(&n) && (hz - n * rival).abs() < blur
        };
        (found.above_db > STANDS_OUT).then(|| HumLine {
            hz: Hertz::new(found.hz),
            multiple,
            level_dbfs: dbfs(found.power),
            above_noise_db: Decibels::new(found.above_db),
            ambiguous: rivals.iter().any(near),
        })
    };
    (1..=MULTIPLES).filter_map(line).collect()
}

fn tone_in_noise(survey: &Survey, hz: f64) -> Option<ToneInNoise> {
    let nyquist = survey.density.bin_hz * survey.density.power.len() as f64;
    let power = |n: u32| {
        let at = hz * f64::from(n);
        let bins = 2.0 * (at * TONE_REACH / survey.density.bin_hz).ceil().max(4.0) + 1.0;
        let inner = (bins / 2.0) as usize + 1;
        let floor = survey.floor_near(at, inner, inner * 2) * bins * survey.density.bin_hz;
        (survey.power_near(at, TONE_REACH, 4) - floor).max(0.0)
    };
    let own = power(1);
    if own <= 0.0 {
        return None;
    }
    let others: Vec<f64> = HARMONICS.filter(|n| hz * f64::from(*n) < 0.95 * nyquist).map(power).collect();
    Some(ToneInNoise {
        hz: Hertz::new(hz),
        level_dbfs: dbfs(own),
        total_harmonic_distortion_percent: Percent::from_fraction((others.iter().sum::<f64>() / own).sqrt()),
        harmonics_db: others.iter().map(|p| Decibels::new(10.0 * (p / own).max(1e-12).log10())).collect(),
    })
}
