//! Sound focus and azimuth from a high tone: how loud it is, against a low one where the film has it, and over time, so
//! that the best setting can be seen.

use super::survey::each_block;
use crate::SoundError;
use crate::dsp::fir::sinc;
use crate::dsp::spectrum::Transform;
use crate::recording::Source;
use serde::Serialize;
use units::{Decibels, Hertz, Metres, MetresPerSecond, Seconds};

/// What is known about film and sound optics.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FocusRequest {
    /// The high tone; any from 3 kHz up if none is named.
    pub tone: Option<Hertz>,
    /// Speed of the film.
    pub film_speed: MetresPerSecond,
    /// Width of the scanned track.
    pub track_width: Metres,
}

impl Default for FocusRequest {
    /// 16 mm at 24 frames per second, with the scanned track 1.8 mm wide (common practice, no source).
    fn default() -> Self {
        let film_speed = film::Gauge::Mm16.frame_pitch(film::Pitch::Long).metres() * 24.0;
        Self { tone: None, film_speed: MetresPerSecond::new(film_speed), track_width: Metres::new(0.0018) }
    }
}

/// The level of the high tone at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LevelPoint {
    /// Moment.
    pub at_seconds: Seconds,
    /// Level relative to the best of the recording.
    pub below_best_db: Decibels,
}

/// What a high tone says about the sound optics.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FocusReport {
    /// The high tone as played.
    pub tone_hz: Hertz,
    /// Its level, peak below full scale, the middle of all looks.
    pub level_dbfs: Decibels,
    /// The same at its best.
    pub best_dbfs: Decibels,
    /// How far the level at the end of the recording lies below the best: what can be won by setting it again.
    pub end_below_best_db: Decibels,
    /// Its level relative to a tone of 400 or 1000 Hz on the same film, where there is one.
    pub against_low_tone_db: Option<Decibels>,
    /// If nothing but azimuth made it lose as much as the end lies below the best: so many degrees.
    pub azimuth_degrees_if_azimuth: Option<f64>,
    /// Level over time.
    pub levels: Vec<LevelPoint>,
    /// What the reader must know.
    pub caveats: Vec<String>,
}

/// Length of one look, seconds.
const LOOK_SECONDS: f64 = 0.1;
/// Lowest tone that tells about focus.
const LOWEST_HZ: f64 = 2900.0;
/// A look hears its tone if this share of the power above 200 Hz is in it.
const TONAL: f64 = 0.25;
/// Points of the level curve, at most.
const MOST_POINTS: usize = 2000;

struct Look {
    at: f64,
    hz: f64,
    power: f64,
}

/// Loss by a scanning slit of a width: `20 log |sinc(f w / v)|`.
pub fn slit_loss(frequency: Hertz, slit: Metres, film_speed: MetresPerSecond) -> Decibels {
    let waves = frequency.hertz() * slit.metres() / film_speed.metres_per_second();
    Decibels::new(20.0 * sinc(waves).abs().max(1e-9).log10())
}

/// Loss by a slit that stands askew by an angle across a track: `20 log |sinc(f b tan(angle) / v)|`.
pub fn azimuth_loss(frequency: Hertz, track: Metres, degrees: f64, film_speed: MetresPerSecond) -> Decibels {
    slit_loss(frequency, track * degrees.to_radians().tan().abs(), film_speed)
}

/// Follows the level of a high tone.
pub fn measure_focus(source: &mut dyn Source, request: &FocusRequest) -> Result<FocusReport, SoundError> {
    let mut looks: Vec<Look> = Vec::new();
    let mut transform: Option<Transform> = None;
    let mut line: Vec<f32> = Vec::new();
    let mut done = 0_usize;
    let (_, mut caveats) = each_block(source, 1.0, |samples, rate| {
        let length = ((rate * LOOK_SECONDS / 256.0).round() as usize).max(1) * 256;
        let transform = transform.get_or_insert_with(|| Transform::new(length));
        line.extend_from_slice(samples);
        let mut start = 0;
        while let Some(window) = line.get(start..start + length) {
            looks.extend(look(transform, window, rate, (done + start) as f64 / rate));
            start += length;
        }
        line.drain(..start);
        done += start;
        Ok(())
    })?;
    let is_high = |l: &&Look| match request.tone {
        Some(tone) => (l.hz / tone.hertz() - 1.0).abs() < 0.045,
        None => l.hz >= LOWEST_HZ,
    };
    let high: Vec<&Look> = looks.iter().filter(is_high).collect();
    let missing = SoundError::MissingTone {
        what: "a steady high tone".to_owned(),
        right: "play a focus film (5 or 7 kHz on 16 mm, 9 kHz on 35 mm) for at least two seconds",
    };
    let middle = |values: &[&Look], of: fn(&Look) -> f64| {
        crate::dsp::statistics::median(&mut values.iter().map(|l| of(l)).collect::<Vec<_>>())
    };
    let Some(hz) = middle(&high, |l| l.hz) else { return Err(missing) };
    let high: Vec<&Look> = high.into_iter().filter(|l| (l.hz / hz - 1.0).abs() < 0.03).collect();
    if (high.len() as f64) * LOOK_SECONDS < 1.5 {
        return Err(missing);
    }
    let level = |power: f64| 10.0 * (2.0 * power).log10();
    let middle_db = level(middle(&high, |l| l.power).unwrap_or_default());
    // The best is what a tenth of the looks reach, so that one click does not count.
    let mut powers: Vec<f64> = high.iter().map(|l| l.power).collect();
    let best = crate::dsp::statistics::quantile(&mut powers, 0.9).unwrap_or_default();
    let end: Vec<&Look> = high.iter().rev().take(10).copied().collect();
    let end_below = level(best) - level(middle(&end, |l| l.power).unwrap_or_default());
    let low: Vec<&Look> =
        looks.iter().filter(|l| [400.0, 1000.0].iter().any(|w| (l.hz / w - 1.0_f64).abs() < 0.045)).collect();
    let against_low_tone_db = if low.len() >= 10 {
        middle(&low, |l| l.power).map(|p| Decibels::new(middle_db - level(p)))
    } else {
        None
    };
    caveats.push("the film's own loss at this tone is not known and is part of the level".to_owned());
    Ok(FocusReport {
        tone_hz: Hertz::new(hz),
        level_dbfs: Decibels::new(middle_db),
        best_dbfs: Decibels::new(level(best)),
        end_below_best_db: Decibels::new(end_below.max(0.0)),
        against_low_tone_db,
        azimuth_degrees_if_azimuth: azimuth_for(end_below, hz, request),
        levels: points(&high, level(best)),
        caveats,
    })
}

fn look(transform: &mut Transform, window: &[f32], rate: f64, at: f64) -> Option<Look> {
    let mut density = vec![0.0; transform.len() / 2 + 1];
    transform.density(window.iter().copied(), rate, |bin, p| density[bin] = p);
    let bin_hz = rate / transform.len() as f64;
    let first = (200.0 / bin_hz) as usize;
    let last = density.len() - 2;
    let peak = (first..last).max_by(|&a, &b| density[a].total_cmp(&density[b]))?;
    let reach = ((peak as f64 * 0.02) as usize).max(3);
    let range = peak.saturating_sub(reach)..=(peak + reach).min(last);
    let sum: f64 = range.clone().map(|bin| density[bin]).sum();
    let moment: f64 = range.map(|bin| density[bin] * bin as f64).sum();
    let total: f64 = density.iter().skip(first).sum();
    let tonal = total > 0.0 && sum / total > TONAL && sum * bin_hz > 1e-10;
    tonal.then(|| Look { at, hz: moment / sum * bin_hz, power: sum * bin_hz })
}

/// The angle whose loss is as large, by halving; none for a loss beyond the first null.
fn azimuth_for(loss_db: f64, hz: f64, request: &FocusRequest) -> Option<f64> {
    // A quarter of a decibel is within what a level wanders by itself.
    if !(0.25..40.0).contains(&loss_db) {
        return None;
    }
    let first_null =
        (request.film_speed.metres_per_second() / (hz * request.track_width.metres())).atan().to_degrees();
    let (mut low, mut high) = (0.0, first_null);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        let loss = azimuth_loss(Hertz::new(hz), request.track_width, middle, request.film_speed);
        if -loss.decibels() < loss_db { low = middle } else { high = middle }
    }
    Some(low)
}

fn points(looks: &[&Look], best_db: f64) -> Vec<LevelPoint> {
    let each = looks.len().div_ceil(MOST_POINTS).max(1);
    let point = |group: &[&Look]| {
        let power = group.iter().map(|l| l.power).sum::<f64>() / group.len() as f64;
        let at = group.iter().map(|l| l.at).sum::<f64>() / group.len() as f64;
        LevelPoint {
            at_seconds: Seconds::new(at + LOOK_SECONDS / 2.0),
            below_best_db: Decibels::new(10.0 * (2.0 * power).log10() - best_db),
        }
    };
    looks.chunks(each).map(point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slit_loss_agrees_with_the_sinc_law_worked_by_hand() {
        // 16 mm at 7.2 in/s, slit 0.0005 in: 5 kHz -1.80 dB, 6 kHz -2.64 dB, 7 kHz -3.69 dB; 0.001 in at 5 kHz -8.5 dB.
        let speed = MetresPerSecond::new(0.182_88);
        for (hz, inches, decibels) in
            [(5000.0, 0.0005, -1.80), (6000.0, 0.0005, -2.64), (7000.0, 0.0005, -3.69), (5000.0, 0.001, -8.5)]
        {
            let loss = slit_loss(Hertz::new(hz), Metres::from_inches(inches), speed);
            assert!((loss.decibels() - decibels).abs() < 0.06, "{hz} Hz: {loss}");
        }
    }

    #[test]
    fn azimuth_loss_is_that_of_a_slit_as_wide_as_its_slant() {
        // 0.3 degrees across 1.8 mm at 5 kHz costs about 1.0 dB, at 7 kHz 1.9 dB.
        let speed = MetresPerSecond::new(0.182_88);
        for (hz, decibels) in [(5000.0, -1.0), (7000.0, -1.9)] {
            let loss = azimuth_loss(Hertz::new(hz), Metres::new(0.0018), 0.3, speed);
            assert!((loss.decibels() - decibels).abs() < 0.1, "{hz} Hz: {loss}");
        }
    }
}
