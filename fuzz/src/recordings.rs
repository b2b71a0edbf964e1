//! Recordings: the containers that come in from outside, and what the bench makes of any samples.

use sound::{
    BuzzRequest, FlutterReport, FlutterRequest, FocusRequest, NoiseRequest, ResponseRequest, SoundError,
    measure_buzz_track, measure_flutter, measure_focus, measure_noise, measure_response, read_through,
    trace::{Candidate, RateBand},
};
use std::{f64::consts::TAU, io::Cursor};
use units::Hertz;

/// A recording in any container: read to its end, with no more samples than bytes can hold, or refused in words.
pub fn recording(bytes: &[u8]) {
    let mut file = Cursor::new(bytes);
    let is_wav =
        matches!(bytes.get(..4), Some(b"RIFF" | b"RF64" | b"BW64")) && bytes.get(8..12) == Some(b"WAVE");
    let mut samples = 0;
    let read = read_through(&mut file, &mut |block| {
        samples += block.len();
        assert!(block.iter().all(|x| x.is_finite()), "a sample is no number");
    });
    match read {
        Ok(read) => {
            assert_eq!(samples as u64, read.frames * read.channels as u64);
            assert!((8_000..=192_000).contains(&read.rate_hz) && (1..=8).contains(&read.channels));
            assert!(!is_wav || samples < bytes.len(), "a file holds no more samples than bytes");
        }
        Err(error) => assert!(!error.to_string().is_empty(), "a refusal says why"),
    }
    // The bench opens the file once more than it reads it.
    told(measure_flutter(&mut file, &FlutterRequest::default()));
}

/// Any samples, and tones that do what no machine does: every measurement gives sound figures or says why not.
pub fn tone(bytes: &[u8]) {
    let Some((how, rest)) = bytes.split_first() else { return };
    let samples = if how & 1 == 0 { plain(rest) } else { steered(*how, rest) };
    let mut file = Cursor::new(wav(&samples));
    let request = FlutterRequest { candidates: candidates(), ..FlutterRequest::default() };
    told(measure_flutter(&mut file, &request));
    let named = FlutterRequest { tone: Some(Hertz::new(1000.0)), ..request };
    told(measure_flutter(&mut file, &named));
    if let Ok(report) = measure_response(&mut file, &ResponseRequest::default()) {
        assert!(report.tones.iter().all(|t| t.level_db.decibels().is_finite() && t.hz.hertz() > 0.0));
    }
    if let Ok(report) = measure_noise(&mut file, &NoiseRequest::default()) {
        assert!(
            report.noise_dbfs.decibels().is_finite() && report.noise_a_weighted_dbfs.decibels().is_finite()
        );
        assert!(report.hum.iter().all(|line| line.level_dbfs.decibels().is_finite()));
    }
    if let Ok(report) = measure_focus(&mut file, &FocusRequest::default()) {
        assert!(report.level_dbfs.decibels().is_finite() && report.end_below_best_db.decibels().is_finite());
    }
    if let Ok(report) = measure_buzz_track(&mut file, &BuzzRequest::default()) {
        assert!(report.first_dbfs.is_none_or(|level| level.decibels().is_finite()));
    }
}

/// Figures of a reading keep their order, and none is infinite.
fn told(report: Result<FlutterReport, SoundError>) {
    let report = match report {
        Ok(report) => report,
        Err(error) => return assert!(!error.to_string().is_empty(), "a refusal says why"),
    };
    for figure in [
        report.weighted_quasi_peak_percent,
        report.weighted_two_sigma_percent,
        report.weighted_rms_percent,
        report.unweighted_peak_percent,
        report.unweighted_rms_percent,
        report.wow_rms_percent,
        report.flutter_rms_percent,
        report.scrape_rms_percent,
        Some(report.noise_floor_percent),
        Some(report.speed_uncertainty_percent),
    ] {
        assert!(figure.is_none_or(|f| f.percent().is_finite() && f.percent() >= 0.0), "{report:?}");
    }
    let (used, all) = (report.used_seconds.seconds(), report.recorded_seconds.seconds());
    assert!(used >= 0.0 && used <= all + 1.0, "{used} s used of {all} s");
    assert!(report.tone_hz.hertz() > 0.0 && report.drift_percent_per_minute.percent().is_finite());
    assert!(report.left_out.is_sorted_by(|a, b| a.to_seconds <= b.from_seconds), "{:?}", report.left_out);
    assert!(report.curve.iter().all(|p| p.deviation_percent.percent().is_finite()));
    for line in &report.lines {
        assert!(line.hz.hertz() > 0.0 && line.depth_peak_percent.percent() > 0.0, "{line:?}");
        assert!(
            line.hz_uncertainty.hertz().is_finite() && line.depth_uncertainty_percent.percent().is_finite()
        );
        let sum: f64 = line.parts.iter().map(|part| part.probability.value()).sum();
        assert!(sum <= 1.0 + 1e-9, "chances of {sum}: {line:?}");
        assert!(!line.ambiguous || line.to_separate.is_some(), "{line:?}");
    }
}

/// Samples a second: the slowest that is read, so that few bytes make many seconds.
const RATE: u32 = 8_000;
/// Samples that one byte steers in a tone: 25 ms.
const STEERED: usize = 200;
/// At most so many bytes steer: 30 s.
const MOST: usize = 1_200;

/// The bytes as samples of 16 bits, over and over until there are three seconds of them.
fn plain(bytes: &[u8]) -> Vec<i16> {
    let whole: Vec<i16> = bytes.as_chunks::<2>().0.iter().map(|&pair| i16::from_le_bytes(pair)).collect();
    let wanted = whole.len().max(if whole.is_empty() { 0 } else { 3 * RATE as usize });
    whole.iter().copied().cycle().take(wanted).collect()
}

/// A tone of 1 kHz of which each byte steers 25 ms: its level, its speed, a jump of phase, noise.
fn steered(how: u8, bytes: &[u8]) -> Vec<i16> {
    let (mut turns, mut state) = (0.0_f64, u32::from(how) | 1);
    // The rest of the first byte sets how much a byte may move the speed: up to 8 %.
    let reach = f64::from(how >> 1) / 127.0 * 0.08;
    let mut samples = Vec::with_capacity(bytes.len().min(MOST) * STEERED);
    for byte in bytes.iter().take(MOST) {
        let (what, size) = (byte >> 6, f64::from(byte & 63) / 63.0);
        if what == 2 {
            turns += size;
        }
        for _ in 0..STEERED {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f64::from(state) / f64::from(u32::MAX) - 0.5;
            let speed = if what == 0 { 1.0 + reach * (size - 0.5) } else { 1.0 };
            turns = (turns + 1000.0 * speed / f64::from(RATE)).fract();
            let (level, hiss) = match what {
                1 => (1.0 - size, 0.0),
                3 => (0.5, size),
                _ => (0.5, 0.001),
            };
            let x = level * (TAU * turns).sin() + hiss * noise;
            samples.push((x.clamp(-1.0, 1.0) * 32_767.0) as i16);
        }
    }
    samples
}

fn candidates() -> Vec<Candidate> {
    let part = |part: &str, hz: f64, film_locked: bool, slips: bool| Candidate {
        part: part.to_owned(),
        name: part.to_owned(),
        rate: RateBand::steady(Hertz::new(hz)),
        film_locked,
        slips,
        harmonics: vec![2, 3],
    };
    vec![
        part("drum", 1.9, true, true),
        part("sprocket", 2.0, true, false),
        part("motor", 24.2, false, false),
        part("fan", 24.2, false, false),
    ]
}

fn wav(samples: &[i16]) -> Vec<u8> {
    let bytes = (samples.len() * 2) as u32;
    let mut out = Vec::with_capacity(44 + samples.len() * 2);
    out.extend_from_slice(b"RIFF");
    out.extend_from_slice(&(bytes + 36).to_le_bytes());
    out.extend_from_slice(b"WAVEfmt \x10\0\0\0\x01\0\x01\0");
    out.extend_from_slice(&RATE.to_le_bytes());
    out.extend_from_slice(&(RATE * 2).to_le_bytes());
    out.extend_from_slice(b"\x02\0\x10\0data");
    out.extend_from_slice(&bytes.to_le_bytes());
    out.extend(samples.iter().flat_map(|sample| sample.to_le_bytes()));
    out
}
